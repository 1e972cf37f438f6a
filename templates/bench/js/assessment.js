// The draft as the record takes it: the trainee's assessment of the round.

/** `writtenOn` is a day like 2026-11-25. Faults must have been mended before; see checks. */
function assessmentOf(book, draft, writtenOn) {
  return {
    round_key: book.key,
    trainee_key: book.trainee_key,
    rubric_digest: book.rubric.digest,
    written_on: writtenOn,
    disinfected_with: proseOf(disinfectedWords(draft.disinfected), book.limits.note),
    pairs: book.pairs.map((pair) => assessedPair(book, pair, draft.pairs[pair.number])),
    letter: proseOf(draft.letter, book.limits.prose),
    is_transcribed: false,
  };
}

function assessedPair(book, pair, kept) {
  const { limits } = book;
  return {
    number: pair.number,
    readings: readingsOf(book, pair, kept),
    stated_class: kept.stated_class,
    decision: kept.decision,
    reason: proseOf(kept.reason, limits.note),
    work: workOf(kept.work, limits, book.words.stations),
    verdict: kept.verdict,
    notes: proseOf(kept.notes, limits.prose),
    questions: kept.questions.map((one) => lineOf(one, limits.line)).filter(Boolean),
    lessons: proseOf(kept.lessons, limits.prose),
    photos: kept.photos.map((photo) => ({
      file: `photos/${photo.sha256}.jpg`,
      caption: lineOf(photo.caption, limits.line),
    })),
  };
}

/** Every reading that says something, in the rubric's order; a place of which nothing was said has none. */
function readingsOf(book, pair, kept) {
  const found = [];
  for (const stage of [AS_RECEIVED, AS_FINISHED]) {
    for (const row of rowsOf(book, pair)) {
      for (const place of row.places) {
        const reading = kept.readings[readingKey(stage, row, place)];
        const { seen } = seenOf(reading, row, pair);
        if (!seen) continue;
        found.push({
          number: pair.number,
          stage,
          criterion: row.key,
          blade: place.blade,
          station: place.station,
          seen,
          note: proseOf(reading.note || "", book.limits.note),
        });
      }
    }
  }
  return found;
}

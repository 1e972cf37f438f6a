// The class of a pair as it came, worked out from its test cuts as received. X is never worked out: a person states it.

/** Every class that the test cuts allow, A first; [] when no test cut was made. */
function possibleClasses(book, pair, kept) {
  const { fit, top } = book.rubric;
  const { ranges, cut } = cutRanges(book, pair, kept);
  return cut.length ? classesOf(ranges, fit, top) : [];
}

/** True where the stated class is none that the test cuts allow. */
function isClassOther(book, pair, kept) {
  const possible = possibleClasses(book, pair, kept);
  return Boolean(kept.stated_class && possible.length && !possible.includes(kept.stated_class));
}

/** True where such a class stands without a word on why. */
function isClassUnexplained(book, pair, kept) {
  return isClassOther(book, pair, kept) && !isSaid(kept.reason);
}

/** [lowest, highest] level of each medium that was asked for as received, and the media that were cut at all. */
function cutRanges(book, pair, kept) {
  const { top } = book.rubric;
  const ranges = {};
  const cut = [];
  for (const row of rowsOf(book, pair).filter((one) => one.kind === "cut" && one.counts)) {
    const levels = row.places
      .map((place) => levelAsReceived(book, pair, kept, row, place))
      .filter((level) => level !== undefined);
    if (!levels.length) continue;
    if (levels.some((level) => level !== null)) cut.push(row.media[0]);
    const filled = (end) =>
      levelOfPlaces(
        row,
        levels.map((level) => (level === null ? end : level)),
        book.rubric,
      );
    ranges[row.media[0]] = [filled(0), filled(top)];
  }
  return { ranges, cut };
}

/** A level; null where nothing was seen; undefined where the place was put aside as not applicable. */
function levelAsReceived(book, pair, kept, row, place) {
  const { seen } = seenOf(kept.readings[readingKey(AS_RECEIVED, row, place)], row, pair);
  if (seen && seen.kind === "not seen" && seen.why === "not applicable" && !row.is_must_pass) return undefined;
  return levelOf(row, seen, pair, book.rubric.drop);
}

/** `ranges` gives [lowest, highest] for each medium that applies. */
function classesOf(ranges, fit, top) {
  const spans = ["dry tissue", "wet tissue", "hair"].map((medium) =>
    ranges[medium] ? span(...ranges[medium]) : [null],
  );
  const found = new Set();
  for (const dry of spans[0])
    for (const wet of spans[1]) for (const hair of spans[2]) found.add(classOf(dry, wet, hair, fit, top));
  return ["A", "B", "C", "D", "E"].filter((letter) => found.has(letter));
}

function span(low, high) {
  return Array.from({ length: high - low + 1 }, (_, at) => low + at);
}

function classOf(dry, wet, hair, fit, top) {
  if (dry === 0) return "A";
  if ((dry !== null && dry < fit) || (wet !== null && wet < fit)) return "B";
  if (hair !== null && hair < fit) return "C";
  return hair !== null && hair < top ? "D" : "E";
}

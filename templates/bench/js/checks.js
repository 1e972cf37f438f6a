// What is looked at before a round is sealed: faults that must be mended, and gaps that are allowed but said.

/** Each fault with the way to it: {words, way}. */
function faultsOf(book, draft) {
  const photos = photosOf(draft);
  const bytes = photos.reduce((sum, photo) => sum + photo.bytes, 0);
  const isTooMuch = bytes > 0.95 * book.limits.packet_bytes || photos.length > book.limits.packet_files - 20;
  const tooMuch = {
    words: `The photos together are too many or too large for one packet (${photos.length}). Take some away.`,
    way: "#/",
  };
  return [
    ...(isTooMuch ? [tooMuch] : []),
    ...book.pairs.flatMap((pair) => pairFaults(book, pair, draft.pairs[pair.number])),
  ];
}

function pairFaults(book, pair, kept) {
  const at = (way, words) => ({ words: `Pair ${pair.number}, ${words}`, way: pairWay(pair.number, way) });
  const found = readingFaults(book, pair, kept).map(({ stage, row, place, fault }) => {
    const step = stage === AS_RECEIVED ? "received" : "finished";
    return at(`${step}/${row.key}/${spotId(place).slice(5)}`, `${row.name}, ${place.words}, ${stage}: ${fault}`);
  });
  if (kept.decision === "leave" && !isSaid(kept.reason))
    found.push(at("decide/reason", "decision: a pair left alone needs its reason."));
  for (const { field, name, fault } of workFaults(kept.work, book.words.stations))
    found.push(at(`work/${field}`, `${name}: ${fault}`));
  return found;
}

/** What is to be asked about the times of the disinfecting, as a question; "" where nothing is. It stops nobody. */
function disinfectingDoubt({ contact, from, to }) {
  if (!from || !to) return "";
  const spent = minuteOfDay(to) - minuteOfDay(from);
  if (spent === 0) return "Begun and ended in the same minute: was it wet for the whole time on the label?";
  if (spent < 0) return "It ended earlier than it began. Over midnight? Then leave it so.";
  const needed = numberOf(contactWords(contact));
  if (!(spent < needed)) return "";
  return `${amount(spent, "minute")} from begun to ended, and ${numberWords(needed)} on the label: was it wet for all of them?`;
}

function minuteOfDay(time) {
  const [hours, minutes] = time.split(":").map(Number);
  return 60 * hours + minutes;
}

/** What is left out, in plain words, one line for the head of the round and one for each pair: {name, words, way}. */
function gapsOf(book, draft) {
  const found = [];
  if (!draft.disinfected.product.trim())
    found.push({ name: "The round", words: "nothing is said on disinfecting", way: "#/disinfected/product" });
  else if (!draft.disinfected.to)
    found.push({ name: "The round", words: "not said when the disinfecting ended", way: "#/disinfected/to" });
  const doubt = disinfectingDoubt(draft.disinfected);
  if (doubt) found.push({ name: "Disinfecting", words: doubt, way: "#/disinfected/to" });
  for (const pair of book.pairs) {
    const gaps = pairGaps(book, pair, draft.pairs[pair.number]);
    if (gaps.length)
      found.push({
        name: `Pair ${pair.number}`,
        words: gaps.map(([, words]) => words).join(", "),
        way: pairWay(pair.number, gaps[0][0]),
      });
  }
  return found;
}

/** Each gap of a pair as [step, words]. */
function pairGaps(book, pair, kept) {
  const found = [];
  for (const stage of stagesOf(kept)) {
    const n = untestedOf(book, pair, kept, [stage]).length;
    if (n) found.push([stage === AS_RECEIVED ? "received" : "finished", `${n} untested ${stage}`]);
  }
  if (!isReceived(book, pair, kept)) return found;
  if (!kept.stated_class) found.push(["decide", "no class stated"]);
  if (isClassUnexplained(book, pair, kept))
    found.push(["decide/reason", `class ${kept.stated_class} is not what the test cuts say, and no reason stands`]);
  if (!kept.decision) found.push(["decide", "nothing decided"]);
  if (kept.decision === "sharpen" && workState(kept.work) === "empty") found.push(["work", "nothing said of the work"]);
  if (kept.decision !== "leave" && !kept.verdict) found.push(["verdict", "no verdict of your own"]);
  const n = kept.photos.filter((photo) => !isSaid(photo.caption)).length;
  if (n) found.push(["photos", `${amount(n, "photo")} without a word on what ${n === 1 ? "it shows" : "they show"}`]);
  if (kept.work.running_since !== null) found.push(["work", "the stopwatch still runs (sealing stops it)"]);
  return found;
}

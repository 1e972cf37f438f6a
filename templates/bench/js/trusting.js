// Whether a draft from a file is one that this page could have written itself: anything else is refused as a whole.

const isText = (it) => typeof it === "string";
const isCount = (it) => Number.isInteger(it) && it >= 0;
const isTime = (it) => typeof it === "number" && Number.isFinite(it) && it >= 0;
const isNothing = (it) => it === null || it === undefined;
const maybe = (check) => (it) => isNothing(it) || check(it);
const oneOf = (words) => (it) => words.includes(it);
const listOf = (check, most = Infinity) => (it) => Array.isArray(it) && it.length <= most && it.every(check);
const isPlain = (it) => typeof it === "object" && it !== null && !Array.isArray(it);

/** A check for an object that has each of these fields, and each as it should be. */
function withFields(checks) {
  return (it) => isPlain(it) && Object.entries(checks).every(([name, check]) => check(it[name]));
}

/** A check for an object whose every name and value pass. */
function mapOf(isName, check) {
  return (it) => isPlain(it) && Object.entries(it).every(([name, value]) => isName(name) && check(value, name));
}

const isTyped = withFields({ text: isText, unit: isText });
const isSha256 = (it) => isText(it) && /^[0-9a-f]{64}$/.test(it);
const isKeptPhoto = withFields({ sha256: isSha256, bytes: isCount });

/** True for a draft of this very bench book in every part. */
function isDraftOf(book, found) {
  const isPairs = (it) =>
    isPlain(it) &&
    Object.keys(it).length === book.pairs.length &&
    book.pairs.every((pair) => isKeptPair(book, pair, it[pair.number]));
  return withFields({
    draft_id: isText,
    revision: isCount,
    changed_at: maybe(isMoment),
    trail: listOf(isText),
    version: (it) => isCount(it) && it > 0,
    reason: isText,
    letter: isText,
    disinfected: withFields({ product: isText, contact: isText, from: isText, to: isText }),
    pairs: isPairs,
    sealed: listOf(isSealedVersion),
  })(found);
}

function isMoment(it) {
  return isText(it) && !Number.isNaN(Date.parse(it));
}

const isSealedVersion = withFields({
  version: (it) => isCount(it) && it > 0,
  reason: isText,
  sealed_at: isMoment,
  bagged_on: (it) => isText(it) && /^\d{4}-\d\d-\d\d$/.test(it),
  tool: (it) => isText(it) && !/[\r\n]/.test(it),
  code: (it) => isText(it) && /^[0-9a-f]{3}(-[0-9a-f]{3}){3}$/.test(it),
  text: isText,
  photos: listOf(isKeptPhoto),
});

function isKeptPair(book, pair, kept) {
  const { words, limits } = book;
  return withFields({
    readings: (it) => areReadings(book, pair, it),
    stated_class: maybe(oneOf(words.classes.map(([letter]) => letter))),
    decision: maybe(oneOf(words.decisions)),
    reason: isText,
    work: (it) => isWork(book, it),
    verdict: maybe(oneOf(words.verdicts)),
    notes: isText,
    questions: listOf(isText, limits.questions),
    lessons: isText,
    photos: listOf((it) => isKeptPhoto(it) && isText(it.caption), limits.photos),
  })(kept);
}

function isWork(book, work) {
  const { words, limits } = book;
  const isWidths = mapOf(oneOf(words.stations), maybe(isTyped));
  return withFields({
    steps: listOf(withFields({ what: isText, grit: isText, scale: oneOf(["", ...words.scales]) }), limits.steps),
    angle: (it) => isTyped(it) && ["", "deg included", "deg dial"].includes(it.unit),
    parts: listOf(isText, limits.parts),
    minutes: isText,
    running_since: maybe(isTime),
    spent_ms: isTime,
    width_before: isWidths,
    width_after: isWidths,
    length_before: maybe(isTyped),
    length_after: maybe(isTyped),
  })(work);
}

/** Readings at places that the pair has, each of a kind that its criterion takes. */
function areReadings(book, pair, readings) {
  const rows = new Map();
  for (const stage of [AS_RECEIVED, AS_FINISHED]) {
    for (const row of rowsOf(book, pair)) {
      for (const place of row.places) rows.set(readingKey(stage, row, place), row);
    }
  }
  return mapOf(
    (key) => rows.has(key),
    (reading, key) => isKeptReading(book, rows.get(key), reading),
  )(readings);
}

function isKeptReading(book, row, reading) {
  if (!isPlain(reading)) return false;
  const typed = ["text", "unit", "doubt", "ring", "start", "push", "note"];
  if (!typed.every((part) => isNothing(reading[part]) || isText(reading[part]))) return false;
  switch (reading.way) {
    case undefined:
      return true;
    case "level":
      return isCount(reading.level) && reading.level <= book.rubric.top;
    case "unseen":
      return book.words.unseen.includes(reading.why) && !(row.is_must_pass && reading.why === "not applicable");
    case "cut":
      return row.kind === "cut" && book.words.results.includes(reading.result) && row.media.includes(reading.medium);
    case "measure":
      return row.kind === "measured" && maybe(oneOf(["thumb", "finger", ""]))(reading.ring);
    default:
      return false;
  }
}

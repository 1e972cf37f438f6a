// What was just written over or taken back can be put back; where one just was can be gone back to.

/** The reading that was lost last: where it stood, how it was, and what stands there now. */
let lastLost = null;
/** The place that was just read, when the page has gone on from it by itself. */
let cameFrom = null;

/** Remembers what a new reading takes the place of; the one lost before can no longer be put back. */
function rememberLost(at, now) {
  const was = keptReading(at);
  const isSomething = Boolean(was.way || (was.text || "").trim());
  lastLost = isSomething && !isSameReading(was, now) ? { at, was: { ...was }, now } : null;
}

function isSameReading(one, other) {
  const said = ({ way, level, why, result, medium, push = "", text = "" } = {}) =>
    JSON.stringify([way, level, why, result, medium, push, text]);
  return said(one) === said(other);
}

/** While a number is typed, each sign makes a reading of its own: what was lost is still what stood before the first. */
function followTyping(at, before, now) {
  if (lastLost && lastLost.now === before && before) lastLost.now = now;
  else if (["level", "unseen"].includes(before.way) && now.way !== before.way) lastLost = { at, was: { ...before }, now };
}

/** Whether what was lost can still be put back: nothing has come in its place since, and the draft is the same. */
function canPutBack(pair, stage) {
  if (!lastLost || isReadOnly()) return false;
  const { at, now } = lastLost;
  const isHere = at.pair === pair && at.stage === stage && draft.pairs[pair.number] === at.kept;
  return isHere && at.kept.readings[readingKey(at.stage, at.row, at.place)] === now;
}

function putBack() {
  const { at, was } = lastLost;
  const { note = was.note } = keptReading(at);
  at.kept.readings[readingKey(at.stage, at.row, at.place)] = { ...was, note };
  lastLost = null;
  changed();
  announce(`${at.place.words}: put back.`);
  goTo(at);
}

/** To a place of this or another criterion of the same stage. */
function goTo({ pair, step, row, place }) {
  cameFrom = null;
  if (chosenFor !== `${pair.number} ${step} ${row.key}`) go(readingWay(pair, step, row));
  choose(place);
  refresh();
  focusReading();
}

function lostWords({ at, was }) {
  const { seen } = seenOf(was, at.row, at.pair);
  return seen ? seenWords(seen, was) : was.text || "what stood there";
}

/** Under the place's name: the way back to the place before, and what can be put back. */
function justNow(at) {
  const part = el("div", { class: "just", id: "just" });
  fillJustNow(at, part);
  return part;
}

function fillJustNow(at, part) {
  const isMany = at.row.places.length > 1;
  const isBack = cameFrom && at.row.places.includes(cameFrom) && cameFrom !== at.place;
  const parts = [];
  if (isBack)
    parts.push(
      button(`‹ Back: ${cameFrom.words}`, () => goTo({ ...at, place: cameFrom }), { class: "small", id: "back-place" }),
    );
  else if (isMany && !isReadOnly())
    parts.push(el("p", { class: "hint" }, tapWords(at)));
  if (canPutBack(at.pair, at.stage)) {
    const words = `Put back ${lostWords(lastLost)}${lostWhere(at)}`;
    parts.push(button(words, putBack, { class: "small put-back", id: "put-back" }));
  }
  part.replaceChildren(...parts);
}

/** What a tap does here; where it left the page at its place, why, and what comes then. */
function tapWords(at) {
  const { way, result, why, push = "", note = "" } = keptReading(at);
  if (way === "cut" && result === "push" && !push.trim())
    return "Kept. Type how many millimetres, if you can say it; then press Next.";
  if (way === "unseen" && why === "could not" && !note.trim()) return "Kept. Say why in the remark; then press Next.";
  if (at.row.kind === "cut") return "A tap is kept at once and goes on to the next place; a push asks for its mm first.";
  if (at.row.kind === "measured") return "A tap is kept at once and goes on to the next place; after a number press Next.";
  return "A tap is kept at once and goes on to the next place.";
}

/** Where it was lost, when that is not the place on the screen. */
function lostWhere(at) {
  const { row, place } = lastLost.at;
  if (row !== at.row) return ` at ${row.name.toLowerCase()}, ${place.words}`;
  return place === at.place ? "" : ` at ${place.words}`;
}

const SETTLING_MS = 350;
const ON_VALUES = ".level, .cut, .unseen, #unseen-all";
let settling = 0;

/** After a tap that was kept, further taps on the values count for nothing for a moment: the second of a double tap. */
function settle() {
  clearTimeout(settling);
  byId("app").dataset.settling = "yes";
  settling = setTimeout(() => {
    delete byId("app").dataset.settling;
  }, SETTLING_MS);
}

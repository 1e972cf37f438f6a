// The drawing of the two blades, as in the mentor's report, with places to tap.

const DRAWING_WIDTH = 320;
const DRAWING_HEIGHT = 152;

/**
 * The places of one criterion on the blades. `look` gives {shape, sign, words} of a place; `onTap` gets the place.
 */
function drawing({ row, chosen, look, onTap }) {
  const spots = row.places.map((place) => {
    const { shape, sign, words } = look(place);
    const spot = button(mark(shape, sign), () => onTap(place), {
      class: "spot",
      id: spotId(place),
      "aria-label": `${place.words}: ${words}`,
      "aria-pressed": place === chosen ? "true" : "false",
    });
    spot.style.left = `${(100 * place.x) / DRAWING_WIDTH}%`;
    spot.style.top = `${(100 * place.y) / DRAWING_HEIGHT}%`;
    return spot;
  });
  return el(
    "div",
    { class: "blades", role: "group", "aria-label": "Places on the two blades" },
    fromTemplate("outline"),
    ...spots,
  );
}

function spotId(place) {
  return `spot-${[place.blade || "both", place.station || "whole"].join("-")}`;
}

/** Each reason has a sign of its own; a place of which nothing was said shows a question mark. */
const UNSEEN_SIGNS = { "not tested": "–", "could not": "×", "not applicable": "/" };

/** How a place looks: the level it earned, or why it has none. */
function lookOf(row, place, kept, pair) {
  const { seen, fault } = seenOf(kept, row, pair);
  if (fault) return { shape: "unseen", sign: "!", words: "cannot be taken so" };
  if (!seen) return { shape: "unseen", sign: "?", words: "untested" };
  if (seen.kind === "not seen") return { shape: "said", sign: UNSEEN_SIGNS[seen.why] || "–", words: seen.why };
  const level = levelOf(row, seen, pair, book.rubric.drop);
  if (level === null) return { shape: "said", sign: "•", words: `${seenWords(seen, kept)}, not comparable` };
  const medium = seen.kind === "cut" && seen.medium !== row.media[0] ? ` in ${seen.medium}` : "";
  return {
    shape: shapeOf(level, book.rubric),
    sign: String(level),
    words: seen.kind === "level" ? `level ${level}` : `${seenWords(seen, kept)}${medium}, level ${level}`,
  };
}

/** What was seen, in the bench's words; numbers stand as they were typed, so that 1/64 comes back as 1/64. */
function seenWords(seen, { text, push, doubt } = {}) {
  if (seen.kind === "level") return `level ${seen.level}`;
  if (seen.kind === "not seen") return seen.why;
  if (seen.kind === "cut")
    return seen.push_mm === null ? seen.result : `${seen.result} ${typedWords(push, seen.push_mm)} mm`;
  const giveOrTake = seen.doubt ? ` ± ${typedWords(doubt, seen.doubt)}` : "";
  const how = [seen.ring && `${seen.ring} ring held`, seen.start_deg !== null && `from ${numberWords(seen.start_deg)}°`]
    .filter(Boolean)
    .join(", ");
  return `${typedWords(text, seen.number)}${giveOrTake}${unitWords(seen.unit)}${how ? ` (${how})` : ""}`;
}

/** '° included', ' mm', and nothing for a count: to stand behind a number. */
function unitWords(unit) {
  if (unit === "count") return "";
  return unit.startsWith("deg ") ? `° ${unit.slice(4)}` : ` ${unit}`;
}

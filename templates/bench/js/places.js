// What is read of a pair, and where: stage by stage, criterion by criterion, place by place.

const AS_RECEIVED = "as received";
const AS_FINISHED = "as finished";

/** The criteria that a pair is read by, in the order of the bench. */
function rowsOf(book, pair) {
  return book.types[pair.edge_type];
}

function pairOf(book, number) {
  return book.pairs.find((pair) => pair.number === number);
}

/** The name under which the draft keeps one reading. */
function readingKey(stage, row, place) {
  return [stage, row.key, place.blade || "", place.station || ""].join("|");
}

function hasDrawing(row) {
  return row.places.some((place) => place.blade || place.station);
}

/** The stages that are asked of a pair: one that was left as it came is not read again. */
function stagesOf(kept) {
  return kept.decision === "leave" ? [AS_RECEIVED] : [AS_RECEIVED, AS_FINISHED];
}

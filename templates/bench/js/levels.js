// From one thing seen to a level of the rubric, by the rubric's own bands and lists.

/** The level that one thing seen earns; null where nothing was seen, or where the number is not comparable. */
function levelOf(row, seen, pair, drop) {
  if (!seen || seen.kind === "not seen") return null;
  if (seen.kind === "level") return seen.level;
  if (seen.kind === "cut") return levelOfCut(row, seen);
  if (!isComparable(row, seen, drop)) return null;
  return levelOfMeasure(row, convert(seen.number, seen.unit, row.unit, pair.blade_length_mm));
}

/** The highest level whose band holds the number; outside all, one below the lowest. */
function levelOfMeasure(row, number) {
  if (Number.isNaN(number)) return null;
  const holds = (band) =>
    (band.low === null || number >= band.low - SLACK) && (band.high === null || number <= band.high + SLACK);
  const band = row.bands.find(holds);
  return band ? band.level : row.bands[row.bands.length - 1].level - 1;
}

/** A push with its mm by the push bands, one without by the word alone. */
function levelOfCut(row, seen) {
  if (seen.result === "push" && seen.push_mm !== null && row.push_mm.length) {
    const band = row.push_mm.find(([, most]) => seen.push_mm <= most + SLACK);
    return band ? band[0] : row.push_mm[row.push_mm.length - 1][0] - 1;
  }
  return row.cuts[seen.result];
}

/** False for a drop test done another way than the rubric's. */
function isComparable(row, seen, drop) {
  if (!row.is_drop || !drop) return true;
  return [null, drop.ring].includes(seen.ring) && [null, drop.start_deg].includes(seen.start_deg);
}

/** One level from the levels of all places; median and mean are rounded down. */
function combined(levels, how) {
  if (how === "worst") return Math.min(...levels);
  if (how === "mean") return Math.floor(levels.reduce((sum, level) => sum + level, 0) / levels.length);
  const ordered = [...levels].sort((a, b) => a - b);
  const middle = Math.floor(ordered.length / 2);
  return ordered.length % 2 ? ordered[middle] : Math.floor((ordered[middle - 1] + ordered[middle]) / 2);
}

/** The level of a criterion from its places, under the limit on places below fit. */
function levelOfPlaces(row, levels, rubric) {
  const short = levels.filter((level) => level < rubric.fit).length;
  return row.limits.reduce(
    (level, limit) => Math.min(level, capOf(limit, short, rubric.top)),
    combined(levels, row.combine),
  );
}

function capOf(limit, figure, top) {
  const keptTo = limit.at_most.filter(([, most]) => figure <= most + SLACK).map(([level]) => level);
  if (!keptTo.length) return Math.min(...limit.at_most.map(([level]) => level)) - 1;
  return keptTo.length === limit.at_most.length ? top : Math.max(...keptTo);
}

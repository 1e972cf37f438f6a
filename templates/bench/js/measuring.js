// A measured value: the number with its unit and doubt, and how a drop test was done.

function measureInputs(at) {
  const { row } = at;
  const units = row.units.filter((unit) => unit.value !== "mm tip gap" || at.pair.blade_length_mm);
  const unit = startedReading(at).unit;
  return el(
    "div",
    { class: "measure-part" },
    el(
      "div",
      { class: "measure" },
      readingField(
        at,
        "text",
        row.unit === "count" ? "How many" : units.length === 1 ? `Measured (${units[0].short})` : "Measured",
      ),
      units.length > 1 && unitInputs(at, units, unit),
    ),
    row.is_drop && dropInputs(at),
    row.bands.length > 0 && el("p", { class: "hint" }, bandsWords(row)),
    row.unit === "count" &&
      el(
        "p",
        { class: "hint" },
        "Count only what the words below count. Where the words of a lower level fit, give that level instead.",
      ),
    row.unit !== "count" && doubtInput(at),
  );
}

/** Which numbers earn what: the highest level whose numbers hold it. */
function bandsWords(row) {
  const said = row.bands.map((band) => `${band.words}: level ${band.level}`).join("; ");
  return row.bands.length > 1 ? `${said}. The highest that fits counts.` : `${said}.`;
}

/** What stands with some parts put anew. A level or a reason stays until a number is typed in its place. */
function partReading(at, parts) {
  const kept = keptReading(at);
  const text = parts.text === undefined ? kept.text || "" : parts.text;
  if (kept.way === "cut") return { ...kept, ...parts };
  if (text.trim()) return { ...startedReading(at), ...parts, way: "measure" };
  const { unit } = startedReading(at);
  return kept.way === "measure" ? { ...kept, ...parts } : { unit, ...kept, ...parts };
}

/** What stands so far, or a measured value that has only its unit: the one used last, and none for a first angle. */
function startedReading(at) {
  const kept = keptReading(at);
  if (kept.way === "measure" || kept.way === "cut") return kept;
  return {
    note: kept.note || "",
    unit: kept.unit || usualUnit(at.row),
    doubt: kept.doubt,
    ring: kept.ring,
    start: kept.start,
    way: "measure",
  };
}

function usualUnit(row) {
  const isAngle = row.units.some((unit) => unit.value === "deg dial");
  if (isAngle) return settings.angle_unit;
  const usual = settings.gauge_unit || settings.length_unit;
  return row.units.some((unit) => unit.value === usual) ? usual : row.unit;
}

function unitInputs(at, units, unit) {
  const cards = units.map(({ value, short }) =>
    pressed(
      `unit-${value.replace(/ /g, "-")}`,
      short.replace("° ", "°\u00a0"),
      unit === value,
      () => {
        const { kept, stage, row, place } = at;
        const [before, now] = [keptReading(at), partReading(at, { unit: value })];
        kept.readings[readingKey(stage, row, place)] = now;
        followTyping(at, before, now);
        if (value.startsWith("deg ") && value !== "deg open") settings.angle_unit = value;
        if (value === "mm" || value === "in") settings.gauge_unit = value; // the calliper keeps its own
        saveSettings();
        changed();
        refresh();
      },
      { class: "unit", "aria-label": short },
    ),
  );
  return el("div", { class: "units", role: "group", "aria-label": "Measured in" }, ...cards);
}

function doubtInput(at) {
  return more(
    "Say how sure you are",
    readingField(
      at,
      "doubt",
      "Give or take",
      "In the same unit, so that you are nearly sure (19 times of 20) that it lies within.",
    ),
  );
}

function dropInputs(at) {
  const { drop } = book.rubric;
  const kept = keptReading(at);
  const put = (parts) => {
    const { stage, row, place } = at;
    const [before, now] = [keptReading(at), partReading(at, parts)];
    at.kept.readings[readingKey(stage, row, place)] = now;
    followTyping(at, before, now);
    changed();
    refresh();
  };
  const isAsTold = drop && kept.ring === drop.ring && numberOf(kept.start || "") === drop.start_deg;
  const rings = ["finger", "thumb"].map((ring) =>
    pressed(`ring-${ring}`, `${ring} ring held`, kept.ring === ring, () => put({ ring }), { class: "unit" }),
  );
  const seen = seenOf(kept, at.row, at.pair).seen;
  const isOther = seen && seen.kind === "measure" && !isComparable(at.row, seen, drop);
  return el(
    "div",
    { class: "drop" },
    drop &&
      pressed(
        "as-told",
        `Done as told: ${drop.ring} ring held, let go from ${drop.start_deg}°`,
        isAsTold,
        () => put({ ring: drop.ring, start: String(drop.start_deg) }),
        { class: "wide" },
      ),
    more(
      "Done another way",
      el("div", { class: "units", role: "group", "aria-label": "Ring that was held" }, ...rings),
      readingField(at, "start", "Let go from (degrees open)"),
    ),
    isOther &&
      el(
        "p",
        { class: "fault" },
        "Kept, but it earns no level: a drop done another way cannot be compared with the rubric's.",
      ),
  );
}

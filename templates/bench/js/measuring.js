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
    row.unit !== "count" && doubtInput(at),
  );
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
  return row.units.some((unit) => unit.value === settings.length_unit) ? settings.length_unit : row.unit;
}

function unitInputs(at, units, unit) {
  const cards = units.map(({ value, short }) =>
    pressed(
      `unit-${value.replace(/ /g, "-")}`,
      short,
      unit === value,
      () => {
        const { kept, stage, row, place } = at;
        const started = startedReading(at);
        const way = (started.text || "").trim() ? "measure" : undefined;
        kept.readings[readingKey(stage, row, place)] = { ...started, way, unit: value };
        if (value.startsWith("deg ") && value !== "deg open") settings.angle_unit = value;
        if (value === "mm" || value === "in") settings.length_unit = value;
        saveSettings();
        changed();
        refresh();
      },
      { class: "unit" },
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
    const started = startedReading(at);
    at.kept.readings[readingKey(stage, row, place)] = {
      ...started,
      ...parts,
      way: (started.text || "").trim() ? "measure" : undefined,
    };
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
        "Kept, but it earns no level: a drop done another way cannot be compared with the rubric’s.",
      ),
  );
}

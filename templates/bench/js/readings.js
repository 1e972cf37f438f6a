// One reading as it stands in the draft, and as the record takes it; what is still untested.
//
// A kept reading says its `way`: "level", "measure", "cut" or "unseen"; numbers stand in it as they were typed.

const RANGE_DEG = 180;
const MOST_PUSH_MM = 100;

/** What was seen, as the record takes it, or the fault that keeps it from being taken; neither where nothing stands. */
function seenOf(kept, row, pair) {
  if (!kept || !kept.way) return { seen: null, fault: "" };
  switch (kept.way) {
    case "level":
      return { seen: { kind: "level", level: kept.level }, fault: "" };
    case "unseen":
      return { seen: { kind: "not seen", why: kept.why }, fault: "" };
    case "cut":
      return cutOf(kept);
    default:
      return measureOf(kept, row, pair);
  }
}

function cutOf(kept) {
  const seen = { kind: "cut", medium: kept.medium, result: kept.result, push_mm: null };
  if (kept.result !== "push" || !(kept.push || "").trim()) return { seen, fault: "" };
  const push = numberOf(kept.push);
  if (Number.isNaN(push)) return { seen: null, fault: noNumber(kept.push) };
  if (push > MOST_PUSH_MM)
    return { seen: null, fault: `A push of ${push} mm is not possible here (0 to ${MOST_PUSH_MM}).` };
  return { seen: { ...seen, push_mm: push }, fault: "" };
}

function measureOf(kept, row, pair) {
  const text = kept.text || "";
  if (!text.trim()) return { seen: null, fault: "" };
  const number = numberOf(text);
  const fault = Number.isNaN(number) ? noNumber(text, row) : numberFault(number, kept, row, pair);
  if (fault) return { seen: null, fault };
  const doubt = (kept.doubt || "").trim() ? numberOf(kept.doubt) : null;
  if (Number.isNaN(doubt)) return { seen: null, fault: `The doubt: ${noNumber(kept.doubt)}` };
  const start = row.is_drop && (kept.start || "").trim() ? numberOf(kept.start) : null;
  if (start !== null && !(start > 0 && start <= RANGE_DEG)) {
    return { seen: null, fault: `The drop starts at more than 0 and at most ${RANGE_DEG} degrees.` };
  }
  return {
    seen: {
      kind: "measure",
      number,
      unit: kept.unit,
      doubt,
      ring: (row.is_drop && kept.ring) || null,
      start_deg: start,
    },
    fault: "",
  };
}

function numberFault(number, kept, row, pair) {
  const unit = row.units.find((one) => one.value === kept.unit);
  if (!unit) return "Say what it is measured in.";
  if (number > unit.most) return `${numberWords(number)} ${kept.unit} is not possible here (0 to ${unit.most}).`;
  if (kept.unit === "mm tip gap" && Number.isNaN(openDegFromGap(number, pair.blade_length_mm))) {
    return `A tip gap of ${numberWords(number)} mm is not possible with blades of ${pair.blade_length_mm} mm.`;
  }
  return "";
}

/** Lengths may be written as fractions of an inch; angles and counts are not. */
function noNumber(text, { unit = "mm" } = {}) {
  const example = { mm: "0.4, or 1/64", count: "2" }[unit] || "52.5";
  return `“${text.trim()}” is not a number. Write it like ${example}.`;
}

/** Why a place has nothing: "" where something was seen, "open" where nothing was said, else the reason given. */
function unseenWhy(kept, row, pair) {
  const { seen } = seenOf(kept, row, pair);
  if (!seen) return "open";
  return seen.kind === "not seen" ? seen.why : "";
}

/** Every place of a pair at these stages where nothing was seen, in the order of the bench. Put aside is not untested. */
function untestedOf(book, pair, kept, stages = stagesOf(kept)) {
  const found = [];
  for (const stage of stages) {
    for (const row of rowsOf(book, pair)) {
      for (const place of row.places) {
        const why = unseenWhy(kept.readings[readingKey(stage, row, place)], row, pair);
        if (why && why !== "not applicable") found.push({ pair, stage, row, place, why });
      }
    }
  }
  return found;
}

/** The places of a stage of which nothing was said yet. */
function openOf(book, pair, kept, stage) {
  return untestedOf(book, pair, kept, [stage]).filter((one) => one.why === "open");
}

/** True once each place as received was read or said to be not seen: before that nothing else of the pair opens. */
function isReceived(book, pair, kept) {
  return openOf(book, pair, kept, AS_RECEIVED).length === 0;
}

/** Readings that cannot be taken as they stand. */
function readingFaults(book, pair, kept) {
  const found = [];
  for (const stage of [AS_RECEIVED, AS_FINISHED]) {
    for (const row of rowsOf(book, pair)) {
      for (const place of row.places) {
        const { fault } = seenOf(kept.readings[readingKey(stage, row, place)], row, pair);
        if (fault) found.push({ stage, row, place, fault });
      }
    }
  }
  return found;
}

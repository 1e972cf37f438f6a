// The work log as it is typed, what cannot be in it, and as the record takes it.

const MOST_MINUTES = 6000;
const MOST_GRIT = 100000;
const MOST_WIDTH_MM = 60;
const MOST_LENGTH_MM = 300;
const WIDER_THAN_BEFORE_MM = 0.05;

function blankWork() {
  return {
    steps: [],
    angle: { text: "", unit: "" },
    parts: [],
    minutes: "",
    running_since: null,
    spent_ms: 0,
    width_before: {},
    width_after: {},
    length_before: null,
    length_after: null,
  };
}

/** What is wrong with a step's abrasive; "" when nothing is. */
function gritFault(step) {
  const text = (step.grit || "").trim();
  if (text && Number.isNaN(numberOf(text))) return noNumber(text);
  if (text && !(numberOf(text) > 0 && numberOf(text) <= MOST_GRIT))
    return `A grit is more than 0 and at most ${MOST_GRIT}.`;
  if (text && !step.scale) return "A grit needs its scale.";
  if (!text && step.scale) return "A scale needs its grit.";
  if (!isSaid(step.what) && text) return "Say what was done with this abrasive.";
  return "";
}

function angleFault(angle) {
  if (!angle.text.trim()) return "";
  const number = numberOf(angle.text);
  if (Number.isNaN(number)) return noNumber(angle.text, { unit: "deg" });
  if (!(number > 0 && number < 90)) return "An edge angle is more than 0 and less than 90 degrees.";
  return angle.unit
    ? ""
    : "Say which angle is meant: included, or as the bench dial reads (90 less the included angle).";
}

function minutesFault(text) {
  if (!text.trim()) return "";
  const number = /^\d+$/.test(text.trim()) ? Number(text) : NaN;
  return number <= MOST_MINUTES ? "" : `Whole minutes, 0 to ${MOST_MINUTES}.`;
}

/** `most` mm is not reached; `before` is the length typed beside it, for what was measured after the work. */
function lengthFault(length, most, what, before = null) {
  const mm = lengthMm(length);
  if (mm === null) return "";
  if (Number.isNaN(mm)) return noNumber(length.text);
  if (!(mm > 0 && mm < most)) return `${what} of ${lengthWords(length)} is not possible.`;
  const was = lengthMm(before);
  if (was !== null && mm > was + WIDER_THAN_BEFORE_MM) return `It cannot be more than before (${lengthWords(before)}).`;
  return "";
}

function widthFault(work, station, isAfter) {
  const before = work.width_before[station];
  return isAfter
    ? lengthFault(work.width_after[station], MOST_WIDTH_MM, "A blade width", before)
    : lengthFault(before, MOST_WIDTH_MM, "A blade width");
}

/** Every fault of a work log: the field it stands at, that field's name in words, and the fault. */
function workFaults(work, stations) {
  const found = [
    ...work.steps.map((step, at) => [`step-${at}-grit`, `step ${at + 1}`, gritFault(step)]),
    ["angle", "edge angle", angleFault(work.angle)],
    ["minutes", "minutes", minutesFault(work.minutes)],
    ...stations.map((station) => [
      `width-before-${station}`,
      `width before, ${station}`,
      widthFault(work, station, false),
    ]),
    ...stations.map((station) => [
      `width-after-${station}`,
      `width after, ${station}`,
      widthFault(work, station, true),
    ]),
    ["length-before", "length before", lengthFault(work.length_before, MOST_LENGTH_MM, "A blade length")],
    [
      "length-after",
      "length after",
      lengthFault(work.length_after, MOST_LENGTH_MM, "A blade length", work.length_before),
    ],
  ];
  return found.filter(([, , fault]) => fault).map(([field, name, fault]) => ({ field, name, fault }));
}

/** Milliseconds on the stopwatch; it goes on while the page is closed, because it only remembers when it was started. */
function spentMs(work, now) {
  return work.spent_ms + (work.running_since === null ? 0 : Math.max(0, now - work.running_since));
}

/** Whole minutes, and never none where some time was spent. */
function minutesOf(ms) {
  return ms > 0 ? Math.max(1, Math.round(ms / 60000)) : 0;
}

/** The work log as the record takes it; faults must have been mended. */
function workOf(work, limits, stations) {
  const widths = (typed) =>
    Object.fromEntries(stations.map((one) => [one, lengthMm(typed[one])]).filter(([, mm]) => mm !== null));
  return {
    steps: work.steps.filter((step) => isSaid(step.what)).map((step) => stepOf(step, limits)),
    angle: work.angle.text.trim() ? { number: numberOf(work.angle.text), unit: work.angle.unit } : null,
    parts: work.parts.map((part) => lineOf(part, limits.line)).filter(Boolean),
    minutes: work.minutes.trim() ? Number(work.minutes) : null,
    width_before_mm: widths(work.width_before),
    width_after_mm: widths(work.width_after),
    length_before_mm: lengthMm(work.length_before),
    length_after_mm: lengthMm(work.length_after),
  };
}

function stepOf(step, limits) {
  const grit = (step.grit || "").trim();
  return { what: lineOf(step.what, limits.line), grit: grit ? numberOf(grit) : null, scale: grit ? step.scale : null };
}

// What was done, step by step, with abrasive and scale; the angle with its convention; the parts replaced.

const USUAL_STEPS = [
  "strip and clean",
  "find the angle as it came",
  "take out nicks",
  "sharpen outside",
  "raise and remove burr",
  "refine",
  "hone the ride line",
  "final deburr, light polish",
  "clean, oil, reassemble",
  "set tension",
  "tips and bumper",
];
const USUAL_PARTS = ["bumper", "washer", "click plate", "screw", "ring inserts", "finger rest"];

function stepsPart(work) {
  const add = (what) => {
    work.steps.push({ what, grit: "", scale: "" });
    changed();
    refresh();
    const at = work.steps.length - 1;
    byId(what ? `step-${at}-grit` : `step-${at}-what`).focus();
  };
  const isFull = work.steps.length >= book.limits.steps;
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "What you did"),
    el(
      "p",
      { class: "hint" },
      "In the order of the bench. An abrasive goes with its scale: 15 micron, 1000 mesh and stone 3000 are different things.",
    ),
    el("ol", { class: "steps plain" }, ...work.steps.map((step, at) => stepLine(work, step, at))),
    isFull || isReadOnly()
      ? null
      : el(
          "div",
          { class: "chips", role: "group", "aria-label": "Add a step" },
          ...USUAL_STEPS.map((what) => button(`+ ${what}`, () => add(what), { class: "chip" })),
          button("+ another step", () => add(""), { class: "chip", id: "add-step" }),
        ),
  );
}

function stepLine(work, step, at) {
  const order = (to) => {
    work.steps.splice(at, 1);
    if (to !== null) work.steps.splice(to, 0, step);
    changed();
    refresh();
    const there = byId(`step-${to === null ? Math.max(0, at - 1) : to}-what`) || byId("add-step");
    if (there) there.focus();
  };
  const tools = [
    at > 0 && button("↑", () => order(at - 1), { "aria-label": `Step ${at + 1} earlier`, class: "small" }),
    at < work.steps.length - 1 &&
      button("↓", () => order(at + 1), { "aria-label": `Step ${at + 1} later`, class: "small" }),
    button("Take away", () => order(null), { "aria-label": `Take step ${at + 1} away`, class: "small" }),
  ];
  return el(
    "li",
    { class: "step" },
    textField({
      id: `step-${at}-what`,
      label: `Step ${at + 1}`,
      most: book.limits.line,
      read: () => step.what,
      write: (text) => {
        step.what = text;
      },
    }),
    el(
      "div",
      { class: "duo" },
      textField({
        id: `step-${at}-grit`,
        label: "Grit",
        read: () => step.grit,
        write: (text) => {
          step.grit = text;
        },
        fault: () => gritFault(step),
        attributes: { ...TYPED_NUMBER, "aria-label": `Grit of step ${at + 1}` },
      }),
      selectField({
        id: `step-${at}-scale`,
        label: "Scale",
        options: [["", "no abrasive"], ...book.words.scales.map((scale) => [scale, scale])],
        read: () => step.scale || "",
        write: (scale) => {
          step.scale = scale;
        },
        attributes: { "aria-label": `Scale of step ${at + 1}` },
      }),
    ),
    isReadOnly() ? null : el("div", { class: "tools" }, ...tools),
  );
}

function anglePart(work) {
  const { angle } = work;
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "Edge angle"),
    textField({
      id: "angle",
      label: "Angle you worked to (degrees)",
      read: () => angle.text,
      write: (text) => {
        angle.text = text;
      },
      fault: () => angleFault(angle),
      attributes: TYPED_NUMBER,
    }),
    choiceField({
      name: "angle-unit",
      legend: "Read as",
      options: [
        ["deg included", "included", "between the two faces; smaller is finer"],
        ["deg dial", "bench dial", "90 less the included angle; larger is finer"],
      ],
      read: () => angle.unit,
      write: (unit) => {
        angle.unit = unit;
      },
    }),
  );
}

function partsPart(work) {
  const flip = (part) => {
    work.parts = work.parts.includes(part) ? work.parts.filter((one) => one !== part) : [...work.parts, part];
    changed();
    refresh();
  };
  const own = work.parts.filter((part) => !USUAL_PARTS.includes(part));
  const writeOwn = (text) => {
    const typed = text
      .split(/[,;\n]/)
      .map((part) => part.trim())
      .filter(Boolean);
    const usual = work.parts.filter((part) => USUAL_PARTS.includes(part));
    work.parts = [...new Set([...usual, ...typed])].slice(0, book.limits.parts);
  };
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "Parts replaced"),
    el(
      "div",
      { class: "chips", role: "group", "aria-label": "Parts replaced" },
      ...USUAL_PARTS.map((part) =>
        pressed(`part-${part.replace(" ", "-")}`, part, work.parts.includes(part), () => flip(part), { class: "chip" }),
      ),
    ),
    textField({
      id: "other-parts",
      label: "Other parts, with commas between",
      most: book.limits.line,
      read: () => own.join(", "),
      write: writeOwn,
    }),
  );
}

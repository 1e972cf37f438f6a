// The round as a paper form: every pair, every place, with a line to fill or with what is given already.

function printPaper() {
  fillPaper();
  window.print();
}

/** Made anew for each printing, and only then: it is far too long to lie about. */
function fillPaper() {
  byId("paper").replaceChildren(paperTop(), ...book.pairs.map(paperPair), paperEnd());
}

/** What is written already, or a line to write on. */
function given(text, length = 16) {
  return String(text || "").trim()
    ? el("span", { class: "given" }, String(text))
    : el("span", { class: "rule" }, "_".repeat(length));
}

/** A long answer: what was written, or so many lines to write on. */
function longGiven(name, text, lines) {
  const body = text.trim()
    ? el("p", { class: "given" }, text)
    : el("div", {}, ...Array.from({ length: lines }, () => el("div", { class: "blank-line" })));
  return el("section", { class: text.trim() ? "told" : "long" }, el("h4", {}, name), body);
}

function paperTop() {
  const ladder = book.rubric.levels.map((words, level) => `${level} ${words}`).join("; ");
  const { drop } = book.rubric;
  return el(
    "header",
    {},
    el("h1", {}, `Round ${book.key}: bench book of ${book.trainee}`),
    el(
      "p",
      {},
      `For ${book.mentor}, by “${book.rubric.name}”, version ${book.rubric.version}. Planned on ${book.planned_on}.`,
    ),
    el(
      "p",
      {},
      el(
        "b",
        {},
        "Disinfect first, by the product's label. Read everything as received before any work. Never close blades on a burr. No test cut on a living person. ",
      ),
    ),
    el(
      "p",
      {},
      `Write what you see; leave the line empty where nothing was tested, or say why: could not, not applicable. Levels: ${ladder}. A cut: ${book.words.results.join(", ")} (push with its mm).${drop ? ` Drop test: hold the ${drop.ring} ring, let go from ${drop.start_deg} degrees.` : ""}`,
    ),
    el(
      "p",
      {},
      "Disinfected with: ",
      given(disinfectedWords(draft.disinfected), 40),
      " Written on: ",
      given(draft.changed_at ? dayOf(new Date(draft.changed_at)) : ""),
    ),
    book.practise.length
      ? el("div", {}, el("b", {}, "To practise: "), el("ol", {}, ...book.practise.map((line) => el("li", {}, line))))
      : null,
    paperSeal(),
    longGiven(`Letter to ${book.mentor}`, draft.letter, 22),
    el("p", { class: "soft" }, "What the levels of each criterion mean stands on the last page."),
  );
}

function paperPair(pair) {
  const kept = draft.pairs[pair.number];
  return el(
    "article",
    {},
    el("h2", {}, `Pair ${pair.number}: ${pair.words}`),
    el("p", { class: "soft" }, pair.facts.map(([name, words]) => `${name.toLowerCase()} ${words}`).join("; ")),
    paperStage(pair, kept, AS_RECEIVED, `Pair ${pair.number}, as received`),
    el(
      "p",
      {},
      "Class (A to E, X): ",
      given(kept.stated_class),
      " Decision (sharpen, adjust only, leave): ",
      given(kept.decision),
      " Reason: ",
      given(kept.reason, 28),
    ),
    paperWork(kept.work),
    el(
      "section",
      { class: "over-leaf" },
      paperStage(pair, kept, AS_FINISHED, `Pair ${pair.number}, as finished`),
      el("p", {}, "Own verdict (accepted, rework): ", given(kept.verdict)),
      longGiven("Notes", kept.notes, 5),
      longGiven("Questions", kept.questions.map((one, at) => `${at + 1}. ${one}`).join("\n"), 3),
      longGiven("Lessons", kept.lessons, 3),
      kept.photos.length
        ? el("p", {}, `Photos: ${kept.photos.map((photo, at) => photo.caption || `photo ${at + 1}`).join("; ")}`)
        : null,
    ),
  );
}

function paperStage(pair, kept, stage, title) {
  const rows = rowsOf(book, pair).map((row) =>
    el(
      "tr",
      {},
      el(
        "th",
        { scope: "row" },
        row.name,
        row.unit ? el("small", {}, ` (${row.units[0].short})`) : null,
        row.counts ? null : el("small", {}, " (advice)"),
      ),
      el("td", {}, ...row.places.map((place) => paperPlace(pair, kept, stage, row, place))),
    ),
  );
  return el("table", {}, el("caption", {}, title), el("tbody", {}, ...rows));
}

function paperPlace(pair, kept, stage, row, place) {
  const reading = kept.readings[readingKey(stage, row, place)];
  const { seen } = seenOf(reading, row, pair);
  const words = seen ? seenWords(seen, reading) + (reading.note ? ` (${reading.note})` : "") : "";
  const name = row.places.length === 1 && !place.blade && !place.station ? "" : `${place.words} `;
  return el("span", { class: "paper-place" }, name, given(words));
}

/** A length in mm, and as it was typed where that was another unit. */
function paperLength(length) {
  const mm = lengthText(length, "mm");
  return length && length.unit !== "mm" ? `${mm} (${lengthWords(length)})` : mm;
}

function paperWork(work) {
  const steps = work.steps
    .filter((step) => step.what.trim())
    .map((step) => `${step.what}${step.grit ? ` ${step.grit} ${step.scale}` : ""}`);
  const widths = (side) =>
    book.words.stations.map((station) =>
      el("span", { class: "paper-place" }, `${station} `, given(paperLength(side[station]))),
    );
  return el(
    "section",
    {},
    el("h4", {}, "Work"),
    longGiven(
      "Steps, each with its abrasive and scale (micron, mesh, stone, belt)",
      steps.map((step, at) => `${at + 1}. ${step}`).join("\n"),
      5,
    ),
    el(
      "p",
      {},
      "Angle: ",
      given(work.angle.text && `${work.angle.text} ${work.angle.unit.replace("deg ", "")}`),
      " (included or dial) Minutes: ",
      given(work.minutes),
      " Parts: ",
      given(work.parts.join(", "), 30),
    ),
    el(
      "p",
      {},
      "Width before (mm): ",
      ...widths(work.width_before),
      "Length before: ",
      given(paperLength(work.length_before)),
    ),
    el(
      "p",
      {},
      "Width after (mm): ",
      ...widths(work.width_after),
      "Length after: ",
      given(paperLength(work.length_after)),
    ),
  );
}

/** Whether what stands here is closed, and by which code. */
function paperSeal() {
  const sealed = sealedNow(draft);
  return el(
    "p",
    {},
    el(
      "b",
      {},
      sealed
        ? `Sealed as version ${sealed.version}, seal code ${sealed.code}.`
        : `Version ${draft.version}, not sealed: a draft as it stands.`,
    ),
  );
}

/** The words of every level, once for each criterion; where edge types differ, once for each wording. */
function paperEnd() {
  const worded = new Map();
  for (const [type, rows] of Object.entries(book.types)) {
    for (const row of rows) {
      const key = `${row.name}\n${row.levels.join("\n")}`;
      if (!worded.has(key)) worded.set(key, { row, types: [] });
      worded.get(key).types.push(type);
    }
  }
  const isForAll = ({ row, types }) =>
    ![...worded.values()].some((other) => other.row.name === row.name && other.types !== types);
  const one = ({ row, types }) =>
    el(
      "section",
      { class: "long" },
      el("h4", {}, row.name, isForAll({ row, types }) ? "" : el("small", {}, ` (${types.join(", ")})`)),
      el("ul", { class: "plain" }, ...row.levels.map((words, level) => el("li", {}, `${level} ${words}`))),
    );
  return el(
    "footer",
    { class: "over-leaf" },
    el("h2", {}, "What the levels mean"),
    el("p", {}, "The words are for the whole edge, also where each place is read for itself."),
    el("div", { class: "worded" }, ...[...worded.values()].map(one)),
  );
}

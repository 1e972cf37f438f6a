// One stage of a pair: the list of what is read, and how far each line is.

function stageScreen(pair, kept, step, criterion, spot) {
  const stage = STAGE_OF_STEP[step];
  const rows = rowsOf(book, pair);
  const row = rows.find((one) => one.key === criterion);
  if (row) return readingScreen(pair, kept, step, row, spot);
  const open = openOf(book, pair, kept, stage);
  const first = open[0] && open[0].row;
  return {
    body: [
      heading(step === "received" ? "As it came" : "As finished", `Pair ${pair.number}: ${pair.words}`),
      step === "received" ? receivedWords(kept) : finishedWords(kept),
      pairFacts(pair),
      el("ol", { class: "criteria plain" }, ...rows.map((one) => criterionLine(pair, kept, step, one))),
      open.length && !isReadOnly() ? restNotTested(pair, kept, stage, open) : null,
    ],
    next: first
      ? {
          label: `${first.kind === "cut" || first.is_drop ? "Test" : "Read"}: ${first.name}`,
          way: readingWay(pair, step, first),
        }
      : afterStep(pair, kept, step),
  };
}

function receivedWords(kept) {
  const isBegun = kept.decision || kept.work.steps.length;
  return el(
    "div",
    {},
    el(
      "p",
      {},
      "Read everything now, before any work. Disinfected? Pivot clean and oiled, tension set? Then test: what you see, not what you hope.",
    ),
    draft.disinfected.product.trim()
      ? null
      : el(
          "p",
          { class: "caution" },
          el("b", {}, "Disinfect first. "),
          "Nothing is said on that yet: ",
          link("say it here", "#/disinfected/product"),
          ".",
        ),
    isBegun && !isReadOnly()
      ? el(
          "p",
          { class: "soft" },
          "You have gone on with this pair already. Change here only what was written down wrongly.",
        )
      : null,
  );
}

function finishedWords(kept) {
  if (kept.decision === "leave") return el("p", {}, "You left this pair as it came, so nothing is asked here.");
  return el(
    "div",
    {},
    el("p", {}, "The same tests again, in the same way, on the finished pair."),
    caution(
      "Take the burr off before the first full close. Never close the blades on a burr. No test cut on a living person.",
    ),
  );
}

function readingWay(pair, step, row) {
  return pairWay(pair.number, step, row.key);
}

/** What hangs on a criterion beside its share of the sum. */
function rankTag(row) {
  if (row.is_must_pass) return el("span", { class: "tag" }, "must pass");
  return row.counts ? null : el("span", { class: "tag soft" }, "advice only");
}

function criterionLine(pair, kept, step, row) {
  const stage = STAGE_OF_STEP[step];
  const marks = row.places.map((place) => lookOf(row, place, kept.readings[readingKey(stage, row, place)], pair));
  const n = row.places.filter(
    (place) => unseenWhy(kept.readings[readingKey(stage, row, place)], row, pair) === "open",
  ).length;
  const words = n === row.places.length ? "untested" : n ? `${n} untested` : marks.map((one) => one.words).join("; ");
  return el(
    "li",
    {},
    link(
      el(
        "span",
        { class: "line" },
        el(
          "span",
          { class: "line-name" },
          el("b", {}, row.name),
          rankTag(row),
          el("span", { class: n ? "words" : "unseen-words" }, words),
        ),
        el("span", { class: "marks", "aria-hidden": "true" }, ...marks.map((one) => mark(one.shape, one.sign))),
      ),
      readingWay(pair, step, row),
      { class: "criterion", id: `criterion-${row.key}` },
    ),
  );
}

/** One question instead of many taps, for whoever cannot or will not test the rest; it stays visible as untested. */
function restNotTested(pair, kept, stage, open) {
  const act = async () => {
    const words = [
      `${amount(open.length, "place")} of this pair ${open.length === 1 ? "has" : "have"} no reading ${stage}.`,
      "They are written down as “not tested”. That is never a pass, it stays on the list of what is untested, and you can still test them.",
    ];
    if (!(await confirmed("Leave the rest untested?", words, `Yes, ${open.length} not tested`))) return;
    for (const { row, place } of open)
      kept.readings[readingKey(stage, row, place)] = {
        ...kept.readings[readingKey(stage, row, place)],
        way: "unseen",
        why: "not tested",
      };
    changed();
    enterScreen();
  };
  return el(
    "div",
    { class: "rest" },
    el("p", { class: "hint" }, "No loupe, no time, or a test that you cannot do? Say so for all that is still open:"),
    button(`The rest was not tested (${open.length})`, act, { id: "rest-not-tested" }),
  );
}

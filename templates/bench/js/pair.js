// One pair: its steps in the bench's order, and the way from each to the next.

/** The screen of a pair's step; without one, the step that comes next. */
function pairScreen({ number, step, criterion, spot }) {
  const pair = pairOf(book, number);
  const kept = draft.pairs[number];
  const states = stepStates(book, pair, kept);
  const asked = step || nextStep(states) || "received";
  const name = states[asked] === "locked" ? "received" : asked;
  const screen = {
    received: stageScreen,
    decide: decideScreen,
    work: workScreen,
    finished: stageScreen,
    verdict: verdictScreen,
    photos: photosScreen,
  }[name](pair, kept, name, criterion, spot);
  return {
    note: `Pair ${number}`,
    back: { label: "All pairs", way: "#/" },
    scope: number,
    ...screen,
    title: `Pair ${number}, ${STEP_NAMES[name].toLowerCase()}${screen.title ? `, ${screen.title}` : ""}`,
    body: [stepTabs(pair, kept, states, name), name !== asked && lockedNote(), ...screen.body],
  };
}

function lockedNote() {
  return el(
    "p",
    { class: "notice" },
    "First say how the pair came: each place read, or why it was not. Then the rest of this pair opens.",
  );
}

const STATE_WORDS = { locked: "opens later", empty: "not begun", part: "begun", done: "done" };

/** Why a step that opens later is not open yet, and what is still to be done for it. */
function tellWhyLocked(pair, step) {
  const n = openOf(book, pair, draft.pairs[pair.number], AS_RECEIVED).length;
  return tell(`${STEP_NAMES[step]} opens later`, [
    `First say how the pair came: ${amount(n, "place")} as received ${n === 1 ? "is" : "are"} still without a reading.`,
    "Read them, or say at the end of “As received” that the rest was not tested.",
  ]);
}

function stepTabs(pair, kept, states, current) {
  const tabs = STEPS.map((step, at) => {
    const n = nClosed(book, pair, kept, states, step);
    const isOut = states[step] === "done" && isNotAsked(kept, step);
    const sign = n || isOut ? "–" : states[step] === "done" ? "✓" : String(at + 1);
    const label = [
      el("span", { class: "tab-mark", "aria-hidden": "true" }, sign),
      el("span", {}, STEP_NAMES[step]),
      n
        ? el("span", { class: "tab-words" }, el("span", { class: "unseen-words" }, ", closed, "), `${n} untested`)
        : isOut
          ? el("span", { class: "tab-words" }, el("span", { class: "unseen-words" }, ", "), "not asked")
          : el("span", { class: "unseen-words" }, `, ${STATE_WORDS[states[step]]}`),
    ];
    const attributes = {
      class: `tab ${states[step]}${n || isOut ? " closed" : ""}`,
      id: `tab-${step}`,
      "data-step": step,
      "data-state": states[step],
      "aria-current": step === current ? "step" : null,
    };
    return el(
      "li",
      {},
      states[step] === "locked"
        ? button(el("span", { class: "tab-in" }, ...label), () => tellWhyLocked(pair, step), attributes)
        : link(el("span", { class: "tab-in" }, ...label), pairWay(pair.number, step), attributes),
    );
  });
  return el("nav", { "aria-label": `Steps of pair ${pair.number}` }, el("ol", { class: "tabs plain" }, ...tabs));
}

/** The button to whatever comes after a step. */
function afterStep(pair, kept, step) {
  const states = stepStates(book, pair, kept);
  const following = STEPS[STEPS.indexOf(step) + 1];
  if (following && states[following] !== "locked")
    return { label: `Next: ${STEP_NAMES[following].toLowerCase()}`, way: pairWay(pair.number, following) };
  return nextPair(pair);
}

function nextPair(pair) {
  const after = book.pairs[book.pairs.indexOf(pair) + 1];
  return after
    ? { label: `Next: pair ${after.number}`, way: pairWay(after.number) }
    : { label: "All pairs", way: "#/" };
}

function pairFacts(pair) {
  return more(
    "About this pair",
    el(
      "dl",
      { class: "facts" },
      ...pair.facts.map(([name, words]) => el("div", {}, el("dt", {}, name), el("dd", {}, words))),
    ),
  );
}

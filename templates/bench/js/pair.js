// One pair: its steps in the bench's order, and the way from each to the next.

/** The screen of a pair's step; without one, the step that comes next. */
function pairScreen({ number, step, criterion }) {
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
  }[name](pair, kept, name, criterion);
  return {
    note: `Pair ${number}`,
    back: { label: "All pairs", way: "#/" },
    scope: number,
    ...screen,
    title: `Pair ${number}, ${STEP_NAMES[name].toLowerCase()}${screen.title ? `, ${screen.title}` : ""}`,
    body: [stepTabs(pair, states, name), name !== asked && lockedNote(), ...screen.body],
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

function stepTabs(pair, states, current) {
  const tabs = STEPS.map((step, at) => {
    const label = [
      el("span", { class: "tab-mark", "aria-hidden": "true" }, states[step] === "done" ? "✓" : String(at + 1)),
      el("span", {}, STEP_NAMES[step]),
      el("span", { class: "unseen-words" }, `, ${STATE_WORDS[states[step]]}`),
    ];
    const attributes = {
      class: `tab ${states[step]}`,
      id: `tab-${step}`,
      "data-step": step,
      "data-state": states[step],
      "aria-current": step === current ? "step" : null,
    };
    return el(
      "li",
      {},
      states[step] === "locked"
        ? el("span", { ...attributes, "aria-disabled": "true" }, ...label)
        : link(el("span", { class: "tab-in" }, ...label), `#/pair/${pair.number}/${step}`, attributes),
    );
  });
  return el("nav", { "aria-label": `Steps of pair ${pair.number}` }, el("ol", { class: "tabs plain" }, ...tabs));
}

/** The button to whatever comes after a step. */
function afterStep(pair, kept, step) {
  const states = stepStates(book, pair, kept);
  const following = STEPS[STEPS.indexOf(step) + 1];
  if (following && states[following] !== "locked")
    return { label: `Next: ${STEP_NAMES[following].toLowerCase()}`, way: `#/pair/${pair.number}/${following}` };
  return nextPair(pair);
}

function nextPair(pair) {
  const after = book.pairs[book.pairs.indexOf(pair) + 1];
  return after
    ? { label: `Next: pair ${after.number}`, way: `#/pair/${after.number}` }
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

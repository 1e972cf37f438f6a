// The first screen: the round, what to mind, and the list of its pairs.

function homeScreen() {
  const sealed = sealedNow(draft);
  const current = book.pairs.find((pair) => nextStep(stepStates(book, pair, draft.pairs[pair.number])));
  return {
    title: `Round ${book.key}`,
    body: [
      heading(`Round ${book.key}`, `Bench book of ${book.trainee}, for ${book.mentor}`),
      el(
        "p",
        { class: "soft" },
        `${amount(book.pairs.length, "pair")}, judged by “${book.rubric.name}”. Planned on ${book.planned_on}.`,
      ),
      book.practise.length
        ? el(
            "section",
            { class: "say" },
            el("h2", {}, "To practise this time"),
            el("ol", {}, ...book.practise.map((line) => el("li", {}, line))),
          )
        : null,
      beforeFirst(),
      el("h2", {}, "The pairs"),
      el("ol", { class: "pairs plain" }, ...book.pairs.map(pairLine)),
      el("h2", {}, sealed ? "Sealed" : "When all are done"),
      el(
        "p",
        {},
        sealed
          ? `Version ${sealed.version} is sealed. The packet is one file to send back, with its code to read out.`
          : "Look over what is left open, write to your mentor, and seal. The sealed packet is one file to send back.",
      ),
      link(sealed ? "Packet and seal code" : "Look over and seal", sealed ? "#/sealed" : "#/check", {
        class: "button wide",
        id: "to-check",
      }),
      deviceSection(),
    ],
    next: sealed
      ? { label: "Packet and seal code", way: "#/sealed" }
      : current
        ? {
            label: `${isBlank(draft) ? "Begin with" : "Go on with"} pair ${current.number}`,
            way: pairWay(current.number),
          }
        : { label: "Look over and seal", way: "#/check" },
  };
}

function pairLine(pair) {
  const kept = draft.pairs[pair.number];
  const states = stepStates(book, pair, kept);
  const dots = STEPS.map((step) => {
    const isOut = isNotAsked(kept, step) || nClosed(book, pair, kept, states, step);
    return el("span", { class: `dot ${isOut ? "closed" : states[step]}` });
  });
  return el(
    "li",
    {},
    link(
      el(
        "span",
        { class: "pair-line" },
        el("b", { class: "number" }, el("span", { class: "unseen-words" }, "Pair "), String(pair.number)),
        el(
          "span",
          {},
          el("span", { class: "pair-name" }, pair.words),
          el("span", { class: "words" }, pairWords(book, pair, kept)),
        ),
        el("span", { class: "dots", "aria-hidden": "true" }, ...dots),
      ),
      pairWay(pair.number),
      { class: "pair-card", id: `pair-${pair.number}` },
    ),
  );
}

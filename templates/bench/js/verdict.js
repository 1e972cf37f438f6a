// The trainee's own verdict on a finished pair, and what there is to say about it.

function verdictScreen(pair, kept) {
  const isLeft = kept.decision === "leave";
  return {
    body: [
      heading("Your verdict", `Pair ${pair.number}: ${pair.words}`),
      isLeft
        ? el("p", {}, "You left this pair as it came, so it has no verdict. Write down what you want to say of it.")
        : choiceField({
            name: "verdict",
            legend: "Would you hand it to a customer?",
            options: book.words.verdicts.map((word) => [word, word, VERDICT_WORDS[word] || ""]),
            read: () => kept.verdict,
            write: (word) => {
              kept.verdict = word;
            },
          }),
      textField({
        id: "notes",
        label: "Notes",
        rows: 4,
        most: book.limits.prose,
        hint: "What happened, what was hard, what you saw.",
        read: () => kept.notes,
        write: (text) => {
          kept.notes = text;
        },
      }),
      questionsPart(kept),
      textField({
        id: "lessons",
        label: "Lessons",
        rows: 3,
        most: book.limits.prose,
        hint: "What you will do differently with the next pair.",
        read: () => kept.lessons,
        write: (text) => {
          kept.lessons = text;
        },
      }),
    ],
    next: afterStep(pair, kept, "verdict"),
  };
}

const VERDICT_WORDS = { accepted: "yes, as it is", rework: "no, it wants more work" };

function questionsPart(kept) {
  const add = () => {
    kept.questions.push("");
    changed();
    refresh();
    byId(`question-${kept.questions.length - 1}`).focus();
  };
  const away = (at) => {
    kept.questions.splice(at, 1);
    changed();
    refresh();
    byId("add-question").focus();
  };
  const lines = kept.questions.map((_, at) =>
    el(
      "li",
      { class: "with-tool" },
      textField({
        id: `question-${at}`,
        label: `Question ${at + 1}`,
        most: book.limits.line,
        read: () => kept.questions[at],
        write: (text) => {
          kept.questions[at] = text;
        },
      }),
      isReadOnly()
        ? null
        : button("Take away", () => away(at), { "aria-label": `Take question ${at + 1} away`, class: "small" }),
    ),
  );
  const isFull = kept.questions.length >= book.limits.questions;
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "Questions"),
    el("p", { class: "hint" }, "One thing each: your mentor answers them one by one."),
    el("ol", { class: "plain" }, ...lines),
    isReadOnly() ? null : button("Ask a question", add, { id: "add-question", disabled: isFull }),
  );
}

// The class of a pair as it came, and what is done with it.

function decideScreen(pair, kept) {
  const possible = possibleClasses(book, pair, kept);
  const isOther = isClassOther(book, pair, kept);
  const reason = reasonField(pair, kept, possible, isOther);
  const calls = kept.stated_class && book.words.classes.find(([letter]) => letter === kept.stated_class)[2];
  return {
    body: [
      heading("Class and decision", `Pair ${pair.number}: ${pair.words}`),
      el("p", { class: "say" }, classWords(possible, pair, kept)),
      choiceField({
        name: "class",
        legend: "Class as it came, once cleaned and tensioned",
        hint: "You state it. Class X, beyond repair, is for you alone to see: no test cut tells it.",
        options: book.words.classes.map(([letter, words]) => [
          letter,
          `Class ${letter}`,
          words,
          possible.length === 1 && possible[0] === letter
            ? "by your test cuts"
            : possible.includes(letter)
              ? "possible by your test cuts"
              : "",
        ]),
        read: () => kept.stated_class,
        write: (letter) => {
          kept.stated_class = letter;
          if (isClassUnexplained(book, pair, kept)) setTimeout(showReason);
        },
      }),
      isOther && reason,
      calls && el("p", { class: "soft" }, `Class ${kept.stated_class} usually means: ${calls}.`),
      choiceField({
        name: "decision",
        legend: "What you do with it",
        options: book.words.decisions.map((word) => [word, word, DECISION_WORDS[word] || ""]),
        read: () => kept.decision,
        write: (word) => {
          kept.decision = word;
        },
      }),
      isOther ? null : reason,
    ],
    next: afterDeciding(pair, kept),
  };
}

/** One reason for both: it stands where it is asked for, right under a class that the test cuts do not say. */
function reasonField(pair, kept, possible, isOther) {
  const isLeft = kept.decision === "leave";
  const why = isOther ? `Why class ${kept.stated_class}, and not ${lettersWords(possible)}` : "Why it is left alone";
  return textField({
    id: "reason",
    label: isOther || isLeft ? why + (isOther && isLeft ? "; and why it is left alone" : "") : "Reason",
    rows: 2,
    most: book.limits.note,
    hint: isOther
      ? "The test cuts say otherwise: what do you see that they do not?"
      : isLeft
        ? ""
        : "If there is something to say.",
    read: () => kept.reason,
    write: (text) => {
      kept.reason = text;
      renewNext(afterDeciding(pair, kept), pair.number);
    },
    fault: () => (isLeft && !isSaid(kept.reason) ? "A pair left alone needs its reason." : ""),
  });
}

/** In sight, and not yet typed in: whoever chose by mistake chooses again. */
function showReason() {
  const field = byId("reason");
  if (field) field.closest(".field").scrollIntoView({ block: "nearest" });
}

/** A pair that is left alone has neither work nor a second reading, but it has a reason. */
function afterDeciding(pair, kept) {
  if (kept.decision !== "leave") return afterStep(pair, kept, "decide");
  if (!isSaid(kept.reason)) return { label: "Say the reason first", act: () => byId("reason").focus() };
  return { label: "Next: verdict", way: pairWay(pair.number, "verdict") };
}

const DECISION_WORDS = {
  sharpen: "stone work on the edge",
  "adjust only": "clean, oil, tension, bumper; no stone",
  leave: "nothing is done: say why",
};

function classWords(possible, pair, kept) {
  if (!possible.length)
    return "No test cut was made as received, so no class can be worked out. State what you think, or leave it.";
  const rests = restsOn(pair, kept);
  const other = "State another if that is not what you see, and say why.";
  if (possible.length === 1) return `By your test cuts: class ${possible[0]} (${rests}). ${other}`;
  return `By your test cuts: class ${lettersWords(possible)} (${rests}). What was not cut could be anything. ${other}`;
}

/** 'B', 'B or C', 'B, C or D'. */
function lettersWords(letters) {
  const last = letters[letters.length - 1];
  return letters.length === 1 ? last : `${letters.slice(0, -1).join(", ")} or ${last}`;
}

/** What the class rests on: the level that the places of each test cut come to together. */
function restsOn(pair, kept) {
  const { ranges, cut } = cutRanges(book, pair, kept);
  const found = Object.entries(ranges).map(([medium, [low, high]]) => {
    if (!cut.includes(medium)) return `${medium} not cut`;
    return `${medium} ${low === high ? `level ${low}` : `level ${low} to ${high}`}`;
  });
  return `from all places together: ${found.join(", ")}`;
}

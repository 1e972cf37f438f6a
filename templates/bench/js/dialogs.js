// Questions and lists that stand above the page until they are answered.

/** Shows a dialog and answers with the value of the button that closed it; "" when it was closed otherwise. */
function ask({ title, body, answers }) {
  return new Promise((resolve) => {
    const opened = document.activeElement;
    const dialog = el(
      "dialog",
      { "aria-labelledby": "dialog-title", class: "sheet" },
      el("h2", { id: "dialog-title", tabindex: "-1" }, title),
      el("div", { class: "sheet-body" }, ...body),
      el(
        "div",
        { class: "sheet-answers" },
        answers.map(([value, label, kind = ""]) =>
          button(label, () => dialog.close(value), { class: kind, "data-answer": value }),
        ),
      ),
    );
    dialog.addEventListener("close", () => {
      dialog.remove();
      if (opened && document.contains(opened)) opened.focus();
      resolve(dialog.returnValue || "");
    });
    document.body.append(dialog);
    openAbove(dialog);
    byId("dialog-title").focus();
  });
}

/** Old browsers know no dialogs: there it stands above the page all the same, and closes by its buttons. */
function openAbove(dialog) {
  if (dialog.showModal) {
    dialog.showModal();
    return;
  }
  dialog.setAttribute("open", "");
  dialog.classList.add("old");
  dialog.close = (value) => {
    dialog.returnValue = value;
    dialog.dispatchEvent(new Event("close"));
  };
}

/** A yes-or-no question. The answer that keeps things as they are comes last. */
async function confirmed(title, words, yes, no = "No, go back") {
  const body = words.map((line) => el("p", {}, line));
  return (
    (await ask({
      title,
      body,
      answers: [
        ["yes", yes, "primary"],
        ["", no],
      ],
    })) === "yes"
  );
}

/** Something that can only be read. */
function tell(title, words) {
  return ask({ title, body: words.map((line) => el("p", {}, line)), answers: [["", "Close", "primary"]] });
}

/** The list of all that is untested, pair by pair; a tap goes there. */
function showUntested(number = null) {
  const pairs = book.pairs.filter((pair) => number === null || pair.number === number);
  const found = pairs.flatMap((pair) => untestedOf(book, pair, draft.pairs[pair.number]));
  const title = found.length ? `${amount(found.length, "place")} untested` : "Nothing is untested";
  const body = found.length
    ? untestedGroups(found)
    : [el("p", {}, "Every place was read, or put aside as not applicable.")];
  body.unshift(el("p", { class: "hint" }, "Untested is never passed, and never a nought. Tap a line to go there."));
  return ask({ title, body, answers: [["", "Close", "primary"]] });
}

function untestedGroups(found) {
  const groups = new Map();
  for (const one of found) {
    const key = `Pair ${one.pair.number}, ${one.stage}`;
    if (!groups.has(key)) groups.set(key, new Map());
    const rows = groups.get(key);
    if (!rows.has(one.row)) rows.set(one.row, []);
    rows.get(one.row).push(one);
  }
  const many = groups.size > 2;
  return [...groups].map(([key, rows]) => untestedGroup(key, rows, many));
}

function untestedGroup(key, rows, isFolded) {
  const lines = [...rows].map(([row, places]) => {
    const { pair, stage } = places[0];
    const words = places.map((one) => one.place.words + (one.why === "open" ? "" : ` (${one.why})`)).join(", ");
    const way = pairWay(pair.number, stage === AS_RECEIVED ? "received" : "finished", row.key);
    return el("li", {}, link(el("span", {}, el("b", {}, row.name), ` ${words}`), way));
  });
  const n = [...rows.values()].reduce((sum, places) => sum + places.length, 0);
  return el("details", { open: !isFolded }, el("summary", {}, `${key}: ${n}`), el("ul", { class: "plain" }, ...lines));
}

// A remark on a reading, and taking the reading back.

/** A remark belongs to a reading: it is offered as soon as there is one. */
function remarkPart(at) {
  const part = el("div", { class: "remark-part", id: "remark-part" });
  fillRemark(at, part);
  return part;
}

function fillRemark(at, part) {
  const reading = keptReading(at);
  if (Boolean(reading.way) === part.hasChildNodes()) return;
  if (!reading.way) {
    part.replaceChildren();
    return;
  }
  const field = textField({
    id: "remark",
    label: "Remark on this reading",
    rows: 2,
    most: book.limits.note,
    read: () => keptReading(at).note || "",
    write: (text) => {
      keptReading(at).note = text;
    },
  });
  part.replaceChildren(reading.note ? field : more("Add a remark", field));
  const summary = part.querySelector("summary");
  if (summary) summary.addEventListener("click", () => setTimeout(focusRemark));
  if (isReadOnly()) return;
  part.append(button("Take this reading back", () => takeBack(at), { class: "quiet", id: "take-back" }));
}

/** Whoever could not read a place has something to say on it. */
function openRemark() {
  const fold = document.querySelector("#remark-part details");
  if (fold) fold.open = true;
  focusRemark();
}

/** In the field as soon as it can be seen, and the field clear of the bar. */
function focusRemark() {
  const field = byId("remark");
  const fold = field && field.closest("details");
  if (!field || (fold && !fold.open)) return;
  field.focus();
  field.scrollIntoView({ block: "center" });
}

// How the page is set on this device, and the draft as a file: out, in, and on paper.

function deviceSection() {
  const pick = el("input", {
    type: "file",
    id: "draft-file",
    accept: ".zip,application/zip",
    disabled: isElsewhere,
    onchange: async (event) => {
      const [file] = event.target.files;
      if (file) await takeUpDraft(file);
      event.target.value = "";
    },
  });
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "This device"),
    choiceField({
      name: "side",
      legend: "Buttons for the",
      row: true,
      ofPage: true,
      options: [
        ["right", "right hand"],
        ["left", "left hand"],
      ],
      read: () => settings.side,
      write: (side) => {
        settings.side = side;
        saveSettings();
        showSide();
      },
    }),
    unitChoice(),
    el(
      "p",
      {},
      "All you write is kept on this device at once. To go on with another device, or to be on the safe side, save the draft as a file and open it in the bench book there. A private window forgets everything when it is closed.",
    ),
    el(
      "div",
      { class: "buttons" },
      button(
        "Save a draft file",
        () => saveDraftFile().catch((error) => tell("The draft cannot be saved", [error.message])),
        { id: "save-draft" },
      ),
      button("Print as a paper form", printPaper, { id: "print" }),
    ),
    el("div", { class: "field" }, el("label", { for: "draft-file" }, "Take up a draft file"), pick),
  );
}

function unitChoice() {
  return choiceField({
    name: "length-unit",
    legend: "Widths and lengths in",
    row: true,
    ofPage: true,
    options: [
      ["mm", "millimetres"],
      ["in", "inches"],
    ],
    read: () => settings.length_unit,
    write: (unit) => {
      settings.length_unit = unit;
      saveSettings();
    },
  });
}

function showSide() {
  document.documentElement.dataset.side = settings.side;
}

// What comes before the first pair: disinfecting, testing before any work, and the cautions.

function beforeFirst() {
  const { product } = draft.disinfected;
  const isBegun = book.pairs.some((pair) => nReadings(draft.pairs[pair.number]));
  if (product.trim() && isBegun && !route.criterion) return more(`Before the first pair: disinfected with ${product.trim()}, cautions`, beforeFirstPanel());
  return beforeFirstPanel();
}

function beforeFirstPanel() {
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, "Before the first pair"),
    el(
      "p",
      {},
      el("b", {}, "Disinfect first. "),
      "Clean off what sticks, then the product, wet for the whole time on its label. Dry and oil.",
    ),
    el(
      "p",
      {},
      el("b", {}, "Test before you touch. "),
      "Clean and oil the pivot, set the tension, read everything as it came. No stone before that.",
    ),
    disinfection(),
    more(
      "Cautions",
      el(
        "ul",
        {},
        el(
          "li",
          {},
          "Blades cut: work with them apart and the edge away from you, carry them closed, keep first aid at hand.",
        ),
        el("li", {}, "Never close the blades on a burr. A dropped pair is held apart while you look at it."),
        el(
          "li",
          {},
          "Powered abrasives: eye and face protection, guards in place, no gloves or loose sleeves near the wheel. Catch dust wet or by extraction, and wear a fitted mask where there is any.",
        ),
        el("li", {}, "No test cut on a living person by anyone without a licence: swatches and mannequin hair only."),
        el(
          "li",
          {},
          "Rules of your place, the product's label and licensed practice come before anything that stands here.",
        ),
      ),
    ),
  );
}

function disinfection() {
  const doubt = el("p", { class: "question", id: "disinfected-doubt", role: "status" });
  const showDoubt = () => {
    doubt.textContent = disinfectingDoubt(draft.disinfected);
  };
  showDoubt();
  const part = (key, id, label, extra = {}) =>
    textField({
      id,
      label,
      most: key === "product" ? 200 : 40,
      read: () => draft.disinfected[key],
      write: (text) => {
        draft.disinfected[key] = text;
        showDoubt();
      },
      ...extra,
    });
  const now = (key) =>
    button(
      "Now",
      () => {
        const at = new Date();
        draft.disinfected[key] =
          `${String(at.getHours()).padStart(2, "0")}:${String(at.getMinutes()).padStart(2, "0")}`;
        changed();
        refresh();
      },
      {
        class: "small",
        id: `now-${key}`,
        disabled: isReadOnly(),
        "aria-label": key === "from" ? "Begun now" : "Ended now",
      },
    );
  return el(
    "div",
    { class: "disinfection" },
    part("product", "disinfected-product", "Disinfected with (product)"),
    part("contact", "disinfected-contact", "Contact time on its label (minutes)", {
      attributes: { inputmode: "decimal" },
    }),
    el("p", { class: "hint" }, "When the disinfecting began, and when it ended:"),
    el(
      "div",
      { class: "duo roomy" },
      el(
        "div",
        { class: "with-tool" },
        part("from", "disinfected-from", "Begun at", { attributes: { type: "time" } }),
        now("from"),
      ),
      el(
        "div",
        { class: "with-tool" },
        part("to", "disinfected-to", "Ended at", { attributes: { type: "time" } }),
        now("to"),
      ),
    ),
    doubt,
  );
}

// Fields: a label, what is typed, how much room is left, and what is wrong with it, said beside it.

/**
 * One field. `read` gives its value, `write` takes it as it is typed; `fault` says what is wrong with it.
 * `most` is the longest text it takes: the count shows when it runs short.
 */
function textField({ id, label, read, write, fault = () => "", most, rows = 0, hint = "", attributes = {} }) {
  const control = el(rows ? "textarea" : "input", {
    id,
    name: id,
    rows: rows || null,
    type: rows ? null : "text",
    maxlength: most,
    autocomplete: "off",
    "aria-describedby": `${id}-hint ${id}-fault`,
    readonly: isReadOnly(),
    ...attributes,
  });
  control.value = read();
  const count = most ? el("span", { class: "count", "aria-hidden": "true" }) : null;
  const wrong = el("p", { class: "fault", id: `${id}-fault` });
  const show = () => {
    showFault(control, wrong, fault());
    if (count) showCount(count, control.value.length, most);
    if (rows) grow(control);
  };
  control.addEventListener("input", () => {
    const wasWrong = Boolean(wrong.textContent);
    write(control.value);
    changed();
    show();
    if (!wasWrong && wrong.textContent) wrong.scrollIntoView({ block: "nearest" });
  });
  show();
  if (rows) requestAnimationFrame(() => grow(control));
  return el(
    "div",
    { class: "field" },
    el("label", { for: id }, label),
    hint ? el("p", { class: "hint", id: `${id}-hint` }, hint) : el("span", { id: `${id}-hint`, hidden: true }),
    control,
    count,
    wrong,
  );
}

function showFault(control, place, fault) {
  place.textContent = fault;
  if (fault) control.setAttribute("aria-invalid", "true");
  else control.removeAttribute("aria-invalid");
}

function showCount(count, length, most) {
  const isShown = length > most * 0.8;
  count.hidden = !isShown;
  count.textContent = isShown ? `${length} of ${most} signs` : "";
}

/** A box of several lines is as high as its text. */
function grow(control) {
  control.style.height = "auto";
  control.style.height = `${control.scrollHeight + 2}px`;
}

const TYPED_NUMBER = { inputmode: "decimal", enterkeyhint: "next" };

/** One of a few, as large cards. `options` are [value, label, words]. What is of the page (`ofPage`) is no change of the draft. */
function choiceField({ name, legend, options, read, write, hint = "", row = false, ofPage = false }) {
  const cards = options.map(([value, label, words = "", extra = ""]) => {
    const id = `${name}-${String(value).replace(/[^A-Za-z0-9]+/g, "-")}`;
    const control = el("input", {
      type: "radio",
      id,
      name,
      value,
      "aria-labelledby": `${id}-name`,
      "aria-describedby": `${id}-words`,
      checked: read() === value,
      disabled: !ofPage && isReadOnly(),
      onchange: () => {
        write(value);
        if (!ofPage) changed();
        refresh();
      },
    });
    return el(
      "label",
      { class: "card", for: id },
      control,
      el(
        "span",
        {},
        el("b", { id: `${id}-name` }, label),
        el(
          "span",
          { id: `${id}-words` },
          words && el("span", { class: "words" }, words),
          extra && el("span", { class: "tag" }, extra),
        ),
      ),
    );
  });
  return el(
    "fieldset",
    { class: row ? "choice in-row" : "choice" },
    el("legend", {}, legend),
    hint && el("p", { class: "hint" }, hint),
    ...cards,
  );
}

/** A closed list that is too long for cards. `options` are [value, label]. */
function selectField({ id, label, options, read, write, attributes = {} }) {
  const control = el(
    "select",
    {
      id,
      name: id,
      disabled: isReadOnly(),
      ...attributes,
      onchange: () => {
        write(control.value);
        changed();
        refresh();
      },
    },
    ...options.map(([value, words]) => el("option", { value, selected: read() === value }, words)),
  );
  return el("div", { class: "field" }, el("label", { for: id }, label), control);
}

/** A typed length beside its unit; the unit of all lengths is chosen in one place, and what was typed in another is told. */
function lengthField({ id, label, name = "", read, write, fault, after = () => {} }) {
  const unit = lengthUnit();
  const typed = el("p", { class: "hint typed-as" });
  const show = () => {
    const length = read();
    typed.textContent = length && length.unit !== unit ? `typed as ${lengthWords(length)}` : "";
  };
  const field = textField({
    id,
    label: name ? label : `${label} (${unit})`,
    fault,
    read: () => lengthText(read(), unit),
    write: (text) => {
      write(text.trim() ? { text, unit } : null);
      show();
      after();
    },
    attributes: { ...TYPED_NUMBER, "aria-label": (name && `${name} (${unit})`) || null },
  });
  show();
  field.append(typed);
  return field;
}

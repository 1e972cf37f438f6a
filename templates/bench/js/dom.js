// Elements made in code: words of a user are only ever text.

/** An element. Attributes starting with "on" are listeners; `class`, `id`, `data-...` and the like are set as they are. */
function el(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

function byId(id) {
  return document.getElementById(id);
}

function button(label, onclick, attributes = {}) {
  return el("button", { type: "button", onclick, ...attributes }, label);
}

function link(label, href, attributes = {}) {
  return el("a", { href, ...attributes }, label);
}

/** Says something to whoever listens instead of looking. */
function announce(words) {
  byId("said").textContent = words;
}

/** The content of one of the page's templates; nothing where there is none. */
function fromTemplate(id) {
  const found = byId(id);
  return found ? found.content.cloneNode(true) : null;
}

const SVG = "http://www.w3.org/2000/svg";

function svg(tag, attributes = {}, ...children) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

/** A mark: shapes differ as well as colours, as in the mentor's report. `sign` stands in it. */
function mark(shape, sign) {
  const shapes = {
    fails: ["path", { d: "M13 2 24 13 13 24 2 13Z" }],
    part: ["rect", { x: 4.5, y: 4.5, width: 17, height: 17 }],
    fit: ["circle", { cx: 13, cy: 13, r: 9 }],
    new: ["circle", { cx: 13, cy: 13, r: 10 }],
    unseen: ["circle", { cx: 13, cy: 13, r: 9.5 }],
    said: ["circle", { cx: 13, cy: 13, r: 9.5 }],
  };
  const [tag, attributes] = shapes[shape];
  return svg(
    "svg",
    { viewBox: "0 0 26 26", class: `mark mark-${shape}`, "aria-hidden": "true", focusable: "false" },
    svg(tag, attributes),
    svg("text", { x: 13, y: 17.2, "text-anchor": "middle" }, sign),
  );
}

/** The mark's shape for a level; null is a place where nothing was seen. */
function shapeOf(level, rubric) {
  if (level === null) return "unseen";
  if (level >= rubric.fit) return level === rubric.top ? "new" : "fit";
  return level === 0 ? "fails" : "part";
}

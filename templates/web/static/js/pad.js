// The pad: the place on the drawing, and what can be said of it by one press.

const BADGE = {
  fails: '<path class="m-fails" fill="#d55e00" stroke="#1d2528" stroke-width=".8" d="M13 2 24 13 13 24 2 13Z"/>',
  part: '<rect class="m-part" fill="#e69f00" stroke="#1d2528" stroke-width=".8" x="4.5" y="4.5" width="17" height="17"/>',
  fit: '<circle class="m-fit" fill="#ffffff" stroke="#0072b2" stroke-width="2.2" cx="13" cy="13" r="8.8"/>',
  new: '<circle class="m-new" fill="#0072b2" cx="13" cy="13" r="9.6"/>',
  tested: '<path class="mark-line" d="M5 14l5.5 5.5L21 7.5"/>',
  begun: '<circle class="mark-line" cx="13" cy="13" r="8.6"/><path class="mark-dot" d="M13 4.4a8.6 8.6 0 0 0 0 17.2Z"/>',
  unseen: '<circle class="m-unseen" fill="#ffffff" stroke="#5b6468" stroke-width="1.4" stroke-dasharray="2.6 2.2" cx="13" cy="13" r="8.8"/>',
};
const shapeOf = (chip) => Object.keys(BADGE).find((shape) => chip && chip.classList.contains(shape)) || "unseen";

function badge(shape, sign) {
  const ink = shape === "new" ? "#ffffff" : "#101517";
  const box = document.createElement("span");
  box.innerHTML = '<svg class="badge" viewBox="0 0 26 26" width="18" height="18" aria-hidden="true">' + BADGE[shape] +
    '<text class="m-sign-' + shape + '" font-size="11.5" font-weight="700" text-anchor="middle" x="13" y="17" fill="' + ink + '"></text></svg>';
  box.querySelector("text").textContent = sign;
  return box.firstChild;
}

function make(kind, words, press, pressed) {
  const button = document.createElement("button");
  button.type = "button";
  if (kind) button.className = kind;
  if (words instanceof Node) button.append(words); else button.textContent = words;
  if (pressed !== undefined) button.setAttribute("aria-pressed", String(pressed));
  button.addEventListener("click", press);
  return button;
}

function show(scroll) {
  const line = lines[at.line], place = line.places[at.place];
  lines.forEach((one) => {
    const isHere = one === line;
    one.section.open = isHere;
    one.section.classList.toggle("is-here", isHere);
  });
  $("pad").classList.toggle("single", line.places.length < 2);
  showSpots(line);
  $("pad-where").replaceChildren(line.name, small(forAll ? " · all places" : line.places.length > 1 ? " · " + place.name : ""));
  $("pad-choices").replaceChildren(...choiceRows(line, place));
  $("pad-all").setAttribute("aria-pressed", String(forAll));
  $("pad-all").disabled = line.places.length < 2;
  $("pad-could").setAttribute("aria-pressed", String(!forAll && saidAt(place) === "could not"));
  $("pad-next").textContent = nUntested() ? "Next untested" : isSecond ? "Finish this pair" : "Done: both views";
  if (scroll) line.section.scrollIntoView({ block: "nearest" });
}

function small(words) {
  const tag = document.createElement("small");
  tag.textContent = words;
  return tag;
}

function showSpots(line) {
  const spots = line.places.map((place, index) => {
    const isHere = forAll || index === at.place;
    const said = saidAt(place);
    const spot = make("at-" + place.slug, badge(shapeOf(place.chip), place.chip ? place.chip.textContent : "?"), () => move(at.line, index), isHere);
    spot.setAttribute("aria-label", place.name + ": " + (said || "untested"));
    return spot;
  });
  $("spots").replaceChildren(...spots);
}

function choiceRows(line, place) {
  const said = forAll ? null : saidAt(place);
  const choices = choicesOf(place);
  const rows = [];
  if (line.kind === "cut") rows.push(row("pad-cuts", choices.filter((word) => Object.values(CUTS).includes(word)).map((word) => make("", word, () => say(word), said === word))));
  if (line.kind !== "judged") rows.push(measureRow(line, place));
  const levels = line.ladder.map((words, level) => {
    const face = document.createDocumentFragment();
    const sign = document.createElement("b");
    sign.textContent = level;
    face.append(sign, line.kind === "judged" ? words : "");
    const button = make("", face, () => say(levelWord(line, level)), said === levelWord(line, level));
    button.setAttribute("aria-label", "Level " + level + ": " + words);
    return button;
  });
  rows.push(row("pad-levels n-" + levels.length + (line.kind === "judged" ? "" : " brief"), levels));
  if (choices.includes("n/a")) rows.push(row("pad-levels brief", [make("", "not applicable", () => say("n/a"), said === "n/a")]));
  return rows;
}

function row(kind, buttons) {
  const box = document.createElement("div");
  box.className = kind;
  box.append(...buttons);
  return box;
}

function measureRow(line, place) {
  const box = document.createElement("div"), input = document.createElement("input"), unit = document.createElement("span");
  box.className = "pad-measure";
  input.id = "pad-measure";
  input.inputMode = "decimal";
  input.autocomplete = "off";
  input.setAttribute("aria-label", line.kind === "cut" ? "How far it pushed, in mm" : line.name + ", " + (line.unit || "value"));
  input.placeholder = line.kind === "cut" ? "push" : "measured";
  input.value = line.kind === "measured" && !forAll ? place.words.value : "";
  unit.textContent = line.kind === "cut" ? "mm" : line.unit;
  const take = (all) => {
    const text = input.value.trim();
    if (!text) return;
    input.blur();
    say(line.kind === "cut" && /^[\d.,]+$/.test(text) ? "push " + text + " mm" : text, all);
  };
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter") { event.preventDefault(); take(event.shiftKey || input.dataset.all === "yes"); }
    if (event.key === "Escape") { event.preventDefault(); input.blur(); }
    event.stopPropagation();
  });
  box.append(input, unit, make("", "Set", () => take(false)));
  return box;
}

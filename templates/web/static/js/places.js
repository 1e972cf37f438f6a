// What the page holds: its criteria and their places, what stands at each, and going from one to the other.

const $ = (id) => document.getElementById(id);
const form = $("pair");
const isSecond = form.dataset.second === "yes";
const here = form.getAttribute("action").split("?")[0];
const lines = Array.from(form.querySelectorAll("details.line")).map(readLine);
const CUTS = { c: "clean", k: "catch", f: "fold", p: "push", t: "tear", x: "not cut" };
let at = { line: 0, place: 0 };
let forAll = false;

function readLine(section) {
  const places = Array.from(section.querySelectorAll(".place")).map((row) => ({
    slug: row.dataset.place,
    name: row.querySelector(".place-name").textContent,
    radios: Array.from(row.querySelectorAll("input[type=radio]")),
    words: row.querySelector(".words input"),
    fault: row.querySelector(".fault"),
    chip: section.querySelector('.chip[data-place="' + row.dataset.place + '"]'),
  }));
  return {
    section, places,
    key: section.dataset.key, kind: section.dataset.kind, unit: section.dataset.unit,
    name: section.querySelector(".line-name").textContent,
    ladder: Array.from(section.querySelectorAll(".ladder li")).map((li) => li.textContent),
    level: section.querySelector(".line-level"),
  };
}

const choicesOf = (place) => place.radios.map((radio) => radio.value).filter(Boolean);
const saidAt = (place) => place.words.value.trim() || (place.radios.find((radio) => radio.checked) || {}).value || "";
const levelWord = (line, level) => (line.kind === "judged" ? String(level) : "level " + level);
const isWhole = (line, place) => place.slug === "pair" && line.places.length > 1;

function put(place, words) {
  const radio = place.radios.find((one) => one.value === words);
  (radio || place.radios[0]).checked = true;
  place.words.value = radio ? "" : words;
  place.fault.textContent = "";
  place.words.removeAttribute("aria-invalid");
}

function guess(line, place, words) {
  const level = /^(?:level )?(\d)$/.exec(words);
  if (!place.chip) return;
  place.chip.textContent = words === "" ? "?" : level ? level[1] : "…";
  place.chip.className = "chip " + (words === "" ? "unseen-yet" : "said");
}

const isUntested = (line, place) =>
  saidAt(place) === "" && !isWhole(line, place) && !line.places.some((one) => isWhole(line, one) && saidAt(one) !== "");

const nUntested = () => lines.reduce((n, line) => n + line.places.filter((place) => isUntested(line, place)).length, 0);

function say(words, all) {
  const line = lines[at.line];
  const chosen = all || forAll ? line.places.filter((place) => !isWhole(line, place)) : [line.places[at.place]];
  remembered(chosen.map((place) => [place, saidAt(place)]));
  chosen.forEach((place) => { put(place, words); guess(line, place, words); });
  const wasAll = all || forAll;
  forAll = false;
  changed();
  if (words === "") show();
  else if (wasAll || !step(at.place)) nextUntested();
}

function step(from) {
  const line = lines[at.line];
  for (let n = from + 1; n < line.places.length; n++) if (isUntested(line, line.places[n])) { at.place = n; show(); return true; }
  return false;
}

function nextUntested() {
  for (let n = 0; n < lines.length; n++) {
    const index = (at.line + n) % lines.length, line = lines[index];
    const place = line.places.findIndex((one) => isUntested(line, one));
    if (place >= 0) { move(index, place); return true; }
  }
  show();
  return false;
}

function move(line, place) {
  const isOther = line !== at.line;
  at = { line, place };
  forAll = false;
  if (isOther) flushSoon();
  show(isOther);
}

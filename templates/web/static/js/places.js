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

// What cannot be read counts as nothing said: the book keeps nothing of it.
const isUnsaid = (place) => saidAt(place) === "" || place.fault.textContent !== "";

const isUntested = (line, place) =>
  isUnsaid(place) && !isWhole(line, place) && !line.places.some((one) => isWhole(line, one) && !isUnsaid(one));

const nUntested = () => lines.reduce((n, line) => n + line.places.filter((place) => isUntested(line, place)).length, 0);

function say(words, all) {
  const line = lines[at.line];
  const chosen = all || forAll ? line.places.filter((place) => !isWhole(line, place)) : [line.places[at.place]];
  const isCorrected = chosen.every((place) => !isUnsaid(place));
  remembered(chosen.map((place) => [place, saidAt(place)]));
  chosen.forEach((place) => { put(place, words); guess(line, place, words); });
  forAll = false;
  changed();
  if (words === "") show();
  else if (isCorrected) goOnInLine(chosen);
  else if (!restOfLine()) nextUntested();
}

// What is left of a criterion comes before the next one: whoever taps the tip first has the heel still before the eyes.
function restOfLine() {
  const places = lines[at.line].places, n = places.length;
  const after = places.map((_, step) => (at.place + 1 + step) % n).find((one) => isUntested(lines[at.line], places[one]));
  if (after === undefined) return false;
  move(at.line, after);
  return true;
}

// A correction stays on its line, or the next width that is typed would land on another criterion.
function goOnInLine(chosen) {
  if (chosen.length === 1) at.place = Math.min(at.place + 1, lines[at.line].places.length - 1);
  show();
}

// From the place after the present one through all lines and round again; the present one comes last.
function nextUntested() {
  const all = lines.flatMap((line, index) => line.places.map((place, n) => ({ index, n, isLeft: isUntested(line, place) })));
  const present = all.findIndex((one) => one.index === at.line && one.n === at.place);
  const next = [...all.slice(present + 1), ...all.slice(0, present + 1)].find((one) => one.isLeft);
  if (!next) { show(); return false; }
  move(next.index, next.n);
  return true;
}

function move(line, place) {
  const isOther = line !== at.line;
  at = { line, place };
  forAll = false;
  if (isOther) flushSoon();
  show(isOther);
}

// What was left is taken up again, what was marked is taken back: one mark at a time, after a reload too.

const undone = [];
const stepShelf = shelf + " steps";

function resume() {
  let text = null;
  try { text = localStorage.getItem(shelf); } catch (_) { return; }
  if (!text) return;
  let left;
  try { left = JSON.parse(text); } catch (_) { localStorage.removeItem(shelf); return; }
  const now = written();
  const same = Object.keys({ ...now, ...left }).every((name) => ["based_on", "at", "then"].includes(name) || String(now[name] || "") === String(left[name] || ""));
  if (same) { localStorage.removeItem(shelf); return; }
  fill(left);
  if (left.based_on !== undefined && form.elements.based_on) form.elements.based_on.value = left.based_on;
  raise("Taken up again: what you marked here before it could be kept.",
    make("button", "Throw it away", () => { localStorage.removeItem(shelf); location.reload(); }));
  changed();
}

function fill(left) {
  Array.from(form.elements).forEach((field) => {
    if (!field.name || ["token", "based_on", "has_transit", "then", "at"].includes(field.name)) return;
    if (field.type === "radio") field.checked = (left[field.name] || "") === field.value;
    else if (field.type === "checkbox") field.checked = (left[field.name] || []).includes(field.value);
    else if (left[field.name] !== undefined) field.value = left[field.name];
  });
  lines.forEach((line) => line.places.forEach((place) => guess(line, place, saidAt(place))));
}

// --- steps of this tab ------------------------------------------------------------------------------------------------

const allSaid = () => JSON.stringify(lines.map((line) => line.places.map(saidAt)));

function remembered(step) {
  undone.push(step);
  if (undone.length > 400) undone.shift();
}

// Beside what stands: were it another hand's, the steps would lead nowhere.
function keepSteps() {
  const steps = undone.map((step) => step.map(([place, words]) => {
    const line = lines.findIndex((one) => one.places.includes(place));
    return [line, lines[line].places.indexOf(place), words];
  }));
  try { sessionStorage.setItem(stepShelf, JSON.stringify({ said: allSaid(), steps })); } catch (_) { /* full, or not allowed */ }
}

function recallSteps() {
  try {
    const left = JSON.parse(sessionStorage.getItem(stepShelf) || "null");
    if (!left || left.said !== allSaid()) return;
    left.steps.forEach((step) => undone.push(step.map(([line, place, words]) => [lines[line].places[place], words])));
  } catch (_) { /* nothing was kept, or it is not readable any more */ }
}

async function undo() {
  const last = undone.pop();
  if (last) {
    last.forEach(([place, words]) => {
      const line = lines.find((one) => one.places.includes(place));
      put(place, words); guess(line, place, words);
      at = { line: lines.indexOf(line), place: line.places.indexOf(place) };
    });
    changed(true); show(true);
    return;
  }
  if (!(await keep())) return;
  const answer = await send(here + "/undo").catch(() => null);
  if (answer && answer.status === 409) { stop(); return; }
  if (!answer || !answer.ok) { tell("Nothing to undo", ""); return; }
  fillIn(answer.data.fields);
  took(answer.data);
  show();
}

function fillIn(fields) {
  lines.forEach((line) => line.places.forEach((place) => put(place, fields["v." + line.key + "." + place.slug] || "")));
  Array.from(form.elements).forEach((field) => {
    if (field.type === "checkbox") { if (field.name === "transit") field.checked = (fields.transit || "").split(" ").includes(field.value); }
    else if (field.type === "radio") { if (field.name === "called_for") field.checked = field.value === fields.called_for; }
    else if (field.name && !/^(v\.|token$|based_on$|at$|then$|has_transit$)/.test(field.name) && fields[field.name] !== undefined) field.value = fields[field.name];
  });
}

// Hands: what is pressed, typed and left, and what the device says of itself. And the start, once all is there.

$("pad-all").addEventListener("click", () => { forAll = !forAll; show(); });
$("pad-could").addEventListener("click", () => say("could not"));
$("pad-clear").addEventListener("click", () => say(""));
$("pad-undo").addEventListener("click", undo);
$("pad-next").addEventListener("click", () => { if (!nextUntested()) leave(doneButton); });
lines.forEach((line, index) => {
  line.section.querySelector("summary").addEventListener("click", (event) => {
    event.preventDefault();
    const first = line.places.findIndex((place) => isUntested(line, place));
    move(index, Math.max(first, 0));
  });
});
form.addEventListener("input", (event) => { if (event.target.id !== "pad-measure") changed(); });
form.addEventListener("focusout", (event) => { if (event.target.matches("textarea, input:not([type=radio])")) flushSoon(); });
form.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (!isStuck && button && (busy || isDirty)) { event.preventDefault(); leave(button); return; }
  clearTimeout(timer);
  isStuck = true; isDirty = false;
});
document.addEventListener("visibilitychange", () => { if (document.visibilityState === "hidden") keep(); });
window.addEventListener("pagehide", () => { if (isDirty && !busy) keep(); });
window.addEventListener("online", () => { if (isDirty) keep(); });
window.addEventListener("beforeunload", (event) => { 
  if (!isDirty) return;
  const isSafe = canPart();
  keep();
  if (!isSafe) event.preventDefault();
});
// The page that comes next must not be drawn without what was marked here. Where a save has failed, the way is free
// and the browser asks.
const mustWait = () => !isStuck && !hasFailed && (isDirty || busy !== null);
document.addEventListener("click", async (event) => {
  const link = event.target.closest("a[href]");
  if (!link || link.target || link.getAttribute("href").startsWith("#")) return;
  if (event.button || event.ctrlKey || event.metaKey || event.shiftKey || !mustWait()) return;
  event.preventDefault();
  if ((await keep()) && !isDirty) location.href = link.href;
});
document.addEventListener("submit", async (event) => {
  if (event.target === form || event.target.method === "dialog" || !mustWait()) return;
  const button = event.submitter;
  event.preventDefault();
  if ((await keep()) && !isDirty) event.target.requestSubmit(button);
});

const help = $("help");
if (help) {
  $("pad-help").addEventListener("click", () => help.showModal());
  $("help-close").addEventListener("click", () => help.close());
  $("keys-on").checked = keysOn;
  $("keys-on").addEventListener("change", (event) => { keysOn = event.target.checked; remember("keys", keysOn ? null : "off"); });
}

function onKey(event) {
  if (event.ctrlKey && event.key === "z" && !event.target.matches("input, textarea")) { event.preventDefault(); undo(); return; }
  if (event.ctrlKey || event.metaKey || event.altKey || (help && help.open)) return;
  const isTyping = event.target.matches("textarea, input:not([type=radio], [type=checkbox])");
  if (isTyping) { if (event.key === "Escape") event.target.blur(); return; }
  if (!keysOn) return;
  if (press(event)) event.preventDefault();
}

function press(event) {
  const line = lines[at.line], place = line.places[at.place];
  const digit = /^(?:Digit|Numpad)(\d)$/.exec(event.code || "") || /^(\d)$/.exec(event.key);
  if (digit && (event.key === digit[1] || event.shiftKey)) {
    const level = Number(digit[1]);
    if (level < line.ladder.length) say(levelWord(line, level), event.shiftKey);
    else tell("There is no level " + level + " here", "bad");
    return true;
  }
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  const isAll = event.key.length === 1 && event.key !== key;
  if (line.kind === "cut" && CUTS[key]) { say(CUTS[key], isAll); return true; }
  switch (key) {
    case "o": say("could not", isAll); return true;
    case "m": { const input = $("pad-measure"); if (!input) return false; input.dataset.all = isAll || forAll ? "yes" : "no"; input.focus(); input.select(); return true; }
    case "a": forAll = !forAll; show(); return true;
    case "n": nextUntested(); return true;
    case "r": line.section.querySelector("textarea").focus(); return true;
    case "u": undo(); return true;
    case "d": if (isSecond) return false; leave(doneButton); return true;
    case "]": leave(wayTo("next")); return true;
    case "[": leave(wayTo("previous")); return true;
    case "?": if (help) help.showModal(); return true;
    case "Backspace": case "Delete": say("", false); return true;
    case "ArrowRight": if (event.target.matches("input")) return false; move(at.line, (at.place + 1) % line.places.length); return true;
    case "ArrowLeft": if (event.target.matches("input")) return false; move(at.line, (at.place + line.places.length - 1) % line.places.length); return true;
    case "ArrowDown": if (event.target.matches("input")) return false; move((at.line + 1) % lines.length, 0); return true;
    case "ArrowUp": if (event.target.matches("input")) return false; move((at.line + lines.length - 1) % lines.length, 0); return true;
    default: return false;
  }
}

document.addEventListener("keydown", onKey);
document.documentElement.classList.add("script");
$("pad").hidden = false;
resume();
recallSteps();
const first = lines.findIndex((line) => line.places.some((place) => isUntested(line, place)));
at = { line: Math.max(first, 0), place: 0 };
const start = lines[at.line].places.findIndex((place) => isUntested(lines[at.line], place));
at.place = Math.max(start, 0);
countUntested();
show(first > 0);

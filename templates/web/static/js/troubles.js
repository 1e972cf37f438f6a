// Troubles told: another hand, a program started anew, a save that was refused. And leaving the page without loss.

function raise(words, ...buttons) {
  banner.replaceChildren(words, document.createElement("br"), ...buttons);
  banner.hidden = false;
  banner.scrollIntoView({ block: "nearest" });
}

function stop() {
  isStuck = true; isDirty = true;
  tell("Not kept: changed elsewhere", "bad");
  raise("This pair was changed meanwhile, in another window or on another device. What you marked here is still here.",
    make("button main", "Show both", () => form.requestSubmit()));
}

function lockOut() {
  isStuck = true; isDirty = true;
  tell("Not kept: the code is asked for again", "bad");
  const link = document.createElement("a");
  link.className = "button main"; link.href = "/door"; link.target = "_blank"; link.textContent = "Give the code";
  raise("evalkit serve was started anew and asks for its code. What you marked is kept on this device.", link,
    make("button", "Then try again", () => { banner.hidden = true; isStuck = false; keep(); }));
}

function refuse(data) {
  tell("Not kept", "bad");
  raise((data.what || "The pages did not take it.") + " " + (data.mend || "Try again in a while."), make("button", "Try again", () => { banner.hidden = true; keep(); }));
}

const wayTo = (way) => form.querySelector('button[data-way="' + way + '"]');
const doneButton = form.querySelector('button[name="then"][value="' + (isSecond ? "finish" : "done") + '"]');

async function leave(button) {
  if (!button) return;
  if (!(await keep()) || isDirty) return; // the page says why; nothing is lost by staying
  form.requestSubmit(button);
}

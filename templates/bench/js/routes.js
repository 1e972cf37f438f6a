// From the address to the screen, and how the page begins.

/** The address of a pair, of one of its steps, or of a criterion or field in it. */
function pairWay(number, ...steps) {
  return ["#", "pair", number, ...steps].join("/");
}

/** '#/pair/3/received/hair' as {name, number, step, criterion}; a field of the first screen is '#/disinfected/to'. Else the first screen. */
function routeOf(hash) {
  const [name, number, step, criterion, spot] = hash.replace(/^#\//, "").split("/");
  if (name === "check" || name === "sealed") return { name };
  if (name === "disinfected") return { name: "home", criterion: `disinfected-${number}` };
  if (name === "pair" && pairOf(book, Number(number)))
    return { name, number: Number(number), step: STEPS.includes(step) ? step : null, criterion, spot };
  return { name: "home" };
}

/** An address of a pair without a step becomes that of the step that comes next, and stays there while it is filled in. */
function settleStep() {
  if (route.name !== "pair" || route.step) return;
  const pair = pairOf(book, route.number);
  route.step = nextStep(stepStates(book, pair, draft.pairs[route.number])) || "received";
  history.replaceState(null, "", pairWay(route.number, route.step));
  shownHash = location.hash;
}

function screenOf(to) {
  switch (to.name) {
    case "pair":
      return pairScreen(to);
    case "check":
      return checkScreen();
    case "sealed":
      return sealedScreen();
    default:
      return homeScreen();
  }
}

let shownHash = "";

/** Shows the screen of the address. */
function arrive() {
  shownHash = location.hash;
  for (const dialog of document.querySelectorAll("dialog[open]")) dialog.close("");
  const from = route;
  route = routeOf(shownHash);
  settleStep();
  isFromCheck = Boolean(route.name === "pair" || route.criterion) && (isFromCheck || from.name === "check");
  forgetPlace();
  openedMores.clear();
  enterScreen();
  toAskedField();
}

/** Whether the page was left from the list before sealing: then there is a way straight back to it. */
let isFromCheck = false;

/** An address may end with the very field that something is to be put right in. */
function toAskedField() {
  const { step, criterion, spot } = route;
  const field = STAGE_OF_STEP[step] ? spot && (byId("measure") || byId("push")) : criterion && byId(criterion);
  if (!field) return;
  field.focus({ preventScroll: true });
  field.scrollIntoView({ block: "center" });
}

function followLink(event) {
  const anchor = event.target.closest("a[href^='#/']");
  if (!anchor || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
  event.preventDefault();
  go(anchor.getAttribute("href"));
}

async function begin() {
  book = JSON.parse(byId("round-data").textContent);
  await openDraft();
  showSide();
  shownHash = location.hash;
  route = routeOf(shownHash);
  settleStep();
  showScreen();
  performance.mark("bench book ready");
  document.querySelector(".skip").addEventListener("click", (event) => {
    event.preventDefault();
    byId("main").focus();
  });
  document.addEventListener("click", followLink);
  window.addEventListener("hashchange", () => {
    if (location.hash !== shownHash) arrive();
  });
  window.addEventListener("beforeprint", fillPaper);
  window.addEventListener("beforeunload", (event) => {
    if (isUnkept && isDirty) event.preventDefault();
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") lookWhoWrites().catch(() => {});
  });
  window.addEventListener("focus", () => {
    lookWhoWrites().catch(() => {});
  });
}

begin();

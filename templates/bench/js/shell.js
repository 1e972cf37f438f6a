// The frame around every screen: what stands above, below and at the edges, and how a screen is put in it.

let route = null;
/** What the bar's button does on this screen: {label, way} or {label, act}. */
let next = null;

/** Puts the screen of the route into the page; focus and place stay where they were if it is the same screen. */
function refresh() {
  const focused = document.activeElement && document.activeElement.id;
  const main = byId("main");
  const [top, inside, whole] = [window.scrollY, main.scrollTop, byId("app").scrollTop];
  showScreen();
  const again = focused && byId(focused);
  if (again) again.focus({ preventScroll: true });
  window.scrollTo(0, top);
  main.scrollTop = inside;
  byId("app").scrollTop = whole;
}

function showScreen() {
  letGoOfAddresses();
  stopTicking();
  const screen = screenOf(route);
  document.title = `${screen.title} · ${book.key}`;
  showTop(screen);
  byId("screen").className = screen.kind || "";
  byId("screen").replaceChildren(...screen.body.filter(Boolean));
  next = screen.next || null;
  showBar(screen);
  showNotices();
}

/** A new screen begins at its top, and whoever listens hears its title. */
function enterScreen() {
  showScreen();
  window.scrollTo(0, 0);
  byId("main").scrollTop = 0;
  byId("app").scrollTop = 0;
  const title = byId("title");
  if (title) title.focus({ preventScroll: true });
}

/** Goes to another screen at once; the address follows, so that the device's own way back works. */
function go(way) {
  location.hash = way;
  arrive();
}

function showTop({ title, back, note }) {
  clearInterval(headTicking);
  const parts = [
    back
      ? link(el("span", {}, el("span", { "aria-hidden": "true" }, "‹ "), back.label), back.way, {
          class: "back",
          id: "back",
        })
      : el("span", { class: "back" }, ""),
    el("span", { class: "where" }, note || title),
    runningClock(),
    el("span", { id: "kept", class: "kept" }),
  ];
  byId("top").replaceChildren(...parts.filter(Boolean));
  setKept(isElsewhere ? "elsewhere" : isUnkept ? "unkept" : isSaving || isDirty ? "keeping" : "kept");
}

/** A stopwatch that runs is in sight on every screen, and a tap goes there. */
function runningClock() {
  const pair = book.pairs.find(({ number }) => draft.pairs[number].work.running_since !== null);
  if (!pair || isReadOnly()) return null;
  const { work } = draft.pairs[pair.number];
  const words = el("span", {}, clockWords(spentMs(work, Date.now())));
  headTicking = setInterval(() => {
    words.textContent = clockWords(spentMs(work, Date.now()));
  }, 1000);
  const sign = el("span", { "aria-hidden": "true" }, "▶ ");
  const name = el("span", { class: "unseen-words" }, `Stopwatch of pair ${pair.number} runs: `);
  return link(el("span", {}, sign, name, words), pairWay(pair.number, "work", "clock-stop"), {
    class: "running",
    id: "running",
  });
}

let headTicking = 0;

/** Another way on, while the screen stays as it is. */
function renewNext(way, scope) {
  if (next && way.label === next.label) return;
  next = way;
  showBar({ scope });
}

function showBar({ scope = null }) {
  const act =
    next &&
    (next.way
      ? link(next.label, next.way, { class: next.isQuiet ? "next" : "primary next", id: "next" })
      : button(next.label, next.act, { class: "primary next", id: "next" }));
  byId("bar").replaceChildren(
    button("", () => showUntested(scope), {
      id: "untested",
      class: "untested",
      "data-scope": scope === null ? "" : scope,
    }),
    act || "",
  );
  showCounts();
}

/** The number of untested places, always in sight. */
function showCounts() {
  const counter = byId("untested");
  if (!counter) return;
  const scope = counter.dataset.scope;
  const pairs = book.pairs.filter((pair) => !scope || pair.number === Number(scope));
  const n = pairs.reduce((sum, pair) => sum + untestedOf(book, pair, draft.pairs[pair.number]).length, 0);
  counter.replaceChildren(el("b", {}, `${n} untested`), el("span", {}, scope ? " in this pair" : " in all"));
  counter.classList.toggle("none", n === 0);
}

/** What must be known before anything else: nothing kept, open elsewhere, sealed. */
function showNotices() {
  const notices = [];
  if (isElsewhere) notices.push(elsewhereNotice());
  if (isUnkept) notices.push(unkeptNotice());
  if (isFromCheck && !isReadOnly())
    notices.push(
      el("p", { class: "notice" }, link("‹ Back to the list before sealing", "#/check", { id: "back-to-check" })),
    );
  const sealed = sealedNow(draft);
  if (sealed && route && route.name !== "sealed") {
    notices.push(
      el(
        "p",
        { class: "notice" },
        `Sealed as version ${sealed.version}: it can be read, not changed. `,
        link("Packet and seal code", "#/sealed"),
      ),
    );
  }
  byId("notices").replaceChildren(...notices);
}

function elsewhereNotice() {
  return el(
    "div",
    { class: "notice warn", role: "alert" },
    el("p", {}, "This round is open in another window of this device, and goes on there. Here it can only be read."),
    button("Go on here instead", goOnHere, { id: "go-on-here" }),
    " ",
    isDirty && button("Save what stands here as a file", saveDraftFile),
  );
}

function unkeptNotice() {
  return el(
    "div",
    { class: "notice warn", role: "alert" },
    el(
      "p",
      {},
      el("b", {}, "Your work is not kept on this device. "),
      keptFault || "This browser does not keep anything for this page.",
      " Save a draft file before you close the page, and often; or open the bench book in another browser.",
    ),
    button("Save a draft file now", saveDraftFile),
  );
}

/** The line over a screen's first heading, and the heading itself. */
function heading(words, over = "", tag = null) {
  return el(
    "div",
    { class: "head" },
    over && el("p", { class: "over" }, over, tag),
    el("h1", { id: "title", tabindex: "-1" }, words),
  );
}

function caution(...words) {
  return el("p", { class: "caution" }, el("b", {}, "Take care. "), words.join(" "));
}

/** What was opened on this screen: it stays open when the screen is put in anew. */
const openedMores = new Set();

/** Something that can be opened for more. */
function more(summary, ...body) {
  const made = el(
    "details",
    { class: "more", open: openedMores.has(summary) },
    el("summary", {}, summary),
    el("div", {}, ...body),
  );
  made.addEventListener("toggle", () => (made.open ? openedMores.add(summary) : openedMores.delete(summary)));
  return made;
}

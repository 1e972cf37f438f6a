// Keeping: on this device at once, in the book a moment later, one save at a time.

const saved = $("saved"), banner = $("banner");
const shelf = "evalkit " + [form.dataset.who, here].join(" ");
let keysOn = recall("keys") !== "off";
let isOnlyBack = true; // all that changed since the last save took marks back
let timer = 0, busy = null, isDirty = false, isStuck = false, hasFailed = false, nFails = 0;
const DELAY_MS = 800;
const MOST_PARTING_BYTES = 60000; // what a browser still carries away for a page that is gone, and some room

function recall(name) { try { return localStorage.getItem("evalkit " + name); } catch (_) { return null; } }
function remember(name, text) { try { text === null ? localStorage.removeItem("evalkit " + name) : localStorage.setItem("evalkit " + name, text); } catch (_) { /* a browser that keeps nothing */ } }

function tell(words, kind) { saved.textContent = words; saved.className = "saved" + (kind ? " " + kind : ""); }

function written() {
  const found = {};
  new FormData(form).forEach((text, name) => {
    if (typeof text !== "string" || name === "token") return;
    if (name === "transit") (found.transit = found.transit || []).push(text); else found[name] = text;
  });
  return found;
}

function changed(isBack) {
  isDirty = true;
  isOnlyBack = isOnlyBack && isBack === true;
  keepSteps();
  try { localStorage.setItem(shelf, JSON.stringify(written())); } catch (_) { /* full, or not allowed */ }
  countUntested();
  if (isStuck) return;
  tell("Writing…", "waiting");
  clearTimeout(timer);
  timer = setTimeout(keep, DELAY_MS);
}

function flushSoon() { if (isDirty && !isStuck) { clearTimeout(timer); timer = setTimeout(keep, 150); } }

// One at a time: what is under way is waited for, or its answer would make the next one look stale.
async function keep() {
  clearTimeout(timer);
  while (busy) await busy;
  if (isStuck || !isDirty) return !isStuck;
  busy = keepNow();
  try { return await busy; } finally { busy = null; }
}

async function keepNow() {
  const how = isOnlyBack ? "undo" : "";
  isDirty = false; isOnlyBack = true;
  try {
    const answer = await send(here, how);
    nFails = 0; hasFailed = false;
    if (answer.status === 409 && answer.data.kind === "changed") { stop(); return false; }
    if (answer.status === 401) { lockOut(); return false; }
    if (!answer.ok) { isDirty = true; isOnlyBack = false; hasFailed = true; refuse(answer.data); return false; }
    took(answer.data);
    return true;
  } catch (_) {
    isDirty = true; isOnlyBack = isOnlyBack && how === "undo"; nFails += 1; hasFailed = true;
    tell("No connection. Kept on this device; trying again", "bad");
    timer = setTimeout(keep, Math.min(2000 * nFails, 15000));
    return false;
  }
}

function bodyOf(how) {
  const body = new FormData(form);
  body.delete("then");
  if (how) body.set("how", how);
  return body;
}

// Counted upwards: whatever outlives the page must surely fit.
function isSmall(body) {
  const encoder = new TextEncoder();
  let n = 0;
  body.forEach((text, name) => { n += 200 + name.length + encoder.encode(text.replace(/\n/g, "\r\n")).length; });
  return n < MOST_PARTING_BYTES;
}

// Whether what is not kept yet can be kept by a save that outlives the page: a second one would overtake the first.
const canPart = () => !isStuck && !hasFailed && !busy && isSmall(bodyOf(""));

async function send(path, how, again) {
  const body = bodyOf(how);
  const response = await fetch(path, { method: "POST", body, headers: { accept: "application/json" }, credentials: "same-origin", keepalive: isSmall(body) });
  const isJson = (response.headers.get("content-type") || "").includes("json");
  const data = isJson ? await response.json() : {};
  if (response.status === 403 && data.kind === "stale form" && !again && (await freshToken())) return send(path, how, true);
  return { status: response.status, ok: response.ok && isJson, data };
}

// The program was started anew: its pages carry another token now, and what is on the bench stays.
async function freshToken() {
  const response = await fetch(location.pathname, { credentials: "same-origin", headers: { accept: "text/html" } });
  if (!response.ok || response.redirected) return false;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const token = page.querySelector('#pair input[name="token"]');
  if (token) document.querySelectorAll('input[name="token"]').forEach((field) => { field.value = token.value; });
  return Boolean(token);
}

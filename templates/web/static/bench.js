// The bench: one place of one criterion at a time, by thumb or by key. Without it the page is a plain form and works too.
"use strict";
(function () {
  const form = document.getElementById("pair");
  if (!form || !window.fetch || !("closest" in form)) return;

  const $ = (id) => document.getElementById(id);
  const isSecond = form.dataset.second === "yes";
  const here = form.getAttribute("action").split("?")[0];
  const shelf = "evalkit " + [form.dataset.who, here].join(" ");
  const lines = Array.from(form.querySelectorAll("details.line")).map(readLine);
  const CUTS = { c: "clean", k: "catch", f: "fold", p: "push", t: "tear", x: "not cut" };
  const undone = [];
  let at = { line: 0, place: 0 };
  let forAll = false;
  let keysOn = recall("keys") !== "off";

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

  // --- what stands at a place -----------------------------------------------------------------------------------------

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

  function say(words, all) {
    const line = lines[at.line];
    const chosen = all || forAll ? line.places.filter((place) => !isWhole(line, place)) : [line.places[at.place]];
    undone.push(chosen.map((place) => [place, saidAt(place)]));
    if (undone.length > 400) undone.shift();
    chosen.forEach((place) => { put(place, words); guess(line, place, words); });
    const wasAll = all || forAll;
    forAll = false;
    changed();
    if (words === "") show();
    else if (wasAll || !step(at.place)) nextUntested();
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

  // --- the pad --------------------------------------------------------------------------------------------------------

  const BADGE = {
    fails: '<path class="m-fails" fill="#d55e00" stroke="#1d2528" stroke-width=".8" d="M13 2 24 13 13 24 2 13Z"/>',
    part: '<rect class="m-part" fill="#e69f00" stroke="#1d2528" stroke-width=".8" x="4.5" y="4.5" width="17" height="17"/>',
    fit: '<circle class="m-fit" fill="#ffffff" stroke="#0072b2" stroke-width="2.2" cx="13" cy="13" r="8.8"/>',
    new: '<circle class="m-new" fill="#0072b2" cx="13" cy="13" r="9.6"/>',
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
    showSpots(line);
    $("pad-where").replaceChildren(line.name, small(forAll ? " · all places" : line.places.length > 1 ? " · " + place.name : ""));
    $("pad-choices").replaceChildren(...choiceRows(line, place));
    $("pad-all").setAttribute("aria-pressed", String(forAll));
    $("pad-all").disabled = line.places.length < 2;
    $("pad-could").setAttribute("aria-pressed", String(!forAll && saidAt(place) === "could not"));
    $("pad-next").textContent = isSecond || nUntested() ? "Next untested" : "Done: both views";
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

  // --- keeping --------------------------------------------------------------------------------------------------------

  const saved = $("saved"), banner = $("banner");
  let timer = 0, busy = null, isDirty = false, isStuck = false, nFails = 0;

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

  function changed() {
    isDirty = true;
    try { localStorage.setItem(shelf, JSON.stringify(written())); } catch (_) { /* full, or not allowed */ }
    countUntested();
    if (isSecond) { tell("On this device only, until you keep it", "waiting"); return; }
    if (isStuck) return;
    tell("Writing…", "waiting");
    clearTimeout(timer);
    timer = setTimeout(keep, 3000);
  }

  function flushSoon() { if (isDirty && !isSecond && !isStuck) { clearTimeout(timer); timer = setTimeout(keep, 150); } }

  // One at a time: what is under way is waited for, or its answer would make the next one look stale.
  async function keep() {
    clearTimeout(timer);
    while (busy) await busy;
    if (isSecond || isStuck || !isDirty) return !isStuck;
    busy = keepNow();
    try { return await busy; } finally { busy = null; }
  }

  async function keepNow() {
    isDirty = false;
    try {
      const answer = await send(here);
      nFails = 0;
      if (answer.status === 409 && answer.data.kind === "changed") { stop(); return false; }
      if (answer.status === 401) { lockOut(); return false; }
      if (!answer.ok) { isDirty = true; refuse(answer.data); return false; }
      took(answer.data);
      return true;
    } catch (_) {
      isDirty = true; nFails += 1;
      tell("No connection. Kept on this device; trying again", "bad");
      timer = setTimeout(keep, Math.min(2000 * nFails, 15000));
      return false;
    }
  }

  async function send(path, again) {
    const body = new FormData(form);
    body.delete("then");
    const response = await fetch(path, { method: "POST", body, headers: { accept: "application/json" }, credentials: "same-origin" });
    const isJson = (response.headers.get("content-type") || "").includes("json");
    const data = isJson ? await response.json() : {};
    if (response.status === 403 && data.kind === "stale form" && !again && (await freshToken())) return send(path, true);
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

  function took(data) {
    document.querySelectorAll('input[name="based_on"]').forEach((field) => { field.value = data.state; });
    const names = Object.keys(data.faults);
    if (!isDirty) {
      if (!names.length) { try { localStorage.removeItem(shelf); } catch (_) { /* nothing was kept */ } }
      const now = new Date();
      tell(names.length ? "Kept, but for " + names.length + " that cannot be read" : "Kept " + now.toTimeString().slice(0, 5), names.length ? "bad" : "");
    }
    lines.forEach((line) => paint(line, data.lines[line.key], data.faults));
    $("untested").textContent = data.untested;
    $("untested").classList.toggle("none", data.n_untested === 0);
    const others = names.filter((name) => !name.startsWith("v."));
    if (others.length) raise(others.map((name) => data.labels[name] + ": " + data.faults[name]).join(" "));
    offer(data.causes);
    const tab = document.querySelector(".tabs a[aria-current] svg");
    if (tab) tab.replaceWith(badge(data.tab, ""));
    showSpots(lines[at.line]);
  }

  function paint(line, told, faults) {
    if (!told) return;
    line.level.replaceChildren(badge(told.shape, ""), bold(told.level));
    line.places.forEach((place) => {
      const one = told.places[place.slug], fault = faults["v." + line.key + "." + place.slug] || "";
      place.fault.textContent = fault;
      if (place.chip && one && !isDirty) {
        place.chip.textContent = fault ? "!" : one.sign;
        place.chip.className = "chip " + (one.said === "" ? "unseen-yet" : one.shape + " said");
      }
    });
    const wrong = line.places.find((place) => place.fault.textContent);
    line.section.querySelectorAll(".pad-fault").forEach((tag) => tag.remove());
    if (wrong) {
      const tag = document.createElement("p");
      tag.className = "fault pad-fault";
      tag.textContent = wrong.name + ", “" + wrong.words.value + "”: " + wrong.fault.textContent;
      line.section.querySelector(".line-body").prepend(tag);
    }
  }

  function bold(words) { const tag = document.createElement("b"); tag.textContent = words; return tag; }

  function offer(causes) {
    const list = $("cause-list");
    if (!list) return;
    list.closest("section").hidden = causes.length === 0;
    list.replaceChildren(...causes.map((one) => {
      const item = document.createElement("li"), head = document.createElement("strong"), tail = document.createElement("span");
      head.textContent = one.observed;
      tail.className = "remark";
      tail.textContent = "(" + one.weight + ")";
      item.append(head, ": " + one.causes + ". “" + one.say + "” ", tail);
      return item;
    }));
  }

  function countUntested() {
    const names = [];
    let n = 0;
    lines.forEach((line) => {
      const left = line.places.filter((place) => isUntested(line, place));
      const all = line.places.filter((place) => !isWhole(line, place));
      n += left.length;
      if (left.length) names.push(line.name + (left.length === all.length ? "" : " (" + left.map((place) => place.name).join(", ") + ")"));
    });
    const nCould = lines.filter((line) => line.places.some((place) => /^could not\s*(\(|$)/i.test(saidAt(place)))).length;
    $("untested").textContent = n ? "Untested, so not passed: " + n + (n === 1 ? " reading. " : " readings. ") + names.join("; ") + "." 
      : nCould ? "Nothing is left to test. Could not be tested, so not passed: " + nCould + (nCould === 1 ? " criterion." : " criteria.") : "Everything is tested.";
    $("untested").classList.toggle("none", n === 0);
  }

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

  async function leave(then) {
    if (isSecond) return;
    if (!(await keep()) || isDirty) return; // the page says why; nothing is lost by staying
    const of = (word) => form.querySelector('button[name="then"][value="' + word + '"]');
    const button = of(then) || (then === "next" ? of("round") : null); // after the last pair comes the round
    if (button) form.requestSubmit(button);
  }

  // --- what a crash or a cut left on this device ----------------------------------------------------------------------

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

  // --- undo -----------------------------------------------------------------------------------------------------------

  async function undo() {
    const last = undone.pop();
    if (last) {
      last.forEach(([place, words]) => {
        const line = lines.find((one) => one.places.includes(place));
        put(place, words); guess(line, place, words);
        at = { line: lines.indexOf(line), place: line.places.indexOf(place) };
      });
      changed(); show(true);
      return;
    }
    if (isSecond) return;
    await keep();
    const answer = await send(here + "/undo").catch(() => null);
    if (!answer || !answer.ok) { tell("Nothing to undo", ""); return; }
    const fields = answer.data.fields;
    lines.forEach((line) => line.places.forEach((place) => put(place, fields["v." + line.key + "." + place.slug] || "")));
    Array.from(form.elements).forEach((field) => {
      if (field.type === "checkbox") field.checked = (fields.transit || "").split(" ").includes(field.value);
      else if (field.type === "radio") { if (field.name === "called_for") field.checked = field.value === fields.called_for; }
      else if (field.name && !/^(v\.|token$|based_on$|at$|then$|has_transit$)/.test(field.name) && fields[field.name] !== undefined) field.value = fields[field.name];
    });
    took(answer.data);
    show();
  }

  // --- hands ----------------------------------------------------------------------------------------------------------

  $("pad-all").addEventListener("click", () => { forAll = !forAll; show(); });
  $("pad-could").addEventListener("click", () => say("could not"));
  $("pad-clear").addEventListener("click", () => say(""));
  $("pad-undo").addEventListener("click", undo);
  $("pad-next").addEventListener("click", () => { if (!nextUntested() && !isSecond) leave("done"); });
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
    if (!isSecond && !isStuck && button && (busy || isDirty)) { event.preventDefault(); leave(button.value); return; }
    clearTimeout(timer);
    if (!isSecond) { isStuck = true; isDirty = false; }
  });
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "hidden") keep(); });
  window.addEventListener("online", () => { if (isDirty) keep(); });
  window.addEventListener("beforeunload", (event) => { if (isDirty && !isSecond) { keep(); event.preventDefault(); } });
  document.querySelectorAll(".tabs a").forEach((link) => link.addEventListener("click", async (event) => {
    if (isSecond || event.ctrlKey || event.metaKey || event.shiftKey || !isDirty) return;
    event.preventDefault();
    await keep();
    if (!isStuck && !isDirty) location.href = link.href;
  }));
  const photoForm = $("photo-form");
  if (photoForm) photoForm.addEventListener("submit", (event) => {
    if (!isDirty) return;
    event.preventDefault();
    keep().then((isKept) => { if (isKept) photoForm.submit(); });
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
      case "d": leave("done"); return true;
      case "]": leave("next"); return true;
      case "[": leave("previous"); return true;
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
  const first = lines.findIndex((line) => line.places.some((place) => isUntested(line, place)));
  at = { line: Math.max(first, 0), place: 0 };
  const start = lines[at.line].places.findIndex((place) => isUntested(lines[at.line], place));
  at.place = Math.max(start, 0);
  countUntested();
  show(first > 0);
})();

// What can be said of one place: a cut, a measured value, a level by eye, or why nothing was seen.

function inputsOf(at) {
  const { row } = at;
  const isByEye = row.kind !== "judged";
  return [
    row.kind === "cut" && cutInputs(at),
    row.kind === "measured" && measureInputs(at),
    levelInputs(at, isByEye),
    unseenInputs(at),
    remarkPart(at),
  ];
}

function pressed(id, label, isOn, act, attributes = {}) {
  return button(label, act, { id, "aria-pressed": isOn ? "true" : "false", disabled: isReadOnly(), ...attributes });
}

// --- a level ---------------------------------------------------------------------------------------------------------

function levelInputs(at, isByEye) {
  const kept = keptReading(at);
  const buttons = at.row.levels.map((words, level) => {
    const isOn = kept.way === "level" && kept.level === level;
    const label = el(
      "span",
      { class: "level-in" },
      mark(shapeOf(level, book.rubric), String(level)),
      el("span", {}, words),
    );
    return pressed(`level-${level}`, label, isOn, () => keepReading(at, { way: "level", level }, true), {
      class: "level",
      "aria-label": `Level ${level}: ${words}`,
    });
  });
  return el(
    "div",
    { class: "levels", role: "group", "aria-label": isByEye ? "Or a level by eye" : "Level" },
    el(
      "h3",
      {},
      isByEye ? "Or a level by eye" : "Level",
      el("span", { class: "keys" }, ` keys 0 to ${book.rubric.top} on these buttons`),
    ),
    at.row.places.length > 1 &&
      el("p", { class: "hint" }, "The words are for the whole edge: give the level that fits this place."),
    ...buttons,
  );
}

// --- a cut -----------------------------------------------------------------------------------------------------------

function cutInputs(at) {
  const kept = keptReading(at);
  const isCut = kept.way === "cut";
  const medium = isCut ? kept.medium : usualMedium(at);
  const cut = (result) => ({ way: "cut", result, medium, push: isCut && result === "push" ? kept.push || "" : "" });
  const results = book.words.results.map((result) =>
    pressed(
      `cut-${result.replace(" ", "-")}`,
      el("span", {}, result, el("small", { "aria-hidden": "true" }, earnedWords(at.row, result))),
      isCut && kept.result === result,
      () => {
        keepReading(at, cut(result), result !== "push");
        if (result === "push") askForPush(at);
      },
      { class: "cut", "aria-label": result, title: earnedWords(at.row, result) },
    ),
  );
  return el(
    "div",
    { class: "cut-part" },
    at.row.media.length > 1 && mediumInput(at, medium),
    el("div", { class: "cuts", role: "group", "aria-label": `What ${medium} did` }, ...results),
    isCut && kept.result === "push" && pushInput(at),
  );
}

/** What a result earns: a push by its millimetres, where the rubric says so. */
function earnedWords(row, result) {
  const level = row.cuts[result];
  const best = result === "push" && row.push_mm.length ? Math.max(...row.push_mm.map(([one]) => one)) : level;
  return best > level ? `level ${level}, by mm to ${best}` : `level ${level}`;
}

let mediumChosen = { of: "", medium: "" };

const testOf = ({ pair, stage, row }) => [pair.number, stage, row.key].join(" ");

/** The medium of this very test: chosen here, or kept at another place of it; the next test begins as the rubric says. */
function usualMedium(at) {
  if (mediumChosen.of === testOf(at)) return mediumChosen.medium;
  const keptHere = at.row.places.map((place) => keptReading({ ...at, place })).find((one) => one.way === "cut");
  return keptHere ? keptHere.medium : at.row.media[0];
}

function mediumInput(at, medium) {
  const kept = keptReading(at);
  return selectField({
    id: "medium",
    label: "Cut in",
    options: at.row.media.map((one) => [one, one]),
    read: () => medium,
    write: (value) => {
      mediumChosen = { of: testOf(at), medium: value };
      if (kept.way === "cut") kept.medium = value;
    },
  });
}

/** The page stays at this place for the millimetres: their field is in sight, and whoever listens hears why. */
function askForPush(at) {
  announce(`${at.place.words}: push, kept. Say how many millimetres, or press Next.`);
  byId("push").closest(".field").scrollIntoView({ block: "nearest" });
}

function pushInput(at) {
  return readingField(
    at,
    "push",
    "How far it was pushed (mm)",
    "If you can say it; then Next. A push without its millimetres cannot be called small.",
  );
}

/** A typed part of a reading, kept as it is typed. */
function readingField(at, part, label, hint = "", attributes = {}) {
  const field = textField({
    id: part === "text" ? "measure" : part,
    label,
    hint,
    fault: () => (part === "doubt" || part === "start" ? "" : typedFault(at)),
    read: () => keptReading(at)[part] || "",
    write: (text) => {
      const { kept, stage, row, place } = at;
      const before = keptReading(at);
      const now = partReading(at, { [part]: text });
      if (part === "text" && now.way === "measure" && !text.trim()) delete now.way;
      kept.readings[readingKey(stage, row, place)] = now;
      followTyping(at, before, now);
      showResult(at);
    },
    attributes: { ...TYPED_NUMBER, ...attributes },
  });
  return field;
}

function typedFault(at) {
  return seenOf(keptReading(at), at.row, at.pair).fault;
}

/** Keeps the rest of the screen true while a number is typed, without taking the field away. */
function showResult(at) {
  const place = document.querySelector("#place .result");
  if (place) place.textContent = resultWords(at);
  const spot = byId(spotId(at.place));
  if (spot) {
    const { shape, sign, words } = lookOf(at.row, at.place, keptReading(at), at.pair);
    spot.replaceChildren(mark(shape, sign));
    spot.setAttribute("aria-label", `${at.place.words}: ${words}`);
  }
  const { way, level } = keptReading(at);
  document.querySelectorAll(".level").forEach((one, at) => {
    one.setAttribute("aria-pressed", way === "level" && level === at ? "true" : "false");
  });
  fillJustNow(at, byId("just"));
  fillRemark(at, byId("remark-part"));
  renewNext(afterPlace(at), at.pair.number);
}

// --- nothing seen ---------------------------------------------------------------------------------------------------

let lastUnseen = { where: "", why: "" };

function unseenInputs(at) {
  const { row } = at;
  const kept = keptReading(at);
  const isAsked = row.is_must_pass || row.why; // the rubric says how it stands for this edge type: it applies
  const reasons = book.words.unseen.filter((why) => why !== "not applicable" || !isAsked || kept.why === why);
  const buttons = reasons.map((why) =>
    pressed(
      `unseen-${why.replace(" ", "-")}`,
      why,
      kept.way === "unseen" && kept.why === why,
      () => {
        lastUnseen = { where: chosenFor, why };
        keepReading(at, { way: "unseen", why }, why !== "could not");
        if (why === "could not") openRemark();
      },
      { class: "unseen" },
    ),
  );
  return el(
    "div",
    { class: "unseens" },
    el("h3", {}, "No reading here?"),
    el("div", { class: "unseen-row", role: "group", "aria-label": "No reading, because" }, ...buttons),
    sameForAll(at),
  );
}

/** Once a reason was given at one place, it can be given for the places that are left: said, never assumed. */
function sameForAll(at) {
  const left = openPlaces(at.pair, at.kept, at.stage, at.row);
  if (lastUnseen.where !== chosenFor || !left.length) return null;
  const { why } = lastUnseen;
  return pressed(
    "unseen-all",
    `“${why}” for the ${left.length} left of this test, too`,
    false,
    () => {
      for (const place of left)
        at.kept.readings[readingKey(at.stage, at.row, place)] = { note: "", way: "unseen", why };
      changed();
      offerNext(at);
    },
    { class: "wide" },
  );
}

// One criterion at one stage: where it is read, what was seen there, and on to the next place.

let chosenPlace = null;
let chosenFor = "";

/** A screen that is come to anew begins at its first open place. */
function forgetPlace() {
  chosenFor = "";
  cameFrom = null;
  lastUnseen = { where: "", why: "" };
}

function readingScreen(pair, kept, step, row, spot) {
  const stage = STAGE_OF_STEP[step];
  choosePlace(pair, kept, step, row, spot);
  const at = { pair, kept, step, stage, row, place: chosenPlace };
  const rows = rowsOf(book, pair);
  const panel = el(
    "section",
    {
      class: "reading",
      id: "reading",
      "data-criterion": row.key,
      "data-place": chosenPlace.words,
      "data-stage": stage,
      onkeydown: (event) => onReadingKey(event, at),
      onclick: (event) => event.detail && event.target.closest(ON_VALUES) && settle(),
    },
    heading(row.name, `Pair ${pair.number}, ${stage}: ${rows.indexOf(row) + 1} of ${rows.length}`, rankTag(row)),
    typeWords(pair, row),
    el(
      "div",
      { class: "sides" },
      el(
        "div",
        { class: "seen-where" },
        howTo(row),
        drawnPlaces(at),
        el("div", { class: "now-at" }, placeHeading(at), justNow(at)),
      ),
      el("div", { class: "seen-what" }, ...inputsOf(at)),
    ),
  );
  return {
    title: row.name,
    kind: "on-reading",
    back: { label: STEP_NAMES[step], way: pairWay(pair.number, step) },
    note: `Pair ${pair.number}`,
    body: [panel],
    next: afterPlace(at),
  };
}

function drawnPlaces({ pair, kept, stage, row }) {
  if (!hasDrawing(row)) return null;
  return drawing({
    row,
    chosen: chosenPlace,
    look: (place) => lookOf(row, place, kept.readings[readingKey(stage, row, place)], pair),
    onTap: (place) => {
      choose(place);
      cameFrom = null;
      refresh();
    },
  });
}

/** The place's name and what stands there; it is seen to come when the page has gone on by itself. */
function placeHeading(at) {
  return el(
    "h2",
    { class: cameFrom ? "place arrived" : "place", id: "place" },
    placeTitle(at.row, at.place),
    el("span", { class: "result" }, resultWords(at)),
  );
}

/** On coming to a criterion: the place that was asked for, or its first place of which nothing was said. */
function choosePlace(pair, kept, step, row, spot) {
  const here = `${pair.number} ${step} ${row.key}`;
  if (chosenFor === here && row.places.includes(chosenPlace)) return;
  chosenFor = here;
  const asked = row.places.find((place) => spot && spotId(place) === `spot-${spot}`);
  chosenPlace = asked || openPlaces(pair, kept, STAGE_OF_STEP[step], row)[0] || row.places[0];
}

/** Another place: what was opened at the one before is not open there. */
function choose(place) {
  if (place !== chosenPlace) openedMores.clear();
  chosenPlace = place;
}

function openPlaces(pair, kept, stage, row) {
  return row.places.filter((place) => unseenWhy(kept.readings[readingKey(stage, row, place)], row, pair) === "open");
}

/** What is different for this edge type, said before anything is read: the criterion's name is for all of them. */
function typeWords(pair, row) {
  const words = [row.why, !row.counts && "It is never in the sum."].filter(Boolean).join(" ");
  if (!words) return null;
  return el("p", { class: "hint for-type", id: "for-type" }, row.why && el("b", {}, `${edgeWords(pair)}: `), words);
}

/** 'Bevel', 'Micro-serrated'. */
function edgeWords({ edge_type }) {
  return edge_type[0].toUpperCase() + edge_type.slice(1);
}

function howTo(row) {
  const text = fromTemplate(`ask-${row.key}`);
  const bands = row.bands.map((band) => el("li", {}, `${band.words}: level ${band.level}`));
  const pushes = row.push_mm.map(([level, most]) => el("li", {}, `a push up to ${most} mm: level ${level}`));
  return more(
    "How to test",
    el(
      "div",
      { class: "ask" },
      text || "",
      bands.length + pushes.length ? el("ul", {}, ...bands, ...pushes) : null,
    ),
  );
}

function placeTitle(row, place) {
  const blade = place.blade && `${place.blade[0].toUpperCase()}${place.blade.slice(1)} blade`;
  if (blade) return place.station ? `${blade}, ${place.station}` : `${blade}, whole edge`;
  return place.station ? `At the ${place.station}` : "The whole pair";
}

function keptReading({ kept, stage, row, place }) {
  return kept.readings[readingKey(stage, row, place)] || {};
}

/** What stands here so far, in words: beside the place's name. */
function resultWords(at) {
  const { shape, words } = lookOf(at.row, at.place, keptReading(at), at.pair);
  if (shape === "unseen") return words;
  return ["not tested", "could not"].includes(words) ? `kept: ${words}; still untested` : `kept: ${words}`;
}

/** Writes a reading down; `isWhole` says that nothing more is to be typed, so that the next place is offered. */
function keepReading(at, reading, isWhole) {
  const { kept, stage, row, place } = at;
  const now = { note: keptReading(at).note || "", ...reading };
  rememberLost(at, now);
  kept.readings[readingKey(stage, row, place)] = now;
  changed();
  if (isWhole) offerNext(at);
  else refresh();
}

function takeBack(at) {
  rememberLost(at, undefined);
  delete at.kept.readings[readingKey(at.stage, at.row, at.place)];
  changed();
  announce(`${at.place.words}: taken back.`);
  refresh();
}

/** After a tap: the next place of this criterion of which nothing was said; after the last one, the way on. */
function offerNext(at) {
  const said = lookOf(at.row, at.place, keptReading(at), at.pair).words;
  const { places } = at.row;
  const open = openPlaces(at.pair, at.kept, at.stage, at.row);
  const from = places.indexOf(at.place);
  const following = places.slice(from + 1).find((place) => open.includes(place)) || open[0];
  if (following) {
    choose(following);
    cameFrom = at.place;
  }
  announce(
    `${at.place.words}: ${said}, kept. ${following ? `Now ${following.words}.` : `${at.row.name} is complete.`}`,
  );
  refresh();
  if (!following) byId("next").focus({ preventScroll: true });
}

/** What the bar's button leads to: another place here, the next criterion with something open, or on. */
function afterPlace(at) {
  const { pair, kept, step, stage, row, place } = at;
  const open = openPlaces(pair, kept, stage, row).filter((one) => one !== place);
  const isRead = unseenWhy(keptReading(at), row, pair) !== "open";
  if (isRead && open.length) {
    const following = row.places.slice(row.places.indexOf(place) + 1).find((one) => open.includes(one)) || open[0];
    return {
      label: `Next: ${following.words}`,
      act: () => {
        choose(following);
        cameFrom = place;
        refresh();
        focusReading();
      },
    };
  }
  const rows = rowsOf(book, pair);
  const turned = [...rows.slice(rows.indexOf(row) + 1), ...rows.slice(0, rows.indexOf(row))];
  const following = turned.find((one) => openPlaces(pair, kept, stage, one).length);
  if (following)
    return {
      label: `${isRead ? "Next" : "Skip to"}: ${following.name}`,
      isQuiet: !isRead,
      way: readingWay(pair, step, following),
    };
  if (!isRead) return { label: "Back to the list", isQuiet: true, way: pairWay(pair.number, step) };
  return afterStep(pair, kept, step);
}

/** The field to type in where there is one, else the drawing's place or the first level: there number keys work. */
function focusReading() {
  const place = byId("measure") || byId(spotId(chosenPlace)) || byId("level-0") || byId("title");
  if (place) place.focus();
}

/** Number keys give a level on the levels themselves, and on the drawing's place where no number is asked for. */
function takesLevelKeys(target) {
  return Boolean(target.closest(".levels") || (target.closest(".spot") && !byId("measure")));
}

/** Number keys give the level where they are told to; where a number is asked for they go into its field. Enter goes on. */
function onReadingKey(event, at) {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const isTyping = /^(INPUT|TEXTAREA|SELECT)$/.test(event.target.tagName);
  if (event.key === "Enter" && !/^(TEXTAREA|BUTTON|A|SUMMARY|SELECT)$/.test(event.target.tagName)) {
    event.preventDefault();
    byId("next").click();
  } else if (!isTyping && !isReadOnly() && /^[0-9]$/.test(event.key)) {
    onDigit(event, at);
  }
}

function onDigit(event, at) {
  const measure = byId("measure");
  if (takesLevelKeys(event.target)) {
    event.preventDefault();
    if (Number(event.key) <= book.rubric.top) keepReading(at, { way: "level", level: Number(event.key) }, true);
  } else if (measure && !measure.value) {
    measure.focus();
  }
}

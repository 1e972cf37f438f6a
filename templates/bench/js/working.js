// The work on one pair: measured before, what was done, how long, measured after.

let ticking = 0;

function workScreen(pair, kept) {
  const { work } = kept;
  const isLeft = kept.decision === "leave";
  return {
    body: [
      heading("Work", `Pair ${pair.number}: ${pair.words}`),
      isLeft ? el("p", {}, "You left this pair as it came: nothing is asked here.") : null,
      caution(
        "Eyes, lungs and guards at powered abrasives; dust wet or extracted; cool often. Work with the blades apart.",
      ),
      measuredPart(work, false),
      el("section", { class: "panel" }, el("h2", {}, "Time"), stopwatch(kept)),
      stepsPart(work),
      anglePart(work),
      partsPart(work),
      measuredPart(work, true),
    ],
    next: afterWork(pair, kept),
  };
}

/** On from the work: what is wrong in it, and a stopwatch that runs, are told before. */
function afterWork(pair, kept) {
  const { label, way } = afterStep(pair, kept, "work");
  const act = async () => {
    const faults = isReadOnly() ? [] : workFaults(kept.work, book.words.stations);
    const isRunning = kept.work.running_since !== null && !isReadOnly();
    if (!faults.length && !isRunning) {
      go(way);
      return;
    }
    const lines = faults.map(({ name, fault }) => `${name[0].toUpperCase()}${name.slice(1)}: ${fault}`);
    if (isRunning) lines.push("The stopwatch still runs, and goes on counting while you test.");
    const answers = [
      isRunning && ["stop", "Stop it and go on", faults.length ? "" : "primary"],
      faults.length && ["mend", "Mend it now", "primary"],
      ["go", "Go on all the same"],
    ].filter(Boolean);
    const answer = await ask({ title: "Before you go on", body: lines.map((line) => el("p", {}, line)), answers });
    if (answer === "stop") {
      haltClock(kept.work, Date.now());
      changed();
    }
    if (answer === "mend") go(pairWay(pair.number, "work", faults[0].field));
    else if (answer) go(way);
  };
  return { label, act };
}

/** Widths per station and length from tip to pivot, before or after; the after says what is gone. */
function measuredPart(work, isAfter) {
  const when = isAfter ? "after" : "before";
  const widths = book.words.stations.map((station) => {
    const gone = el("p", { class: "hint", id: `gone-${station}` });
    const side = isAfter ? work.width_after : work.width_before;
    const show = () => {
      gone.textContent = isAfter ? goneWords(work, station) : "";
    };
    const field = lengthField({
      id: `width-${when}-${station}`,
      label: station,
      name: `Blade width ${when}, ${station}`,
      read: () => side[station] || null,
      write: (length) => {
        side[station] = length;
      },
      fault: () => widthFault(work, station, isAfter),
      after: show,
    });
    show();
    field.append(gone);
    return field;
  });
  const key = isAfter ? "length_after" : "length_before";
  return el(
    "section",
    { class: "panel" },
    el("h2", {}, isAfter ? "After the work: measure again" : "Before the work: measure"),
    el(
      "p",
      { class: "hint" },
      isAfter
        ? "Same blade, same stations, same spots, same calliper."
        : "The width of one blade with the calliper at each station, or the length from tip to pivot: one of the two is enough. It cannot be measured any more once metal is gone.",
    ),
    isAfter || isReadOnly() ? null : unitChoice(),
    el("h3", {}, `Blade width (${lengthUnit()})`),
    el("div", { class: "trio" }, ...widths),
    lengthField({
      id: `length-${when}`,
      label: `Length ${when}, tip to pivot centre`,
      read: () => work[key],
      write: (length) => {
        work[key] = length;
      },
      fault: () => lengthFault(work[key], MOST_LENGTH_MM, "A blade length", isAfter ? work.length_before : null),
    }),
  );
}

function goneWords(work, station) {
  const [before, after] = [lengthMm(work.width_before[station]), lengthMm(work.width_after[station])];
  if (before === null || after === null || Number.isNaN(before) || Number.isNaN(after) || after > before) return "";
  const gone = before - after;
  return lengthUnit() === "in" ? `${numberWords(gone / MM_PER_INCH, 4)} in gone` : `${numberWords(gone, 2)} mm gone`;
}

// --- the stopwatch ---------------------------------------------------------------------------------------------------

function stopwatch(kept) {
  const { work } = kept;
  const isRunning = work.running_since !== null;
  const clock = el(
    "span",
    { class: "clock", id: "clock", role: "timer", "aria-label": "Time spent" },
    clockWords(spentMs(work, Date.now())),
  );
  const long = el(
    "p",
    { class: "hint", id: "clock-hint" },
    isRunning ? runningWords(work) : "It goes on while the page is closed.",
  );
  if (isRunning && !isReadOnly())
    ticking = setInterval(() => {
      clock.textContent = clockWords(spentMs(work, Date.now()));
    }, 1000);
  return el(
    "div",
    {},
    el(
      "div",
      { class: "stopwatch" },
      clock,
      isRunning
        ? button("Stop", () => stopClock(work), { id: "clock-stop", class: "primary", disabled: isReadOnly() })
        : button(work.spent_ms ? "Go on" : "Start", () => startClock(work), {
            id: "clock-start",
            disabled: isReadOnly(),
          }),
    ),
    long,
    textField({
      id: "minutes",
      label: "Minutes at this pair",
      read: () => work.minutes,
      fault: () => minutesFault(work.minutes),
      hint: "From the stopwatch when you stop it, or as you write it here.",
      attributes: { inputmode: "numeric", enterkeyhint: "done" },
      write: (text) => {
        work.minutes = text;
        if (!minutesFault(text)) work.spent_ms = Number(text || 0) * 60000;
      },
    }),
  );
}

function startClock(work) {
  work.running_since = Date.now();
  changed();
  refresh();
  byId("clock-stop").focus();
}

/** Stops it and writes the whole minutes down. */
function stopClock(work) {
  haltClock(work, Date.now());
  changed();
  refresh();
  byId("clock-start").focus();
}

function haltClock(work, now) {
  if (work.running_since === null) return;
  work.spent_ms = spentMs(work, now);
  work.running_since = null;
  work.minutes = String(Math.min(minutesOf(work.spent_ms), MOST_MINUTES));
}

function stopTicking() {
  clearInterval(ticking);
}

function clockWords(ms) {
  const seconds = Math.floor(ms / 1000);
  const two = (number) => String(number).padStart(2, "0");
  return `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
}

function runningWords(work) {
  const hours = (Date.now() - work.running_since) / 3600000;
  const since = `Running since ${momentWords(new Date(work.running_since).toISOString())}.`;
  return hours > 3 ? `${since} If you forgot to stop it, stop it and put the minutes right.` : since;
}

// Looking over the round and sealing it.

function checkScreen() {
  const faults = faultsOf(book, draft);
  const gaps = gapsOf(book, draft);
  const isSealed = Boolean(sealedNow(draft));
  const line = ({ name = "", words, way }) =>
    el("li", {}, link(el("span", {}, name && el("b", {}, `${name}: `), words), way));
  return {
    title: "Look over and seal",
    back: { label: "All pairs", way: "#/" },
    note: `Round ${book.key}`,
    body: [
      heading(
        "Look over and seal",
        draft.version > 1 ? `Version ${draft.version}: ${draft.reason}` : `Round ${book.key}`,
      ),
      faults.length
        ? el(
            "section",
            { class: "panel warn" },
            el("h2", {}, `To be mended first: ${faults.length}`),
            el("ul", { class: "lines plain" }, ...faults.map(line)),
          )
        : null,
      el(
        "section",
        { class: "panel" },
        el("h2", {}, gaps.length ? "Left open" : "Nothing is left open"),
        el(
          "p",
          { class: "hint" },
          gaps.length
            ? "That is allowed. What is untested is never passed, and never a nought: your mentor sees it as untested."
            : "Every place was read, and every pair is decided.",
        ),
        gaps.length ? el("ul", { class: "lines plain" }, ...gaps.map(line)) : null,
      ),
      textField({
        id: "letter",
        label: `Letter to ${book.mentor}`,
        rows: 4,
        most: book.limits.prose,
        hint: "About the round as a whole, if you like.",
        read: () => draft.letter,
        write: (text) => {
          draft.letter = text;
        },
      }),
      isSealed
        ? null
        : el(
            "p",
            {},
            "Sealing closes this version for good: it can be read and sent, not changed. If something must be put right later, a new version is made, with a reason.",
          ),
    ],
    next: isSealed
      ? { label: "Packet and seal code", way: "#/sealed" }
      : faults.length
        ? { label: "Mend first", way: faults[0].way }
        : { label: `Seal version ${draft.version}`, act: () => sealRound(gaps) },
  };
}

async function sealRound(gaps) {
  if (isElsewhere) return;
  const untested = book.pairs.reduce((sum, pair) => sum + untestedOf(book, pair, draft.pairs[pair.number]).length, 0);
  const words = [
    untested
      ? `${amount(untested, "place")} untested: that is allowed, and your mentor sees it as untested.`
      : gaps.length
        ? "Something is left open: that is allowed."
        : "Nothing is left open.",
    "After sealing nothing of this version can be changed.",
  ];
  if (!(await confirmed(`Seal version ${draft.version} now?`, words, "Yes, seal it", "Not yet"))) return;
  await makeSeal(new Date());
}

/** Builds the packet first and marks the draft as sealed only when that has come out well. */
async function makeSeal(now) {
  const busy = busyDialog("The packet is made…");
  try {
    for (const kept of Object.values(draft.pairs)) haltClock(kept.work, now.getTime());
    const sealed = sealedVersion(book, draft, now);
    const packet = await packetOf(book.key, sealed, pictureBytes, busy.tick);
    sealed.code = packet.code;
    draft.sealed.push(sealed);
    await changed();
    madePacket = { version: sealed.version, ...packet };
    busy.close();
    download(packet.blob, packet.name);
    go("#/sealed");
  } catch (error) {
    busy.close();
    await tell("The packet could not be made", [error.message, "Nothing is sealed; all you wrote is still here."]);
    refresh();
  }
}

function busyDialog(title) {
  const words = el("p", { role: "status" }, "One moment.");
  const dialog = el(
    "dialog",
    { class: "sheet", "aria-labelledby": "busy-title" },
    el("h2", { id: "busy-title" }, title),
    words,
  );
  dialog.addEventListener("cancel", (event) => event.preventDefault());
  document.body.append(dialog);
  openAbove(dialog);
  let n = 0;
  return {
    tick: () => {
      n += 1;
      words.textContent = `${n} files packed.`;
    },
    close: () => {
      dialog.close();
      dialog.remove();
    },
  };
}

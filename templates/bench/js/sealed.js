// After sealing: the code to read out, the packet to send, the way to a new version.

/** The packet made last in this window: {version, blob, name, code}. It can always be made again, byte for byte. */
let madePacket = null;

function sealedScreen() {
  const sealed = sealedNow(draft);
  if (!sealed) return checkScreen();
  const name = `${packetName(book.key, sealed.version)}.zip`;
  const earlier = draft.sealed.filter((one) => one.version < sealed.version);
  return {
    title: "Sealed",
    back: { label: "All pairs", way: "#/" },
    note: `Round ${book.key}`,
    body: [
      heading(`Version ${sealed.version} is sealed`, `On ${momentWords(sealed.sealed_at)}`),
      el(
        "section",
        { class: "panel seal" },
        el("h2", {}, "Seal code"),
        el("p", { class: "code", id: "seal-code", translate: "no" }, sealed.code),
        el(
          "p",
          {},
          `Read it out to ${book.mentor} over the telephone, or write it on the packing list: then both know that the packet is the one you sealed.`,
        ),
      ),
      el(
        "section",
        { class: "panel" },
        el("h2", {}, "Send the packet"),
        el(
          "p",
          {},
          "One file, ",
          el("b", { id: "packet-name" }, name),
          ". It is in your downloads; send it by mail or on a stick, and keep it.",
        ),
        el(
          "div",
          { class: "buttons" },
          button("Download the packet again", () => givePacket(sealed, download), { id: "download-packet" }),
          shareButton(sealed),
        ),
      ),
      el(
        "section",
        { class: "panel" },
        el("h2", {}, "Send the box"),
        el(
          "ul",
          {},
          el(
            "li",
            {},
            "Disinfect, dry, oil. Close each pair, guard the tips, band the rings; one pair per pocket, its number on it, nothing loose. Shake: nothing may move.",
          ),
          el(
            "li",
            {},
            "Strong box, cushioned on all sides, second address inside. No oil, disinfectant or spray in the box.",
          ),
          el("li", {}, "Declare the true value. What may be posted and how is for the carrier and customs to say."),
        ),
      ),
      newVersionPart(sealed),
      earlier.length
        ? more(
            "Earlier versions",
            el(
              "ul",
              {},
              ...earlier.map((one) =>
                el(
                  "li",
                  {},
                  `Version ${one.version}, ${one.code} `,
                  button("Download", () => givePacket(one, download), {
                    class: "small",
                    "aria-label": `Download version ${one.version}`,
                  }),
                ),
              ),
            ),
          )
        : null,
      el(
        "div",
        { class: "buttons" },
        button("Print as a paper form", printPaper, { id: "print" }),
        button("Save a draft file", () =>
          saveDraftFile().catch((error) => tell("The draft cannot be saved", [error.message])),
        ),
      ),
    ],
    next: { label: "All pairs", way: "#/" },
  };
}

/** The sealed version's packet, handed to `give`; made again when this window has not made it. */
async function givePacket(sealed, give) {
  try {
    if (!madePacket || madePacket.version !== sealed.version)
      madePacket = { version: sealed.version, ...(await packetOf(book.key, sealed, pictureBytes)) };
    give(madePacket.blob, madePacket.name);
    announce(`${madePacket.name} handed over.`);
  } catch (error) {
    await tell("The packet could not be made again", [error.message, "The file in your downloads is still good."]);
  }
}

function shareButton(sealed) {
  if (!shareable(new Blob([]), "packet.zip")) return null;
  return button(
    "Share the packet",
    () =>
      givePacket(sealed, (blob, name) =>
        navigator.share({ files: [shareable(blob, name)], title: name }).catch(() => {}),
      ),
    { id: "share-packet" },
  );
}

function newVersionPart(sealed) {
  let reason = "";
  const make = () => {
    if (!isSaid(reason)) {
      showFault(byId("new-reason"), byId("new-reason-fault"), "A new version needs its reason.");
      byId("new-reason").focus();
      return;
    }
    draft.version = Math.max(...draft.sealed.map((one) => one.version)) + 1;
    draft.reason = reason.trim();
    madePacket = null;
    changed();
    go("#/");
  };
  const field = el("textarea", {
    id: "new-reason",
    rows: 2,
    maxlength: book.limits.note,
    disabled: isElsewhere,
    "aria-describedby": "new-reason-fault",
    oninput: (event) => {
      reason = event.target.value;
    },
  });
  return more(
    "Something must be put right?",
    el(
      "p",
      {},
      `Version ${sealed.version} stays as it is. A new version begins as a copy of it; your mentor keeps both.`,
    ),
    el(
      "div",
      { class: "field" },
      el("label", { for: "new-reason" }, "Reason for a new version"),
      field,
      el("p", { class: "fault", id: "new-reason-fault" }),
    ),
    button("Make a new version", make, { id: "new-version", disabled: isElsewhere }),
  );
}

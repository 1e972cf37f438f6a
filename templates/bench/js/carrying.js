// Files out and in: a packet or a draft to download or share, a draft from another device to take up.

/** Hands a file to the browser's downloads. */
function download(blob, name) {
  const address = URL.createObjectURL(blob);
  const anchor = el("a", { href: address, download: name, hidden: true });
  document.body.append(anchor);
  anchor.click();
  anchor.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}

/** The file to share, where this device can share files of its kind; else null. */
function shareable(blob, name) {
  if (!navigator.canShare || typeof File !== "function") return null;
  const file = new File([blob], name, { type: "application/zip" });
  try {
    return navigator.canShare({ files: [file] }) ? file : null;
  } catch {
    return null;
  }
}

/** Every picture that the draft or one of its sealed versions needs, each once. */
function neededPhotos(of) {
  const found = new Map();
  for (const photo of [...photosOf(of), ...of.sealed.flatMap((one) => one.photos)]) found.set(photo.sha256, photo);
  return [...found.values()];
}

/** The bytes of a kept picture, checked against its name. */
async function pictureBytes({ sha256 }) {
  const found = await findPhoto(sha256);
  const bytes = found ? new Uint8Array(found.bytes) : null;
  if (!bytes || (await sha256Hex(bytes)) !== sha256)
    throw new Error("A photo is damaged on this device. Look through the photos, take it away and add it again.");
  return bytes;
}

/** The draft as a file for another device: draft.json and the pictures. */
async function draftFile() {
  const files = [{ name: "draft.json", bytes: async () => utf8(`${JSON.stringify(draft)}\n`) }];
  for (const photo of neededPhotos(draft))
    files.push({ name: `photos/${photo.sha256}.jpg`, bytes: () => pictureBytes(photo) });
  return { blob: await zipOf(files), name: `${book.key}-draft-${draft.revision}.zip` };
}

async function saveDraftFile() {
  if (!draft.trail.includes(stateOf(draft))) draft.trail.push(stateOf(draft));
  await keepAsItIs();
  const { blob, name } = await draftFile();
  download(blob, name);
  announce(`Draft file ${name} handed to your downloads.`);
}

/** What a draft file holds: {draft, photos}. Raises an Error that says what is wrong with it. */
async function readDraftFile(file) {
  const names = (entry) => entry.name === "draft.json" || /^photos\/[0-9a-f]{64}\.jpg$/.test(entry.name);
  let files;
  try {
    files = fflate.unzipSync(new Uint8Array(await file.arrayBuffer()), { filter: names });
  } catch {
    throw new Error("This is no draft file, or it is damaged. A draft file ends in .zip and was saved by this page.");
  }
  if (!files["draft.json"])
    throw new Error("This file holds no draft. A packet that is sealed cannot be taken up again.");
  const found = checkedDraft(parsedDraft(fflate.strFromU8(files["draft.json"])));
  const photos = [];
  for (const { sha256 } of neededPhotos(found)) {
    const bytes = files[`photos/${sha256}.jpg`];
    if (!bytes || (await sha256Hex(bytes)) !== sha256)
      throw new Error("A photo in this draft file is missing or damaged. Save the draft again on the other device.");
    photos.push({ sha256, bytes: bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength) });
  }
  return { draft: found, photos };
}

function parsedDraft(text) {
  try {
    return JSON.parse(text);
  } catch {
    throw new Error("The draft in this file is damaged. Save it again on the other device.");
  }
}

function checkedDraft(found) {
  if (!found || found.kind !== "draft" || found.format !== DRAFT_FORMAT)
    throw new Error("This file is no draft that this page can read.");
  if (found.round_key !== book.key)
    throw new Error(`This draft is of round ${found.round_key}, and this is the bench book of ${book.key}.`);
  if (found.rubric_digest !== book.rubric.digest)
    throw new Error("This draft was made by another wording of the rubric. Ask your mentor which bench book to use.");
  if (!isDraftOf(book, found))
    throw new Error("This draft is damaged, or it holds something that this round has no place for.");
  return found;
}

/** Takes up a draft file; asks before it puts it in place of another draft. */
async function takeUpDraft(file) {
  let found;
  try {
    found = await readDraftFile(file);
  } catch (error) {
    await tell("This file cannot be taken up", [error.message, "Nothing was changed."]);
    return;
  }
  if (!isBlank(draft) && !(await isPreferred(found.draft))) return;
  for (const photo of found.photos) await keepPhoto({ ...photo, thumb: null });
  draft = found.draft;
  await keepAsItIs();
  announce("The draft from the file is here now.");
  refresh();
}

const STANDING_WORDS = {
  same: "They are the same.",
  ours: "The one on this device went on from the one in the file.",
  theirs: "The one in the file went on from the one on this device.",
  apart: "Both were changed apart: neither holds all of the other.",
};

/** True when the draft in the file shall take the place of the one on this device. */
async function isPreferred(found) {
  const standing = furtherOn(draft, found);
  const isOlder = standing === "ours";
  const answers = [
    ["yes", isOlder ? "Take the older one from the file" : "Take the one from the file", isOlder ? "" : "primary"],
    ["", "Keep what is here", isOlder ? "primary" : ""],
  ];
  const words = [
    `On this device: ${draftWords(draft)}.`,
    `In the file: ${draftWords(found)}.`,
    STANDING_WORDS[standing],
    "The other one is gone then. If you are not sure, keep what is here and save it as a file first.",
  ];
  return (
    (await ask({ title: "Which draft shall stay?", body: words.map((line) => el("p", {}, line)), answers })) === "yes"
  );
}

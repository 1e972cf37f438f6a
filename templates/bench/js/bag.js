// The packet: a bag (BagIt 1.0, RFC 8493) in a zip, with one top folder named as the file.

const utf8 = (text) => new TextEncoder().encode(text);

/** What is sealed: kept with the draft, so that the very same packet can be made again. */
function sealedVersion(book, draft, now) {
  const day = dayOf(now);
  const document = {
    format: 1,
    kind: "assessment",
    version: draft.version,
    reason: proseOf(draft.reason, book.limits.note),
    sealed_at: now.toISOString(),
    assessment: assessmentOf(book, draft, day),
  };
  return {
    version: draft.version,
    reason: draft.reason,
    sealed_at: document.sealed_at,
    bagged_on: day,
    tool: book.tool,
    code: "",
    text: `${JSON.stringify(document)}\n`,
    photos: photosOf(draft),
  };
}

/** The pictures of all pairs, each content once: {sha256, bytes}. */
function photosOf(draft) {
  const found = new Map();
  for (const kept of Object.values(draft.pairs))
    for (const photo of kept.photos) found.set(photo.sha256, { sha256: photo.sha256, bytes: photo.bytes });
  return [...found.values()].sort((a, b) => (a.sha256 < b.sha256 ? -1 : 1));
}

/** A day in the device's own calendar, like 2026-11-25. */
function dayOf(at) {
  const two = (number) => String(number).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

function packetName(key, version) {
  return `${key}-assessment-${version}`;
}

/** The sealed version's packet and its code: {blob, name, code}. `pictureBytes` answers a photo's bytes by its digest. */
async function packetOf(key, sealed, pictureBytes, onFile) {
  const text = utf8(sealed.text);
  const payload = [
    { path: "data/assessment.json", sha256: await sha256Hex(text), size: text.length, bytes: async () => text },
    ...sealed.photos.map((photo) => ({
      path: `data/photos/${photo.sha256}.jpg`,
      sha256: photo.sha256,
      size: photo.bytes,
      bytes: () => pictureBytes(photo),
    })),
  ];
  const manifest = utf8(manifestText(payload));
  const tags = await tagFiles(key, sealed, payload, manifest);
  const name = packetName(key, sealed.version);
  const files = [...tags, ...payload].map((file) => ({ name: `${name}/${file.path}`, bytes: file.bytes }));
  return { blob: await zipOf(files, onFile), name: `${name}.zip`, code: sealCode(await sha256Hex(manifest)) };
}

function manifestText(files) {
  const ordered = [...files].sort((a, b) => (a.path < b.path ? -1 : 1));
  return ordered.map((file) => `${file.sha256}  ${file.path}\n`).join("");
}

async function tagFiles(key, sealed, payload, manifest) {
  const octets = payload.reduce((sum, file) => sum + file.size, 0);
  const texts = [
    ["bagit.txt", utf8("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")],
    [
      "bag-info.txt",
      utf8(
        [
          `Bag-Software-Agent: ${sealed.tool} bench book`,
          `Bagging-Date: ${sealed.bagged_on}`,
          `External-Identifier: ${key}`,
          `Payload-Oxum: ${octets}.${payload.length}`,
          "",
        ].join("\n"),
      ),
    ],
    ["manifest-sha256.txt", manifest],
  ];
  const files = [];
  for (const [path, bytes] of texts) files.push({ path, sha256: await sha256Hex(bytes), bytes: async () => bytes });
  const tagManifest = utf8(manifestText(files));
  return [...files, { path: "tagmanifest-sha256.txt", bytes: async () => tagManifest }];
}

/** The first 12 signs of the seal in threes, to read out over the telephone. */
function sealCode(seal) {
  return [0, 3, 6, 9].map((at) => seal.slice(at, at + 3)).join("-");
}

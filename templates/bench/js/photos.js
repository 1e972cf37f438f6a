// The pictures of one pair: taken or picked, seen, named, taken away.

function photosScreen(pair, kept) {
  const room = book.limits.photos - kept.photos.length;
  return {
    body: [
      heading("Photos", `Pair ${pair.number}: ${pair.words}`),
      el(
        "p",
        {},
        "One of the whole pair, one of the edge, one of whatever you write about. Say in a word or two what each shows. They are made smaller here, and the place where they were taken is left out.",
      ),
      isReadOnly() || room <= 0
        ? null
        : el(
            "div",
            { class: "buttons" },
            picker(pair, "camera", "Take a photo", { capture: "environment" }),
            picker(pair, "files", "Add from files", { multiple: true }),
          ),
      el(
        "p",
        { class: "hint", id: "photo-state", role: "status" },
        room <= 0 ? `A pair takes ${book.limits.photos} photos; it has them all.` : "",
      ),
      kept.photos.length
        ? el("ol", { class: "photos plain" }, ...kept.photos.map((photo, at) => photoCard(pair, kept, photo, at)))
        : el("p", { class: "soft" }, "No photos yet."),
    ],
    next: nextPair(pair),
  };
}

function picker(pair, kind, label, attributes) {
  const id = `photo-${kind}`;
  const input = el("input", {
    type: "file",
    id,
    accept: "image/*",
    class: "unseen-words",
    ...attributes,
    onchange: (event) => addPhotos(pair, [...event.target.files]),
  });
  return el("label", { class: "button", for: id }, input, label);
}

/** One after another, so that a phone with little memory can do it. */
async function addPhotos(pair, files) {
  const kept = draft.pairs[pair.number];
  const refused = [];
  for (const [at, file] of files.entries()) {
    sayPhotos(`Photo ${at + 1} of ${files.length} is made ready…`);
    if (isReadOnly()) break;
    if (kept.photos.length >= book.limits.photos) {
      refused.push(`${file.name}: a pair takes ${book.limits.photos} photos at most.`);
      continue;
    }
    try {
      await addPhoto(kept, await pictureOf(file), refused, file.name);
    } catch {
      refused.push(
        `${file.name}: this browser cannot read it as a picture. Take it with the camera, or save it as JPEG.`,
      );
    }
  }
  refresh();
  sayPhotos(`${amount(files.length - refused.length, "photo")} added.`);
  if (refused.length)
    await tell(refused.length === 1 ? "One file was not added" : `${refused.length} files were not added`, refused);
}

function sayPhotos(words) {
  const place = byId("photo-state");
  if (place) place.textContent = words;
}

async function addPhoto(kept, photo, refused, name) {
  if (isReadOnly()) {
    refused.push(`${name}: this version was sealed meanwhile.`);
    return;
  }
  if (kept.photos.some((one) => one.sha256 === photo.sha256)) {
    refused.push(`${name}: this very picture is here already.`);
    return;
  }
  await keepPhoto(photo);
  kept.photos.push({ sha256: photo.sha256, bytes: photo.bytes.byteLength, caption: "" });
  await changed();
}

function photoCard(pair, kept, photo, at) {
  const image = el("img", {
    alt: photo.caption || `Photo ${at + 1} of pair ${pair.number}`,
    width: 160,
    height: 120,
    decoding: "async",
  });
  findPhoto(photo.sha256).then((found) => {
    if (found) image.src = thumbAddress(found);
    else
      image.replaceWith(
        el("p", { class: "fault" }, "This device has lost the picture. Take it away and add it again."),
      );
  });
  return el(
    "li",
    { class: "photo" },
    image,
    el(
      "div",
      {},
      textField({
        id: `caption-${at}`,
        label: `What photo ${at + 1} shows`,
        most: book.limits.line,
        read: () => photo.caption,
        write: (text) => {
          photo.caption = text;
        },
      }),
      isReadOnly()
        ? null
        : button("Take away", () => takePhotoAway(kept, photo, at), {
            "aria-label": `Take photo ${at + 1} away`,
            class: "small",
          }),
    ),
  );
}

async function takePhotoAway(kept, photo, at) {
  if (!(await confirmed("Take this photo away?", ["It is gone from this device then."], "Yes, take it away"))) return;
  kept.photos.splice(at, 1);
  await changed();
  await dropPhoto(photo.sha256);
  refresh();
}

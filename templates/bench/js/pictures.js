// A picture from camera or file made fit to send: at most 2400 px, JPEG, nothing but what can be seen in it.

const LONGEST_PX = 2400;
const THUMB_PX = 360;
const JPEG_QUALITY = 0.85;
const THUMB_QUALITY = 0.7;

/** {sha256, bytes, thumb}: both ArrayBuffers. Raises where the browser cannot read the file as a picture. */
async function pictureOf(file) {
  const image = await loadedImage(file);
  const full = drawn(image, image.naturalWidth, image.naturalHeight, LONGEST_PX);
  URL.revokeObjectURL(image.src);
  const small = drawn(full, full.width, full.height, THUMB_PX);
  const bytes = await jpegBytes(full, JPEG_QUALITY);
  const thumb = await jpegBytes(small, THUMB_QUALITY);
  return { sha256: await sha256Hex(new Uint8Array(bytes)), bytes, thumb };
}

/** An image element turns the picture upright by itself and decodes it only when it is drawn. */
function loadedImage(file) {
  return new Promise((resolve, reject) => {
    const image = new Image();
    image.onload = () => resolve(image);
    image.onerror = () => {
      URL.revokeObjectURL(image.src);
      reject(new Error("no picture"));
    };
    image.src = URL.createObjectURL(file);
  });
}

/** Drawn anew on a canvas: place, device and every other note inside the file stay behind. */
function drawn(image, width, height, longest) {
  const scale = Math.min(1, longest / Math.max(width, height));
  const canvas = el("canvas", {
    width: Math.max(1, Math.round(width * scale)),
    height: Math.max(1, Math.round(height * scale)),
  });
  const context = canvas.getContext("2d");
  context.fillStyle = "#fff";
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.imageSmoothingQuality = "high";
  context.drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas;
}

/** The canvas as JPEG, and its memory given back at once: a phone has little. */
async function jpegBytes(canvas, quality) {
  const blob = await new Promise((resolve) => {
    canvas.toBlob(resolve, "image/jpeg", quality);
  });
  canvas.width = 0;
  if (!blob) throw new Error("no room to draw");
  return blob.arrayBuffer();
}

/** An address of a picture's small copy for an img; let go of when the screen changes. */
function thumbAddress(photo) {
  const address = URL.createObjectURL(new Blob([photo.thumb || photo.bytes], { type: "image/jpeg" }));
  shownAddresses.push(address);
  return address;
}

const shownAddresses = [];

function letGoOfAddresses() {
  while (shownAddresses.length) URL.revokeObjectURL(shownAddresses.pop());
}

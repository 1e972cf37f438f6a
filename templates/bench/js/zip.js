// A zip of files as they are, by PKWARE's APPNOTE 6.3: stored, ASCII names, sizes said up front, one fixed date.
//
// It is put together from parts, so that the pictures of a round never lie in memory all at once; what the library
// beside it writes either holds all of them together or says the sizes only afterwards.

const ZIP_DATE = 0x0021; // 1 January 1980, 0:00: the same files make the same zip
const FILE_MODE = 0o100644;

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  return crc;
});

function crc32(bytes) {
  let crc = 0xffffffff;
  for (let at = 0; at < bytes.length; at += 1) crc = (crc >>> 8) ^ CRC_TABLE[(crc ^ bytes[at]) & 0xff];
  return (crc ^ 0xffffffff) >>> 0;
}

/** One zip as a Blob. `files` are {name, bytes()}: `bytes` is asked once, one file after another. */
async function zipOf(files, onFile = () => {}) {
  const parts = [];
  const listed = [];
  let offset = 0;
  for (const file of files) {
    const bytes = await file.bytes();
    const entry = { name: asciiBytes(file.name), size: bytes.length, crc: crc32(bytes), offset };
    const head = localHead(entry);
    parts.push(head, new Blob([bytes]));
    listed.push(centralHead(entry));
    offset += head.length + bytes.length;
    onFile(file.name);
  }
  const size = listed.reduce((sum, head) => sum + head.length, 0);
  return new Blob([...parts, ...listed, endOfZip(listed.length, size, offset)], { type: "application/zip" });
}

function asciiBytes(text) {
  return Uint8Array.from(text, (sign) => sign.charCodeAt(0));
}

/** Little-endian fields, each as [bytes, number]. */
function packed(fields, ...tails) {
  const length = fields.reduce((sum, [n]) => sum + n, 0) + tails.reduce((sum, tail) => sum + tail.length, 0);
  const bytes = new Uint8Array(length);
  const view = new DataView(bytes.buffer);
  let at = 0;
  for (const [n, number] of fields) {
    if (n === 2) view.setUint16(at, number, true);
    else view.setUint32(at, number, true);
    at += n;
  }
  for (const tail of tails) {
    bytes.set(tail, at);
    at += tail.length;
  }
  return bytes;
}

/** What both heads of an entry say: version, flags, method, time, date, sum, sizes, lengths. */
function entryFields({ name, size, crc }) {
  return [
    [2, 20],
    [2, 0],
    [2, 0],
    [2, 0],
    [2, ZIP_DATE],
    [4, crc],
    [4, size],
    [4, size],
    [2, name.length],
    [2, 0],
  ];
}

function localHead(entry) {
  return packed([[4, 0x04034b50], ...entryFields(entry)], entry.name);
}

function centralHead(entry) {
  const madeByUnix = (3 << 8) | 20;
  const tail = [
    [2, 0],
    [2, 0],
    [2, 0],
    [4, FILE_MODE * 0x10000],
    [4, entry.offset],
  ];
  return packed([[4, 0x02014b50], [2, madeByUnix], ...entryFields(entry), ...tail], entry.name);
}

function endOfZip(n, size, offset) {
  return packed([
    [4, 0x06054b50],
    [2, 0],
    [2, 0],
    [2, n],
    [2, n],
    [4, size],
    [4, offset],
    [2, 0],
  ]);
}

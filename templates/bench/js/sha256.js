// SHA-256 (FIPS 180-4): the browser's own where it offers it, else this one.

const SHA_ROOTS = (() => {
  const primes = [];
  for (let n = 2; primes.length < 64; n += 1) if (primes.every((prime) => n % prime)) primes.push(n);
  const fraction = (x) => Math.floor((x - Math.floor(x)) * 2 ** 32) >>> 0;
  return {
    start: primes.slice(0, 8).map((prime) => fraction(Math.sqrt(prime))),
    rounds: primes.map((prime) => fraction(Math.cbrt(prime))),
  };
})();

/** The digest of bytes, in hex. */
async function sha256Hex(bytes) {
  if (self.crypto && crypto.subtle) return hexOf(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)));
  return sha256OwnHex(bytes);
}

function hexOf(bytes) {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** The same without the browser's help: for pages that it does not trust with its own. */
function sha256OwnHex(bytes) {
  const padded = new Uint8Array(((bytes.length + 8) >> 6) * 64 + 64);
  padded.set(bytes);
  padded[bytes.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor(bytes.length / 2 ** 29));
  view.setUint32(padded.length - 4, (bytes.length << 3) >>> 0);
  const state = Uint32Array.from(SHA_ROOTS.start);
  const words = new Uint32Array(64);
  for (let at = 0; at < padded.length; at += 64) shaBlock(state, words, view, at);
  return Array.from(state, (word) => word.toString(16).padStart(8, "0")).join("");
}

function shaBlock(state, words, view, at) {
  const turn = (x, by) => (x >>> by) | (x << (32 - by));
  for (let i = 0; i < 16; i += 1) words[i] = view.getUint32(at + 4 * i);
  for (let i = 16; i < 64; i += 1) {
    const low = turn(words[i - 15], 7) ^ turn(words[i - 15], 18) ^ (words[i - 15] >>> 3);
    const high = turn(words[i - 2], 17) ^ turn(words[i - 2], 19) ^ (words[i - 2] >>> 10);
    words[i] = words[i - 16] + low + words[i - 7] + high;
  }
  let [a, b, c, d, e, f, g, h] = state;
  for (let i = 0; i < 64; i += 1) {
    const one =
      (h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + SHA_ROOTS.rounds[i] + words[i]) | 0;
    const two = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    [h, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
  }
  [a, b, c, d, e, f, g, h].forEach((word, i) => {
    state[i] += word;
  });
}

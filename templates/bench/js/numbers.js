// Numbers as they are typed at the bench, and how one unit becomes another.

const MM_PER_INCH = 25.4; // exact by definition (international inch, 1959)
const SLACK = 1e-9;

/** A number with a point or a comma, or a fraction such as 1/64 or 1 1/2; NaN where the text is no number. */
function numberOf(text) {
  const words = text.trim();
  const fraction = /^(?:(\d+) +)?(\d+)\/(\d+)$/.exec(words);
  if (fraction) {
    return finite(Number(fraction[1] || 0) + Number(fraction[2]) / Number(fraction[3]));
  }
  return /^(?:\d+(?:[.,]\d*)?|[.,]\d+)$/.test(words) ? finite(Number(words.replace(",", "."))) : NaN;
}

function finite(number) {
  return Number.isFinite(number) ? number : NaN;
}

/** A number as it would be written by hand: no trailing noughts, so many decimals at most. */
function numberWords(number, digits = 3) {
  return String(Number(number.toFixed(digits)));
}

/** `number` of `unit`, in `to`. NaN where the two do not measure the same thing. */
function convert(number, unit, to, bladeLengthMm) {
  if (unit === to) return number;
  switch (`${unit} > ${to}`) {
    case "in > mm":
      return number * MM_PER_INCH;
    case "mm > in":
      return number / MM_PER_INCH;
    case "deg dial > deg included":
    case "deg included > deg dial":
      return 90 - number;
    case "mm tip gap > deg open":
      return openDegFromGap(number, bladeLengthMm);
    default:
      return NaN;
  }
}

/** The angle whose chord is `gapMm`; NaN when the blades are too short for that gap, or of unknown length. */
function openDegFromGap(gapMm, bladeLengthMm) {
  const share = bladeLengthMm ? gapMm / (2 * bladeLengthMm) : NaN;
  return share >= 0 && share <= 1 ? (2 * Math.asin(share) * 180) / Math.PI : NaN;
}

/** A typed length {text, unit} in mm; null for a blank, NaN for what is no length. */
function lengthMm(length) {
  if (!length || !length.text.trim()) return null;
  const number = numberOf(length.text);
  return length.unit === "in" ? number * MM_PER_INCH : number;
}

/** A number as it was typed, blanks and a hanging point aside; where nothing was typed, as it would be written. */
function typedWords(text, number) {
  const words = (text || "").trim().replace(/ +/g, " ").replace(/[.,]$/, "");
  return numberOf(words) === number ? words : numberWords(number, 4);
}

/** A typed length with its unit: '1/64 in'. */
function lengthWords({ text, unit }) {
  return `${typedWords(text, numberOf(text))} ${unit}`;
}

/** A typed length as it reads in another unit, to a hundredth of a mm or so; what was typed stays as it was typed. */
function lengthText(length, unit) {
  if (!length || length.unit === unit) return length ? length.text : "";
  const mm = lengthMm(length);
  if (mm === null || Number.isNaN(mm)) return length.text;
  return unit === "in" ? numberWords(mm / MM_PER_INCH, 4) : numberWords(mm);
}

/** '1 pair', '12 pairs'. */
function amount(n, one, many = `${one}s`) {
  return `${n} ${n === 1 ? one : many}`;
}

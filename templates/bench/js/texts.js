// Free text as the round's record takes it: no control signs, no half signs, never longer than allowed.

const CONTROL = /[\u0000-\u001f\u007f-\u009f]+/g;
const CONTROL_BUT_LINES = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]/g;
const HALF_SIGNS = /[\ud800-\udbff][\udc00-\udfff]|[\ud800-\udfff]/g;

/** One line: line breaks and control signs become blanks. */
function lineOf(text, most) {
  return whole(text.replace(CONTROL, " ").trim(), most).trim();
}

/** Text of several lines. */
function proseOf(text, most) {
  return whole(text.replace(/\r\n?/g, "\n").replace(CONTROL_BUT_LINES, ""), most);
}

/** True for text in which something remains once it is cleaned. */
function isSaid(text) {
  return lineOf(text, text.length) !== "";
}

function whole(text, most) {
  return text.slice(0, most).replace(HALF_SIGNS, (sign) => (sign.length === 2 ? sign : ""));
}

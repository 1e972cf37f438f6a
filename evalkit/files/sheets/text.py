"""A person's words carried through a sheet and back: what the sheet would take for its own is written as a reference.

A reference is CommonMark's numeric one, `&#40;` for a bracket: any reader of Markdown shows the sign that is meant.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from decimal import Decimal
from difflib import get_close_matches

BLANK = "?"
"""Stands where nothing was written yet."""

_REFERENCE = re.compile(r"&#([0-9]{1,7});")
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
"""Signs that no text for people holds; tab and line ends are not among them."""

_NOTHING = {"", "-", "none"}
"""Words, as `plain` leaves them, that say of a line that there is nothing."""
_RULE = re.compile(r"-[- \t]*(?:\n|\Z)")
_DASHES = str.maketrans({"–": "-", "—": "-", "−": "-", "’": "'", "*": None, "_": None, "`": None})


def lf_only(text: str) -> str:
    """`text` with every line end as one newline."""
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text


def printable(text: str) -> str:
    """`text` with newlines alone as line ends, and every other control sign as its picture, which harms nobody."""
    return CONTROL.sub(_picture, lf_only(text))


def _picture(match: re.Match[str]) -> str:
    number = ord(match[0])
    return chr(0x2400 + number) if number < 0x20 else "\u2421" if number == 0x7F else "\ufffd"


def referenced(sign: str) -> str:
    """One sign as a numeric reference."""
    return f"&#{ord(sign)};"


def unreferenced(text: str) -> str:
    """Words as they were meant: references of printable signs resolved, all others left as they stand."""
    return _REFERENCE.sub(_meant, text) if "&#" in text else text


def _meant(match: re.Match[str]) -> str:
    number = int(match[1])
    if number in (9, 10):
        return chr(number)
    if number > 0x10FFFF or unicodedata.category(chr(number)) in ("Cc", "Cs"):
        return match[0]
    return chr(number)


def written(text: str, also: str = "") -> str:
    """Free text for one line of a list, so that `spoken` gives it back; the signs in `also` become references too."""
    text = printable(text)
    if not text:
        return BLANK
    first, middle, last = "", text, ""
    if text[0].isspace() or text[0] == BLANK or plain(text) in _NOTHING or _RULE.match(text):
        first, middle = referenced(text[0]), text[1:]
    if middle and middle[-1].isspace():
        middle, last = middle[:-1], referenced(middle[-1])
    return first + literal(middle, also) + last


def literal(text: str, also: str = "") -> str:
    """`text` in which nothing reads as a reference, and the signs in `also` are written as one."""
    if "&#" not in text and not any(sign in text for sign in also):
        return text
    signs = f"|[{re.escape(also)}]" if also else ""
    return re.sub(f"&(?=#[0-9]{{1,7}};){signs}", lambda match: referenced(match[0]), text)


def said(text: str) -> str:
    """What stands on a line once the question mark it came with is gone; '' when nothing was written."""
    text = text.strip()
    return text[1:].strip() if text.startswith(BLANK) else text


def spoken(text: str) -> str:
    """Free text as it was meant; the inverse of `written`."""
    return unreferenced(said(text))


def spoken_line(text: str) -> str:
    """As `spoken`, for text of one line: where an editor has broken it, a blank."""
    return one_line(spoken(text))


def one_line(text: str) -> str:
    """`text` with a blank for each line end and tab."""
    return text.replace("\n", " ").replace("\t", " ")


def plain(text: str) -> str:
    """Words for comparing: small letters, single blanks, plain dashes, no emphasis."""
    return " ".join(text.translate(_DASHES).casefold().split())


def quoted(text: str) -> str:
    """A piece of the sheet for an error message: one line, not too long."""
    line = " ".join(printable(text).split())
    return f"'{line}'" if len(line) <= 60 else f"'{line[:57]}...'"


def hint(wrong: str, known: Iterable[str]) -> str:
    """'Did you mean ...? ' when one of the known words is near; else ''."""
    words = {plain(word): word for word in known}
    near = get_close_matches(plain(wrong[:80]), words, n=1)
    return f"Did you mean '{words[near[0]]}'? " if near else ""


def number_words(number: float) -> str:
    """A number that reads back as exactly itself, without an exponent and without a needless '.0'."""
    words = format(Decimal(repr(number or 0.0)), "f")
    return words.removesuffix(".0")

"""JSON from outside, read strictly (RFC 8259, and RFC 7493 for names that stand twice and numbers too large)."""

from __future__ import annotations

import json
import math
import re
from typing import Any, NoReturn

from evalkit.files.packets.limits import MAX_DIGITS, MAX_JSON_BYTES, MAX_JSON_DEPTH, MAX_JSON_PARTS, MIB
from evalkit.files.packets.refusing import not_as_made, shown

# Possessive, and content with a text that never ends, so that stepping over it costs one walk through the document.
_TEXT = re.compile(rb'"[^"\\]*+(?:\\.?[^"\\]*+)*+"?', re.DOTALL)
# A letter beyond the first 65,536 is escaped as two halves; one without the other is none, and no file can hold it.
_WHOLE = re.compile(r"\\\\|\\ud[89ab]..\\ud[c-f]..", re.IGNORECASE)
_HALF = re.compile(r"\\ud[89a-f]", re.IGNORECASE)
_NOT_BRACKETS = bytes(set(range(256)) - set(b"[]{}"))


def read_json(data: bytes, where: str) -> dict[str, Any]:
    """The one object that `data` is. Raises InputError at anything that another reader could take otherwise."""
    if len(data) > MAX_JSON_BYTES:
        raise not_as_made(f"the document has more than {MAX_JSON_BYTES // MIB} MB.", where)
    _check_shape(data, where)
    try:
        value = json.loads(
            _text(data),
            object_pairs_hook=_object,
            parse_constant=_not_a_number,
            parse_float=_finite,
            parse_int=_short_integer,
        )
    except json.JSONDecodeError as error:
        what = f"the document is no proper JSON ({error.msg[:1].lower()}{error.msg[1:]}, line {error.lineno})."
        raise not_as_made(what, where) from None
    except ValueError as error:
        raise not_as_made(f"{error}.", where) from None
    if not isinstance(value, dict):
        raise not_as_made("the document is not an object.", where)
    return value


def _check_shape(data: bytes, where: str) -> None:
    """Depth and size, before a reader's stack and memory meet them."""
    bare = _TEXT.sub(b"", data)
    brackets = bare.translate(None, _NOT_BRACKETS)
    if len(brackets) + bare.count(b",") > MAX_JSON_PARTS:
        raise not_as_made(f"the document has more than {MAX_JSON_PARTS} parts.", where)
    depth = 0
    for bracket in brackets:
        depth += 1 if bracket in b"[{" else -1
        if depth > MAX_JSON_DEPTH:
            what = f"the document is nested more than {MAX_JSON_DEPTH} deep."
            raise not_as_made(what, where)


def _text(data: bytes) -> str:
    if data.startswith(b"\xef\xbb\xbf"):
        raise ValueError("the document opens with a byte-order mark")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise ValueError("the document is not written in UTF-8") from None
    if _HALF.search(_WHOLE.sub(" ", text)):
        raise ValueError("the document holds half a letter (a lone surrogate)")
    return text


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise ValueError(f"'{shown(name)}' stands twice in one object")
        found[name] = value
    return found


def _not_a_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")


def _finite(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise ValueError(f"{shown(digits)} is too large a number")
    return number


def _short_integer(digits: str) -> int:
    if len(digits.lstrip("-")) > MAX_DIGITS:
        raise ValueError(f"{shown(digits)} is too large a number")
    return int(digits)

"""Remarks in brackets, and the pieces between commas that stand outside them."""

from __future__ import annotations

import re
from collections.abc import Iterator

from evalkit.files.sheets.numbers import ValueWordsError, is_drop_method
from evalkit.files.sheets.text import literal, printable, quoted, referenced


def split_remarks(text: str) -> tuple[str, list[str]]:
    """The words before the first bracket, and what stands in each pair of brackets. Raises ValueWordsError."""
    if "(" not in text and ")" not in text:
        return text, []
    remarks, depth, start = [], 0, 0
    for at, sign in enumerate(text):
        if sign == "(":
            depth += 1
            start = at if depth == 1 else start
        elif sign == ")":
            depth -= 1
            if depth < 0:
                break
            if depth == 0:
                remarks.append(text[start + 1 : at])
        elif depth == 0 and remarks and not sign.isspace():
            raise ValueWordsError(
                f"{quoted(text)} goes on after its remark.", mend="Put the remark, in brackets, at the end."
            )
    if depth:
        raise ValueWordsError(f"a bracket of {quoted(text)} has no partner.", mend="Open and close each remark: ( ).")
    return text[: text.index("(")], remarks


def parts_between(text: str) -> Iterator[str]:
    """The pieces between commas or semicolons that stand outside brackets; a comma inside a number parts nothing."""
    depth, start = 0, 0
    for match in re.finditer(r"[(),;]", text):
        at, sign = match.start(), match[0]
        if sign in "()":
            depth += 1 if sign == "(" else -1
        elif depth <= 0 and not (sign == "," and text[at - 1 : at].isdigit() and text[at + 1 : at + 2].isdigit()):
            if text[start:at].strip():
                yield text[start:at]
            start = at + 1
    if text[start:].strip():
        yield text[start:]


def remark_words(note: str) -> str:
    """A remark for inside brackets: on one line, its own brackets balanced, and never read as a drop method."""
    note = printable(note)
    first = note[0] if note[0].isspace() or is_drop_method(note) else ""
    middle = note[1:] if first else note
    last = middle[-1] if middle and middle[-1].isspace() else ""
    middle = middle[:-1] if last else middle
    words = literal(middle, "\n" if _is_balanced(middle) else "\n()")
    return (referenced(first) if first else "") + words + (referenced(last) if last else "")


def _is_balanced(text: str) -> bool:
    depth = 0
    for sign in text:
        depth += (sign == "(") - (sign == ")")
        if depth < 0:
            return False
    return depth == 0

"""The text of a TOML file and its table: refused with one clear fault when it is no such thing."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from evalkit.errors import Fault, FileFaultsError, InputError, NotFoundError
from evalkit.files.toml_lines import locate

MAX_BYTES = 1_000_000
LONG_KEY = re.compile(
    r"""(?<![\w.-])(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')(?:[ \t]*+\.[ \t]*+(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')){40}"""
)
"""A dotted key of more than 40 parts. tomllib's time grows with the square of their number."""
TOO_DEEP = ("Here tables or lists stand in each other a dozen deep.", "No rubric needs more than five.")

Table = dict[str, Any]


def text_of(path: Path) -> str:
    """The text of a file: UTF-8, at most 1 MB. Raises FileFaultsError or InputError."""
    if not path.exists():
        raise NotFoundError("There is no such file.", mend="Check its name and folder.", where=str(path))
    if not path.is_file():
        raise InputError("This is not a file.", mend="Name a file that ends in .toml.", where=str(path))
    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise InputError(
            f"This file cannot be read ({error.strerror}).", mend="Check who may read it.", where=str(path)
        ) from None
    if len(raw) > MAX_BYTES:
        raise refused(path, 0, "This file is larger than 1 MB.", "A rubric takes a few dozen kB: is it the right file?")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise refused(
            path, line, "Here the text is not UTF-8.", "Save the file again with the encoding UTF-8."
        ) from None


def table_of(path: Path, text: str) -> Table:
    """The table of a TOML text. Raises FileFaultsError with the first fault of its syntax."""
    if long := LONG_KEY.search(text):
        line = text.count("\n", 0, long.start()) + 1
        raise refused(path, line, "This key has more than 40 parts.", "No rubric needs more than four.")
    try:
        table = tomllib.loads(text)
    except ValueError as error:  # tomllib's own error, and Python's for numbers of thousands of digits
        raise refused(path, _syntax_line(str(error), text), *_syntax(str(error))) from None
    for name, value in table.items():
        if _is_deep(value):
            raise refused(path, locate(text)[name,], *TOO_DEEP)
    return table


def _is_deep(value: object) -> bool:
    """More than a dozen tables or lists in each other; what checks the content stops at some 200."""
    level = [value]
    for _ in range(12):
        level = [
            part
            for one in level
            if isinstance(one, dict | list)
            for part in (one.values() if isinstance(one, dict) else one)
        ]
    return bool(level)


def refused(path: Path, line: int, what: str, mend: str) -> FileFaultsError:
    """One fault as the error of a whole file."""
    return FileFaultsError([Fault(str(path), line, what, mend)])


def _syntax_line(message: str, text: str) -> int:
    if at := re.search(r"\(at line (\d+), column \d+\)$", message):
        return int(at[1])
    return len(text.splitlines()) if message.endswith("(at end of document)") else 0


SYNTAX = (
    ("Cannot overwrite", "This key has a value already.",
     "Keep one of the two; a criterion begins with [[criteria]], a cause with [[causes]], in double brackets."),
    ("Cannot declare", "This header stands twice.", "Keep one; each criterion begins with a new [[criteria]]."),
    ("Cannot mutate", "This table was closed before.", "Put the line where the table stands."),
    ("Expected '='", "There is no = after the key.", "Write: key = value. A remark begins with #."),
    ("after a statement", "Something follows the value on its line.", "One key on a line; a remark begins with #."),
    ("Unclosed", "A list or table is not closed.", "Close it with ] or }, and put a comma between its parts."),
    ("Unterminated", "A text is not closed.", "Close it with the quotes it began with."),
    ("Illegal character", "A text is not closed on its line, or holds a sign that may not stand there.",
     'Close it with a quote; a text over several lines stands between """ and """.'),
    ("Expected ']", "A header is not closed.", "Write [name] or, for each criterion, [[criteria]]."),
    ("Unescaped", "A backslash stands alone in a text.", "Write it twice."),
    ("Invalid initial character", "A key is missing here.", "Write: key = value. A remark begins with #."),
    ("Invalid statement", "This is no key, header or remark.", "Write: key = value. A remark begins with #."),
    ("Invalid value", "This value cannot be read.", "Text stands in quotes; numbers, true and false do not."),
    ("Invalid date", "There is no such date.", "Rubrics hold no dates; put text in quotes."),
    ("Duplicate inline", "A key stands twice in these braces.", "Keep one of the two."),
    ("digits", "A number is thousands of digits long.", "Write a number of the bench."),
)  # fmt: skip


def _syntax(message: str) -> tuple[str, str]:
    if message.endswith("(at end of document)"):
        return "The file ends inside a text, list or table.", "Close the quote or bracket that was opened last."
    for sign, what, mend in SYNTAX:
        if sign in message:
            return what, mend
    return f"This cannot be read as TOML: {message.partition(' (at ')[0]}.", "Mend this line."

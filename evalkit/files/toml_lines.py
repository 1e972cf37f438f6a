"""Finds the line of every key and element of a TOML text, so that a fault in a value can be shown where it stands.

`tomllib` judges the text; this scanner only follows one that `tomllib` has taken, and so checks nothing itself.
"""

from __future__ import annotations

import tomllib
from bisect import bisect_left
from collections.abc import Mapping, Sequence

Path = tuple[str | int, ...]

_BLANK = " \t"
_BLANK_OR_NEWLINE = " \t\n"
_END_OF_BARE_KEY = " \t.=]"
_END_OF_BARE_VALUE = ",]}#\n"
_LONGEST_QUOTE_FIRST = ('"""', "'''", '"', "'")


def locate(text: str) -> dict[Path, int]:
    """The line, counted from 1, of each key path: `("criterion", 0, "levels", 2)` is an element of a list in a table.

    A table's line is that of its header or, without one, of the first key that needs it. Raises
    `tomllib.TOMLDecodeError` where `tomllib` would.
    """
    tomllib.loads(text)
    scan = _Scan(text.replace("\r\n", "\n"))
    scan.document()
    return scan.lines


def line_of(lines: Mapping[Path, int], loc: Sequence[str | int]) -> int:
    """The line of `loc`, or of its nearest parent that stands in the text; 0 when none does.

    Parts of `loc` that are no keys of the text are passed over, such as the tag by which pydantic names a chosen kind.
    """
    here: Path = ()
    for part in loc:
        if (*here, part) in lines:
            here = (*here, part)
    return lines.get(here, 0)


class _Scan:
    """One walk through a text: `at` is where it stands, `lines` what it has found."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self._newlines = [i for i, sign in enumerate(text) if sign == "\n"]
        self._last_index: dict[Path, int] = {}  # of each array of tables, the element that headers now speak of

    # --- lines, one after another ---

    def document(self) -> None:
        table: Path = ()
        while self._next_sign():
            if self._sees("["):
                table = self._header()
            else:
                self._key_and_value(table)

    def _header(self) -> Path:
        """Reads `[a.b]` or `[[a.b]]`; answers the path of the table that the next keys stand in."""
        line, is_array = self._line(), self._sees("[[")
        self.at += 2 if is_array else 1
        *parents, name = self._key()
        self.at += 2 if is_array else 1
        path: Path = ()
        for part in parents:
            path = (*path, part)
            self.lines.setdefault(path, line)
            if path in self._last_index:
                path = (*path, self._last_index[path])
        path = (*path, name)
        if not is_array:
            self.lines[path] = line  # its own header outranks a sub-table's that came before
            return path
        self.lines.setdefault(path, line)
        index = self._last_index[path] = self._last_index.get(path, -1) + 1
        path = (*path, index)
        self.lines[path] = line
        return path

    def _key_and_value(self, table: Path) -> None:
        line, path = self._line(), table
        for part in self._key():
            path = (*path, part)
            self.lines.setdefault(path, line)
        self.at += 1  # the equals sign
        self._skip(_BLANK)
        self._value(path)

    # --- keys ---

    def _key(self) -> list[str]:
        """The parts of a dotted key; stops before the `=` or `]` after it."""
        parts = [self._key_part()]
        while self._sees("."):
            self.at += 1
            parts.append(self._key_part())
        return parts

    def _key_part(self) -> str:
        self._skip(_BLANK)
        start = self.at
        if self._sees('"', "'"):
            self._string()
            part = str(tomllib.loads(f"k={self.text[start : self.at]}")["k"])
        else:
            self._skip_to(_END_OF_BARE_KEY)
            part = self.text[start : self.at]
        self._skip(_BLANK)
        return part

    # --- values ---

    def _value(self, path: Path) -> None:
        if self._sees("["):
            self._array(path)
        elif self._sees("{"):
            self._inline_table(path)
        elif self._sees('"', "'"):
            self._string()
        else:
            self._skip_to(_END_OF_BARE_VALUE)

    def _array(self, path: Path) -> None:
        self.at += 1
        index = 0
        while self._next_sign() != "]":
            element = (*path, index)
            self.lines[element] = self._line()
            self._value(element)
            self._comma()
            index += 1
        self.at += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while self._next_sign() != "}":
            self._key_and_value(path)
            self._comma()
        self.at += 1

    def _comma(self) -> None:
        if self._next_sign() == ",":
            self.at += 1

    def _string(self) -> None:
        quote = next(quote for quote in _LONGEST_QUOTE_FIRST if self._sees(quote))
        self.at += len(quote)
        while not self._sees(quote):
            self.at += 2 if quote[0] == '"' and self._sees("\\") else 1
        self.at += len(quote)
        if len(quote) > 1:
            self._skip(quote[0])  # a long string may end in a quote or two of its own

    # --- single signs ---

    def _line(self) -> int:
        return bisect_left(self._newlines, self.at) + 1

    def _sees(self, *words: str) -> bool:
        return self.text.startswith(words, self.at)

    def _skip(self, signs: str) -> None:
        while self.at < len(self.text) and self.text[self.at] in signs:
            self.at += 1

    def _skip_to(self, signs: str) -> None:
        while self.at < len(self.text) and self.text[self.at] not in signs:
            self.at += 1

    def _next_sign(self) -> str:
        """Passes over blanks, newlines and comments; answers the sign there, "" at the end of the text."""
        self._skip(_BLANK_OR_NEWLINE)
        while self._sees("#"):
            self._skip_to("\n")
            self._skip(_BLANK_OR_NEWLINE)
        return self.text[self.at : self.at + 1]

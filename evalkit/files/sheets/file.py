"""The text of a sheet before anything is read in it: what is refused as a whole, and the list of its faults."""

from __future__ import annotations

from pathlib import Path
from typing import NoReturn

from evalkit.errors import Fault, FileFaultsError, InputError
from evalkit.files.sheets.text import CONTROL, lf_only

MAX_BYTES = 2_000_000
MAX_LINES = 50_000
MAX_FAULTS = 200
"""More than anybody mends in one go; reading stops there."""


class Faults:
    """The faults of one sheet, collected."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.found: list[Fault] = []

    def add(self, line: int, what: str, mend: str) -> None:
        """One fault; `line` counts from 1, 0 for the whole sheet. Raises FileFaultsError when it is one too many."""
        self.found.append(Fault(self.path, line, what, mend))
        if len(self.found) >= MAX_FAULTS:
            more = Fault(self.path, 0, f"reading stopped after {MAX_FAULTS} faults.", "Mend these first.")
            raise FileFaultsError([*self.found, more])

    def add_error(self, line: int, error: InputError) -> None:
        self.add(line, error.what, error.mend)

    def raise_any(self) -> None:
        """Raises FileFaultsError when there is a fault."""
        if self.found:
            raise FileFaultsError(self.found)


def read_sheet_file(path: Path) -> str:
    """The text of a sheet: UTF-8, with or without a byte order mark, any line ends. Refused before it is parsed.

    Raises FileFaultsError where it is too large, has too many lines, is not UTF-8 or holds control signs; InputError
    when it cannot be read.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise InputError(f"the sheet cannot be read: {reason}.", mend="Check its name.", where=str(path)) from None
    if len(data) > MAX_BYTES:
        _refuse(
            path,
            0,
            f"the sheet is larger than {MAX_BYTES // 1_000_000} MB.",
            "A filled sheet is some 50 kB: is this the file?",
        )
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        _refuse(path, 1, "this text is UTF-16.", "Save it as UTF-8 and try again.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = f"byte {error.start + 1} of the file (0x{data[error.start]:02x}) is not UTF-8 text."
        _refuse(path, line, what, "Save the sheet as UTF-8 and try again.")
    return checked_text(text, str(path))


def _refuse(path: Path | str, line: int, what: str, mend: str) -> NoReturn:
    raise FileFaultsError([Fault(str(path), line, what, mend)])


def checked_text(text: str, path: str) -> str:
    """`text` with newlines alone as line ends; raises FileFaultsError where it is no text or too long."""
    text = lf_only(text.removeprefix("\ufeff"))
    n_lines = text.count("\n") + 1
    if n_lines > MAX_LINES or len(text) > MAX_BYTES:
        what = f"the sheet has {n_lines} lines and {len(text)} signs."
        _refuse(path, 0, what, f"At most {MAX_LINES} lines and {MAX_BYTES} signs are read: is this the file?")
    faults = Faults(path)
    for match in CONTROL.finditer(text):
        line = text.count("\n", 0, match.start()) + 1
        faults.add(line, f"a control sign (number {ord(match[0])}) stands here.", "Delete it; it cannot be seen.")
    faults.raise_any()
    return text

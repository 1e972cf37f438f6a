"""The family of errors: what went wrong, where, and how to mend it."""

from __future__ import annotations

import errno
from collections.abc import Iterable
from dataclasses import dataclass


class EvalkitError(Exception):
    """A fault of an act. `what` says the fault, `mend` the remedy, `where` the place (a file, a round, a pair)."""

    exit_code = 1

    def __init__(self, what: str, *, mend: str, where: str | None = None) -> None:
        self.what = what
        self.mend = mend
        self.where = where
        super().__init__(str(self))

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        return f"{place}{self.what} {self.mend}".rstrip()


class InputError(EvalkitError):
    """What was asked does not fit what is known: a missing pair, a round in another state, an impossible date."""

    exit_code = 2


class NotFoundError(InputError):
    """Something named does not exist in the book or on disk."""


class AlreadyError(InputError):
    """The act was done before and is not repeated: a sealed assessment, a used name."""


class ChangedError(AlreadyError):
    """What was to be changed was changed meanwhile by another hand: nothing was written, both are to be shown."""


class BookError(EvalkitError):
    """The book cannot be opened, is of another version, or failed a check."""

    exit_code = 3


class MissingPartError(EvalkitError):
    """An optional library or system library is not installed."""

    exit_code = 4


class DiskError(EvalkitError):
    """The disk refused a file: it is full, may not be written, or does not answer."""


REFUSALS = {
    errno.ENOSPC: ("the disk is full.", "Make room on it, then try again."),
    errno.EDQUOT: ("your share of the disk is full.", "Make room on it, then try again."),
    errno.EFBIG: ("the file would be larger than this disk takes.", "Name a place on another disk."),
    errno.EROFS: ("the disk is read-only.", "Make it writable, or name a place on another disk."),
    errno.EACCES: ("you may not read or write there.", "See to the rights of the folder and the file."),
    errno.EPERM: ("you may not read or write there.", "See to the rights of the folder and the file."),
    errno.ENOENT: ("there is no such file or folder.", "Check the name."),
    errno.ENOTDIR: ("a part of this path is no folder.", "Check the name."),
    errno.EISDIR: ("this is a folder, not a file.", "Name a file."),
    errno.EEXIST: ("there is something of that name already.", "Name another."),
    errno.ENAMETOOLONG: ("the name is too long.", "Name a shorter one."),
}
"""What the system refuses by its number, and how to mend it."""


def disk_error(error: OSError, where: str | None = None) -> DiskError:
    """What the system refused, told as an error of ours; `where` is the place, else the file that it names."""
    reason = (error.strerror or type(error).__name__).lower()
    usual = (f"the disk does not answer ({reason}).", "Look at the disk, then try again.")
    what, mend = REFUSALS.get(error.errno or 0, usual)
    named = error.filename if isinstance(error.filename, str) else None
    return DiskError(what, mend=mend, where=where or named)


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One fault of a file. `line` counts from 1; 0 when the fault belongs to the whole file."""

    path: str
    line: int
    what: str
    mend: str

    def __str__(self) -> str:
        place = f"{self.path}:{self.line}" if self.line else self.path
        return f"{place}: {self.what} {self.mend}".rstrip()


class FileFaultsError(EvalkitError):
    """Every fault of one file, collected, so that it can be mended in one go. Nothing of the file was kept."""

    exit_code = 2

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(sorted(faults))
        if not self.faults:
            raise ValueError("FileFaultsError needs at least one fault")
        self.path = self.faults[0].path
        n = len(self.faults)
        super().__init__(
            f"{n} fault{'s' if n > 1 else ''}; nothing was kept.",
            mend="Mend the lines below and try again.",
            where=self.path,
        )

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)

"""Is everything whole that a broken-off command could have left half written? What is kept, what lies beside it."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from evalkit.files.photos import PhotoStore
from tests.bench.desk_making import opened
from tests.bench.writing_cases import Case

LOGS = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a book while it is open, and after a program died in it."""


@dataclass(frozen=True)
class Desk:
    """A try's folder, the prepared one it is a copy of, and what the files hold that the command makes unhindered."""

    folder: Path
    prepared: Path
    case: Case
    expected: Mapping[str, bytes]

    @property
    def book(self) -> Path:
        return self.folder / self.case.book

    def n_new_acts(self) -> int:
        """How many acts were added; raises where one of those before is not what it was."""
        before, now = digests(self.prepared / self.case.book), digests(self.book)
        if now[: len(before)] != before and self.case.name not in ("trainee erase", "book restore"):
            raise AssertionError("an act of before is gone or changed")
        return len(now) - len(before)

    def half_files(self) -> list[str]:
        """Files of the command that lie there and are not whole."""
        return [name for name in self.case.files if not self._is_whole(name)]

    def lacking(self) -> list[str]:
        """Files of the command that are not there."""
        return [name for name in self.case.files if not (self.folder / name).is_file()]

    def _is_whole(self, name: str) -> bool:
        path = self.folder / name
        if not path.exists():
            return True
        return is_zip(path) if name.endswith(".zip") else path.read_bytes() == self.expected[name]

    def left_over(self, before: set[str]) -> list[str]:
        """Files that were not there before and are none that the command makes."""
        return sorted(files_of(self.folder) - before - set(self.case.files))


def files_of(folder: Path) -> set[str]:
    """Every file below, by its name from there; SQLite's own logs left out."""
    names = (path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir())
    return {name for name in names if not name.endswith(LOGS)}


def contents(folder: Path, names: tuple[str, ...]) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in names}


def is_zip(path: Path) -> bool:
    try:
        with zipfile.ZipFile(path) as box:
            return box.testzip() is None
    except zipfile.BadZipFile:
        return False


def digests(folder: Path) -> list[str]:
    """The chain of acts of a book."""
    with opened(folder) as book:
        return [act.digest for act in book.list_acts()]


def faults_of(folder: Path) -> Iterator[str]:
    """What `book check` finds, and pictures that the book does not know."""
    with opened(folder) as book:
        names = book.photo_names()
        store = PhotoStore(folder / "photos")
        yield from book.check()
        yield from store.check(names)


def strangers(folder: Path) -> list[str]:
    """Pictures, or pieces of one, that lie in the book's folder and that it does not know."""
    with opened(folder) as book:
        known = {PhotoStore(folder / "photos").path_of(name) for name in book.photo_names()}
    return [str(path) for path in sorted((folder / "photos").rglob("*")) if path.is_file() and path not in known]

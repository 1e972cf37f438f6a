"""A disk that may only be read: writing commands are refused in one line, reading commands work all the same."""

from __future__ import annotations

import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from tests.bench.children import Child
from tests.bench.desk_making import Desks
from tests.bench.disks import SmallDisk
from tests.bench.full_disks import line_faults
from tests.bench.wholeness import Desk, digests, faults_of, files_of
from tests.bench.writing_cases import MARKED, PACKET, READERS, Case

SAYS = re.compile(r"read-only|may not be written|cannot be written", re.IGNORECASE)
MAY_WORK = ("book check",)
"""They write only where something is to be cleared away, and say what they found all the same."""


def write(desk: Desk, disk: SmallDisk) -> tuple[bool, list[str]]:
    """(whether it was done, what broke) where nothing may be written; nothing is changed."""
    disk.lay(desk.prepared)
    before = {name: (disk.desk / name).read_bytes() for name in files_of(disk.desk)}
    with disk.read_only():
        told = Child.of(disk.desk, desk.case).wait()
    wrong = line_faults(told, SAYS)
    if told.code == 0 and desk.case.name not in MAY_WORK:
        wrong.append("done, on a disk that may only be read")
    if before != {name: (disk.desk / name).read_bytes() for name in files_of(disk.desk)}:
        wrong.append("something was changed")
    return told.code == 0, wrong + list(faults_of(desk.book))


def read_all(desks: Desks, disk: SmallDisk) -> Iterator[tuple[str, list[str]]]:
    """Each reading command with what broke: with the book closed well, and with acts still in the log of one killed."""
    prepared = desks.of(Case(PACKET, (*MARKED, "more pairs")))
    for how, lay in (("read-only", _as_it_is), ("read-only with a log", _with_a_log), ("a full disk", _as_it_is)):
        for words in READERS:
            lay(disk, prepared)
            out = desks.place / "elsewhere-out"
            shutil.rmtree(out, ignore_errors=True)
            out.mkdir()
            given = tuple(word.replace("{out}", str(out)) for word in words)
            yield f"{how}: {' '.join(words)}", _read(disk, given, is_full=how == "a full disk")


def _read(disk: SmallDisk, words: tuple[str, ...], *, is_full: bool) -> list[str]:
    if is_full:
        disk.fill(n_left=0)
        told = Child(disk.desk, words).wait()
        disk.make_room()
    else:
        with disk.read_only():
            told = Child(disk.desk, words).wait()
    if words[0] in ("assessment", "report"):  # that it was read is written down, so they say why they cannot
        unrecorded = [] if told.code else ["shown, and not recorded"]
        return line_faults(told, re.compile(SAYS.pattern + "|full")) + unrecorded
    wrong = [] if told.code == 0 else [f"ended with {told.code}"]
    wrong += [f"said: {told.err[-600:]}"] if told.err else []
    return wrong + ([] if told.out else ["said nothing"])


def _as_it_is(disk: SmallDisk, prepared: Path) -> None:
    disk.lay(prepared)


def _with_a_log(disk: SmallDisk, prepared: Path) -> None:
    """The last act stands in the log only, as after a kill or a pulled stick."""
    disk.lay(prepared)
    book = disk.desk / "evalkit-book"
    n_acts = len(digests(book))
    with closing(sqlite3.connect(book / "book.sqlite")) as holding:  # keeps others from emptying the log
        holding.execute("PRAGMA journal_mode").fetchall()
        holding.execute("SELECT count(*) FROM acts").fetchall()
        told = Child(disk.desk, ("trainee", "add", "lin", "Lin Aubrel")).wait()
        if told.code:
            raise SystemExit(told.err)
        shutil.copytree(book, disk.desk / "copy")
    shutil.rmtree(book)
    (disk.desk / "copy").rename(book)
    if not (book / "book.sqlite-wal").stat().st_size or n_acts == 0:
        raise SystemExit("the log is empty")

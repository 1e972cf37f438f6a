"""A disk that refuses is told in one line: where, what, how to mend it; nothing is kept, nothing half written.

`python -m tests.bench.hard_disks` tries every writing command on real disks; this is what needs no mounting.
"""

from __future__ import annotations

import os
import re
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Engine, event

from evalkit.book import connect
from evalkit.cli.app import run
from evalkit.errors import DiskError, disk_error
from tests.cli.desk import Desk

LINE = re.compile(r"evalkit: (\w+ ){0,2}[^ ]+: [^\n]+\.\n")
ADD = ("trainee", "add", "lin", "Lin Aubrel")
WRITING = (
    ADD,
    ("pair", "add", "S-103", "--edge", "bevel", "--size", "5.5"),
    ("pair", "photo", "S-101", "box.jpg"),
    ("pair", "change", "S-101", "--blade-length", "72"),
    ("round", "returned", "teo-1", "--on", "2026-04-20"),
    ("assessment", "take-in", "teo-1.md"),
)
FILES = (
    ("pair", "photo", "S-101", "box.jpg"),
    ("book", "new", "other"),
    ("book", "backup", "kept.zip"),
    ("rubric", "schema", "schemas"),
    ("packet", "round", "teo-1"),
    ("round", "papers", "teo-1"),
)


@pytest.fixture
def ready(out: Desk, make_picture) -> Desk:
    make_picture(out.folder / "box.jpg")
    return out


@contextmanager
def every_connection(pragma: str) -> Iterator[None]:
    """SQLite itself refuses, by a setting of each connection that is opened while the block runs."""

    def restrict(connection: sqlite3.Connection, _record: object) -> None:
        cursor = connection.cursor()
        pages = cursor.execute("PRAGMA page_count").fetchone()[0]
        cursor.execute(pragma.format(pages=pages))
        cursor.close()

    event.listen(Engine, "connect", restrict)
    try:
        yield
    finally:
        event.remove(Engine, "connect", restrict)


def files_in(desk: Desk) -> list[str]:
    return sorted(str(path) for path in desk.folder.rglob("*") if not path.name.endswith(("-wal", "-shm")))


def check_refused(desk: Desk, words: tuple[str, ...], pragma: str, told: str) -> None:
    """Refused in one line with nothing changed, and done when the reason is gone."""
    before = files_in(desk)
    with every_connection(pragma):
        err = desk.refuse(*words)
    assert LINE.fullmatch(err)
    assert err.startswith(f"evalkit: {Path('evalkit-book')}/book.sqlite: {told}")
    assert files_in(desk) == before
    assert "sound" in desk.do("book", "check").out
    desk.do(*words)


@pytest.mark.parametrize("words", WRITING, ids=" ".join)
def test_a_book_that_may_not_be_written(ready: Desk, words: tuple[str, ...]):
    check_refused(ready, words, "PRAGMA query_only=ON", "the book may not be written; nothing was changed.")


def test_a_book_on_a_full_disk(ready: Desk):
    """An act so long that the book needs another page for it."""
    rows = [f"T-{n},bevel,5.5" for n in range(60)]
    ready.write("stock.csv", "\n".join(["tag,edge_type,size_in", *rows, ""]))
    words = ("pair", "import", "stock.csv")
    check_refused(ready, words, "PRAGMA max_page_count={pages}", "the disk is full; nothing was changed.")


@pytest.mark.parametrize("words", WRITING, ids=" ".join)
def test_another_writer_is_waited_for_and_then_told(ready: Desk, words: tuple[str, ...], monkeypatch):
    monkeypatch.setattr(connect, "BUSY_MS", 30)
    before = files_in(ready)
    with closing(sqlite3.connect(ready.book / "book.sqlite", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        err = ready.refuse(*words)
        other.execute("ROLLBACK")
    assert LINE.fullmatch(err)
    assert "another program is writing in the book. Try again when it is done." in err
    assert files_in(ready) == before
    ready.do(*words)


@pytest.mark.parametrize("words", FILES, ids=" ".join)
@pytest.mark.parametrize("number", [28, 30], ids=["full", "read-only"])
def test_a_file_that_cannot_be_written(ready: Desk, words: tuple[str, ...], number: int, monkeypatch):
    before = files_in(ready)

    def refuse(_handle: int) -> None:
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as patched:
        patched.setattr("os.fsync", refuse)
        err = ready.refuse(*words)
    assert LINE.fullmatch(err)
    assert re.search(r"full|no space|read-only", err.lower())
    assert [name for name in files_in(ready) if name not in before and Path(name).is_file()] == []
    ready.do(*words)


def test_a_book_without_its_keeper_is_not_left(empty_desk: Desk):
    with every_connection("PRAGMA query_only=ON"):
        err = empty_desk.refuse("book", "new", "--mentor", "oda")
    assert LINE.fullmatch(err)
    assert list(empty_desk.folder.iterdir()) == []
    empty_desk.do("book", "new", "--mentor", "oda")


def test_reading_goes_on_where_nothing_can_be_written(ready: Desk):
    (ready.book / "book.sqlite-shm").symlink_to(Path("nowhere") / "at all")
    (ready.book / "book.sqlite-wal").unlink(missing_ok=True)
    for words in (("round", "list"), ("pair", "list"), ("book", "check"), ("round", "sheet", "teo-1")):
        assert ready.do(*words).out
    err = ready.run(*ADD).err
    assert LINE.fullmatch(err)
    assert "the book may not be written" in err


def test_a_temporary_folder_without_room_is_named(ready: Desk, monkeypatch: pytest.MonkeyPatch):
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(tempfile, "TemporaryFile", full)
        err = ready.refuse("pair", "photo", "S-101", "box.jpg")
    assert LINE.fullmatch(err)
    assert err.startswith("evalkit: temporary folder ")
    assert "the disk is full. Make room on it, then try again." in err


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_what_cannot_be_said_is_one_line_too(stocked: Desk):
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        command = [sys.executable, "-m", "evalkit", "--book", str(stocked.book), "pair", "list"]
        answer = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert answer.returncode == 1
    assert answer.stderr == "evalkit: standard output: the disk is full. Make room on it, then try again.\n"


def test_a_refusal_of_the_system_that_nobody_foresaw_is_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    def refuse(**_: object) -> None:
        raise OSError(5, "Input/output error", "somewhere/a file")

    monkeypatch.setattr("evalkit.cli.app.app", refuse)
    assert run(["x"]) == 1
    what = "the disk does not answer (input/output error). Look at the disk, then try again."
    assert capsys.readouterr() == ("", f"evalkit: somewhere/a file: {what}\n")


def test_a_refusal_tells_the_place_it_is_given_before_its_own():
    error = OSError(30, "Read-only file system", "/a/b")
    assert str(disk_error(error)) == ("/a/b: the disk is read-only. Make it writable, or name a place on another disk.")
    assert isinstance(disk_error(error, "here"), DiskError)
    assert str(disk_error(error, "here")).startswith("here: ")
    assert disk_error(OSError("odd")).what == "the disk does not answer (oserror)."

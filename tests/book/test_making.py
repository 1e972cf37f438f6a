"""A book is made whole or not at all, and nothing else is taken for one."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from evalkit.book import making
from evalkit.book.book import Book
from evalkit.book.connect import FILE, PHOTOS
from evalkit.errors import AlreadyError, BookError
from tests.book.values import NIA, TickingClock


def open_book(folder: Path) -> Book:
    return Book.open(folder, TickingClock())


def test_a_new_book_is_empty_and_sound(tmp_path: Path):
    (tmp_path / "empty").mkdir()
    for folder in (tmp_path / "new" / "book", tmp_path / "empty"):
        with Book.create(folder, TickingClock()) as book:
            assert book.check() == []
            assert book.list_acts() == book.list_rounds() == book.list_pairs() == book.list_people() == []
        assert sorted(path.name for path in folder.iterdir()) == [FILE, PHOTOS]


def test_the_safe_settings_hold_on_every_connection(folder: Path):
    with open_book(folder) as book, book._engine.connect() as connection:
        expected = {
            "journal_mode": "wal",
            "foreign_keys": 1,
            "synchronous": 2,
            "secure_delete": 1,
            "busy_timeout": 5000,
        }
        assert {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in expected} == expected


def test_making_one_where_something_is(folder: Path, tmp_path: Path, content_of):
    before = content_of(folder)
    with pytest.raises(AlreadyError, match="a book already"):
        Book.create(folder, TickingClock())
    assert content_of(folder) == before
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("hello", encoding="utf-8")
    for taken in (tmp_path / "full", tmp_path / "full" / "letter.txt"):
        with pytest.raises(AlreadyError, match="something already"):
            Book.create(taken, TickingClock())


@pytest.mark.parametrize("there", [True, False])
def test_a_half_made_book_is_taken_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool):
    def stop(path: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(making, "migrate", stop)
    folder = tmp_path / "book"
    if there:
        folder.mkdir()
    with pytest.raises(BookError, match="cannot be made"):
        Book.create(folder, TickingClock())
    assert [path.name for path in tmp_path.rglob("*")] == (["book"] if there else [])


def test_nothing_there(tmp_path: Path):
    with pytest.raises(BookError, match=r"no book here.*evalkit book new"):
        open_book(tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "told"),
    [(b"", "not a book"), (b"Dear mentor, " * 200, "not a book"), (b"SQLite format 3\x00" + b"\x00" * 900, "book")],
)
def test_another_file(tmp_path: Path, words: bytes, told: str):
    (tmp_path / FILE).write_bytes(words)
    with pytest.raises(BookError, match=told):
        open_book(tmp_path)
    assert (tmp_path / FILE).read_bytes() == words


def test_another_database_is_left_as_it_is(tmp_path: Path):
    with sqlite3.connect(tmp_path / FILE) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    connection.close()
    before = (tmp_path / FILE).read_bytes()
    with pytest.raises(BookError, match="but not a book"):
        open_book(tmp_path)
    assert (tmp_path / FILE).read_bytes() == before


@pytest.mark.parametrize("version", ["0099", "", "x"])
def test_a_newer_book(folder: Path, version: str):
    with sqlite3.connect(folder / FILE) as connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", [version])
    connection.close()
    with pytest.raises(BookError, match="newer evalkit"):
        open_book(folder)


def test_an_older_book_is_brought_up_to_date(folder: Path, monkeypatch: pytest.MonkeyPatch):
    asked = []
    monkeypatch.setattr(making, "VERSIONS", (*making.VERSIONS, "9999"))
    monkeypatch.setattr(making, "migrate", asked.append)
    open_book(folder).close()
    assert asked == [folder / FILE]


def test_a_truncated_book(full_copy: Path):
    path = full_copy / FILE
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    try:
        book = open_book(full_copy)
    except BookError:
        return
    with book:
        assert book.check() != []


READ_ONLY = """
import os, sys, pathlib
from evalkit.book.book import Book
from evalkit.errors import BookError
from tests.book.values import NIA, TickingClock

def write(folder):
    with Book.open(pathlib.Path(folder), TickingClock()) as book:
        book.add_person("trainee", NIA, "oda")

write(sys.argv[1])  # and so everything is loaded before the rights are given up
if os.geteuid() == 0:  # permissions do not bind the superuser
    os.setuid(65534)
try:
    write(sys.argv[2])
except BookError as error:
    print(error)
"""


@pytest.fixture
def shown_folder(folder: Path) -> Iterator[Path]:
    """A copy of the book where any user may look."""
    parent = Path(tempfile.mkdtemp(prefix="evalkit-"))
    parent.chmod(0o755)
    yield Path(shutil.copytree(folder, parent / "book"))
    (parent / "book").chmod(0o755)
    shutil.rmtree(parent)


@pytest.mark.skipif(os.name != "posix", reason="file permissions as on POSIX")
@pytest.mark.parametrize(("folder_mode", "file_mode"), [(0o555, 0o444), (0o755, 0o444), (0o755, 0o000)])
def test_files_that_may_not_be_written(folder: Path, shown_folder: Path, content_of, folder_mode: int, file_mode: int):
    before = content_of(folder)
    (shown_folder / FILE).chmod(file_mode)
    shown_folder.chmod(folder_mode)
    command = [sys.executable, "-c", READ_ONLY, folder, shown_folder]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert "may not be written" in done.stdout or "cannot be opened" in done.stdout
    assert done.stdout.count("\n") == 1
    (shown_folder / FILE).chmod(0o644)
    shown_folder.chmod(0o755)
    assert content_of(shown_folder) == before


def test_closing_and_opening_keeps_everything(folder: Path):
    with open_book(folder) as book:
        book.add_person("trainee", NIA, "oda")
    assert not (folder / f"{FILE}-wal").exists()
    with open_book(folder) as book:
        assert book.list_people("trainee") == [NIA]

"""A book that cannot be written where it lies is read all the same, and says so to whoever would write."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from evalkit.book import making
from evalkit.book.book import Book
from evalkit.book.connect import FILE
from evalkit.book.restoring import restore
from evalkit.domain.round import Person
from evalkit.errors import BookError
from tests.book.values import START, TickingClock

LIN = Person(key="lin", name="Lin Aubrel")
SHM = f"{FILE}-shm"


def open_book(folder: Path) -> Book:
    return Book.open(folder, TickingClock())


def shut(folder: Path) -> Path:
    """The book where SQLite cannot write beside it: to an administrator, rights alone would forbid nothing."""
    (folder / SHM).unlink(missing_ok=True)
    (folder / SHM).symlink_to(Path("nowhere") / "at all")
    return folder


@pytest.fixture
def with_log(full_copy: Path, tmp_path: Path) -> Path:
    """The last act stands in the log only, as after a kill."""
    with closing(sqlite3.connect(full_copy / FILE)) as other:
        other.execute("SELECT count(*) FROM acts").fetchone()
        with open_book(full_copy) as book:
            book.add_person("trainee", LIN, "oda")
        shutil.copytree(full_copy, tmp_path / "pulled")
    assert (tmp_path / "pulled" / f"{FILE}-wal").stat().st_size > 0
    return tmp_path / "pulled"


def test_the_trick_of_these_tests_does_shut_a_book(full_copy: Path):
    with closing(sqlite3.connect(shut(full_copy) / FILE)) as connection:
        with pytest.raises(sqlite3.OperationalError) as caught:
            connection.execute("SELECT count(*) FROM acts")
        assert caught.value.sqlite_errorname == "SQLITE_CANTOPEN"


def test_it_is_read_as_it_stands(full_copy: Path):
    with open_book(full_copy) as book:
        acts, people, photos = book.list_acts(), book.list_people(), book.photo_names()
    before = (full_copy / FILE).read_bytes()
    with open_book(shut(full_copy)) as book:
        assert (book.list_acts(), book.list_people(), book.photo_names()) == (acts, people, photos)
        assert book.check() == []
    assert (full_copy / FILE).read_bytes() == before


def test_what_stands_in_the_log_only_is_read_too(with_log: Path):
    before = (with_log / FILE).read_bytes()
    with open_book(shut(with_log)) as book:
        assert LIN in book.list_people("trainee")
        assert book.check() == []
    assert (with_log / FILE).read_bytes() == before


def test_whoever_would_write_is_told(full_copy: Path):
    with open_book(shut(full_copy)) as book:
        n_acts = len(book.list_acts())
        with pytest.raises(BookError, match="may not be written; nothing was changed") as caught:
            book.add_person("trainee", LIN, "oda")
        assert caught.value.where == str(full_copy / FILE)
        with pytest.raises(BookError, match="may not be written"), book.alone():
            pass
        assert len(book.list_acts()) == n_acts


def test_reading_within_reading_is_two_readers(full_copy: Path):
    with open_book(shut(full_copy)) as book:
        assert [len(book.list_rounds(one.key)) for one in book.list_people("trainee")]


def test_an_older_book_says_that_it_has_to_be_brought_up_to_date(full_copy: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(making, "VERSIONS", (*making.VERSIONS, "9999"))
    with pytest.raises(BookError, match="has to be brought up to date: the book may not be written") as caught:
        open_book(shut(full_copy))
    assert caught.value.where == str(full_copy / FILE)


def test_a_book_that_cannot_be_read_either_is_told_as_it_was(tmp_path: Path):
    Book.create(tmp_path / "book", lambda: pytest.fail("no act")).close()
    folder = shut(tmp_path / "book")
    (folder / f"{FILE}-wal").mkdir()
    with pytest.raises(BookError, match="cannot be opened"):
        open_book(folder)


def test_a_backup_of_it_is_whole(full_copy: Path, tmp_path: Path):
    with open_book(full_copy) as book:
        n_acts = len(book.list_acts())
    with open_book(shut(full_copy)) as book:
        book.back_up(tmp_path / "kept.zip", despite_lack=True)
    restored = restore(tmp_path / "kept.zip", tmp_path / "again", START)
    assert restored.n_acts == n_acts

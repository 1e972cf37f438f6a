"""A book that is put back while others have the old one open: nobody writes in a book that was set aside."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from evalkit.book import restoring
from evalkit.book.book import Book
from evalkit.book.connect import FILE
from evalkit.book.restoring import restore
from evalkit.domain.round import Person
from evalkit.errors import BookError, InputError
from tests.book.values import START, TickingClock

LIN = Person(key="lin", name="Lin Aubrel")


@pytest.fixture
def backup(full_copy: Path, tmp_path: Path) -> Path:
    with Book.open(full_copy, TickingClock()) as book:
        book.back_up(tmp_path / "kept.zip", despite_lack=True)
    return tmp_path / "kept.zip"


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_a_book_that_is_open_elsewhere_is_not_replaced(backup: Path, full_copy: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(restoring, "BUSY_MS", 30)
    before = names(full_copy.parent)
    with Book.open(full_copy, TickingClock()) as book:
        n_acts = len(book.list_acts())
        for is_over in (True, False):
            with pytest.raises(BookError, match="another program has the book open; nothing was changed") as caught:
                restore(backup, full_copy, START, is_over=is_over)
            assert caught.value.where == str(full_copy)
        book.add_person("trainee", LIN, "oda")
        assert len(book.list_acts()) == n_acts + 1
        assert book.check() == []
    assert names(full_copy.parent) == before
    assert restore(backup, full_copy, START, is_over=True).aside is not None


def test_a_book_that_was_set_aside_takes_no_act_for_the_one_in_its_place(full_copy: Path):
    with Book.open(full_copy, TickingClock()) as book:
        full_copy.rename(full_copy.with_name("aside"))
        with Book.create(full_copy, TickingClock()) as other:
            with pytest.raises(BookError, match="another book was put in the place of this one; nothing was changed"):
                book.add_person("trainee", LIN, "oda")
            assert other.list_acts() == []
    with Book.open(full_copy.with_name("aside"), TickingClock()) as book:
        assert LIN not in book.list_people()


def test_a_book_that_is_gone_takes_no_act_either(full_copy: Path):
    with Book.open(full_copy, TickingClock()) as book:
        full_copy.rename(full_copy.with_name("aside"))
        with pytest.raises(BookError, match="another book was put in the place"):
            book.add_person("trainee", LIN, "oda")


def test_what_lies_there_and_is_unreadable_is_in_nobodys_hands(backup: Path, full_copy: Path):
    (full_copy / FILE).write_bytes(b"nothing that SQLite knows" * 100)
    restored = restore(backup, full_copy, START, is_over=True)
    assert restored.aside is not None
    assert (restored.aside / FILE).read_bytes().startswith(b"nothing")
    with closing(sqlite3.connect(full_copy / FILE)) as connection:
        assert connection.execute("SELECT count(*) FROM acts").fetchone()[0] == restored.n_acts


def test_a_book_that_cannot_be_put_in_its_place_leaves_the_old_one_there(
    backup: Path, full_copy: Path, monkeypatch: pytest.MonkeyPatch
):
    rename = Path.rename

    def refuse_the_new(path: Path, target: Path) -> Path:
        if path.name.startswith("."):
            raise OSError(5, "Input/output error")
        return rename(path, target)

    before = names(full_copy.parent)
    monkeypatch.setattr(Path, "rename", refuse_the_new)
    with pytest.raises(InputError, match=r"cannot be put back \(input/output error\); what was there is as it was"):
        restore(backup, full_copy, START, is_over=True)
    assert names(full_copy.parent) == before
    with Book.open(full_copy, TickingClock()) as book:
        assert book.check() == []


def test_a_full_disk_under_a_backup_is_not_said_of_the_books(full_copy: Path, tmp_path: Path, monkeypatch):
    """SQLite says the same of either."""

    class Full(sqlite3.Connection):
        def backup(self, *_: object, **__: object) -> None:
            error = sqlite3.OperationalError("database or disk is full")
            error.sqlite_errorname = "SQLITE_FULL"
            raise error

    with Book.open(full_copy, TickingClock()) as book:
        monkeypatch.setattr("evalkit.book.backups.sqlite3.Connection", Full)
        book._engine.pool._creator = lambda *_: sqlite3.connect(full_copy / FILE, factory=Full)
        book._engine.dispose()
        with pytest.raises(InputError, match=r"no space left on device\)\. Name a place with room") as caught:
            book.back_up(tmp_path / "stick.zip", despite_lack=True)
    assert caught.value.where == str(tmp_path / "stick.zip")
    assert not [one for one in tmp_path.iterdir() if "stick" in one.name]

"""What the school has taught: kept with its day, the newest counts, and it can be forgotten once."""

from __future__ import annotations

import sqlite3
from datetime import date
from pathlib import Path

import pytest

from evalkit.book.book import Book
from evalkit.book.connect import FILE, engine_for
from evalkit.book.making import make_book, migrate, read_version
from evalkit.book.schema import VERSIONS
from evalkit.errors import NotFoundError
from tests.book.conftest import take_away
from tests.book.values import ODA, TickingClock
from tests.progress.learnt import VALUES

LATER = VALUES.model_copy(update={"learnt_on": date(2026, 10, 1), "step": 0.8660254037844386})


def test_they_come_back_to_the_last_digit_and_the_newest_counts(book: Book):
    assert book.find_school_values() is None
    assert book.record_school_values(VALUES, "oda") == 1
    assert book.find_school_values() == VALUES
    assert book.record_school_values(LATER, "oda") == 2
    assert book.find_school_values() == LATER
    assert book.check() == []


def test_forgetting_goes_back_to_the_defaults_and_not_to_what_was_learnt_before(book: Book):
    book.record_school_values(VALUES, "oda")
    book.record_school_values(LATER, "oda")
    assert book.forget_school_values("oda") == LATER
    assert book.find_school_values() is None
    act = book.get_act(book.list_acts()[-1].seq)
    assert (act.act, act.subject, act.who) == ("forget what was learnt", "the school", "oda")
    assert book.check() == []
    n_acts = len(book.list_acts())
    with pytest.raises(NotFoundError, match="defaults stand already"):
        book.forget_school_values("oda")
    assert len(book.list_acts()) == n_acts
    book.record_school_values(VALUES, "oda")
    assert book.find_school_values() == VALUES
    assert book.check() == []


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE school_values SET content = replace(content, '\"step\":1.1', '\"step\":2.1')",
        "UPDATE school_values SET forgotten_at = '2026-09-02T09:00:00.000000Z'",
        "DELETE FROM school_values",
        "INSERT INTO school_values SELECT 2, content, learnt_at, NULL FROM school_values",
    ],
)
def test_a_changed_row_is_told(folder: Path, change: str):
    with Book.open(folder, TickingClock()) as book:
        book.record_school_values(VALUES, "oda")
    with sqlite3.connect(folder / FILE) as connection:
        assert connection.execute(change).rowcount == 1
    connection.close()
    with Book.open(folder, TickingClock()) as book:
        (fault,) = book.check()
        assert fault.startswith("school values")


def test_a_book_of_number_0003_is_brought_up_and_keeps_its_rows(tmp_path: Path):
    folder = tmp_path / "book"
    make_book(folder)
    with Book.open(folder, TickingClock()) as book:
        book.add_person("mentor", ODA, "oda")
    with sqlite3.connect(folder / FILE) as connection:
        take_away(connection, "school_values")
        connection.execute("UPDATE alembic_version SET version_num = '0003'")
    connection.close()
    migrate(folder / FILE)
    assert read_version(engine_for(folder / FILE)) == VERSIONS[-1]
    with Book.open(folder, TickingClock()) as book:
        assert book.list_people() == [ODA]
        assert book.find_school_values() is None
        assert book.check() == []

"""A second marking at work: kept pair by pair, never overwritten by another hand, whole or not at all when finished."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import update

from evalkit.book.book import Book
from evalkit.book.connect import FILE, writing
from evalkit.book.drafts import state_of
from evalkit.book.making import engine_for, make_book, migrate, read_version
from evalkit.book.schema import VERSIONS, second_drafts
from evalkit.domain.marking import MarkedPair
from evalkit.errors import ChangedError, InputError, NotFoundError
from tests.book import values
from tests.book.values import ODA, PHOTO, RUBRIC, TickingClock, marked, marking_of, round_of

DAY = date(2026, 5, 4)
KEY = "nia-1"


@pytest.fixture
def planned(book: Book) -> Book:
    book.add_round(round_of(), "oda")
    return book


def save(book: Book, pair: MarkedPair, **more: object) -> MarkedPair:
    return book.save_second_pair(KEY, "oda", pair, RUBRIC.digest, "oda", **more)  # type: ignore[arg-type]


def drafts(book: Book) -> dict[int, MarkedPair]:
    return book.list_second_drafts(KEY, "oda")


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_whatever_a_pair_may_be_comes_back_as_it_went_in(
    empty_folder: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
):
    folder = Path(shutil.copytree(empty_folder, tmp_path_factory.mktemp("second") / "book"))
    with Book.open(folder, TickingClock()) as book:
        from tests.book.conftest import start

        start(book)
        book.add_photo_row(*PHOTO, "oda")
        book.add_round(round_of(), "oda")
        for number in (2, 1, 2):
            pair = data.draw(values.marked_pairs(number, [PHOTO[0]]))
            assert save(book, pair) == pair
            assert drafts(book)[number] == pair
        assert list(drafts(book)) == [1, 2]
        assert book.check() == []


def test_what_is_picked_anew_leaves_what_is_begun(planned: Book):
    planned.pick_second_pairs(KEY, "oda", {1, 2}, "oda")
    save(planned, marked(2))
    planned.pick_second_pairs(KEY, "oda", {3}, "oda")
    assert drafts(planned) == {2: marked(2), 3: MarkedPair(number=3)}
    acts = planned.latest_act()
    planned.pick_second_pairs(KEY, "oda", {2, 3}, "oda")
    assert planned.latest_act() == acts, "nothing was changed"
    with pytest.raises(InputError, match="no pair 77"):
        planned.pick_second_pairs(KEY, "oda", {77}, "oda")
    assert planned.check() == []


def test_each_mentor_has_a_draft_of_her_own(planned: Book):
    save(planned, marked(1))
    planned.save_second_pair(KEY, "berit", marked(1, level=0), RUBRIC.digest, "berit")
    assert drafts(planned) == {1: marked(1)}
    assert planned.list_second_drafts(KEY, "berit") == {1: marked(1, level=0)}
    with pytest.raises(NotFoundError):
        planned.save_second_pair(KEY, "nobody", marked(1), RUBRIC.digest, "oda")


def test_a_pair_changed_meanwhile_is_neither_overwritten_nor_finished(planned: Book):
    save(planned, marked(1), based_on="")
    with pytest.raises(ChangedError, match="changed meanwhile"):
        save(planned, marked(1, level=0), based_on="")
    save(planned, marked(1), based_on=""), "the same words are no conflict"
    with pytest.raises(ChangedError):
        planned.finish_second_pair(KEY, "oda", 1, "oda", DAY, based_on="")
    assert drafts(planned) == {1: marked(1)}
    assert planned.list_second_markings() == []


def test_finished_it_is_kept_for_good_and_no_draft_any_more(planned: Book):
    save(planned, marked(1))
    assert planned.finish_second_pair(KEY, "oda", 1, "oda", DAY, based_on=state_of(marked(1)))
    (kept,) = planned.list_second_markings(KEY)
    assert (kept.mentor_key, kept.marked_on, kept.pairs) == ("oda", DAY, (marked(1),))
    assert drafts(planned) == {}
    with pytest.raises(NotFoundError, match="no second marking"):
        planned.finish_second_pair(KEY, "oda", 1, "oda", DAY)
    save(planned, marked(1))
    assert not planned.finish_second_pair(KEY, "oda", 1, "oda", DAY), "this very one is kept already"
    assert drafts(planned) == {}
    assert planned.check() == []


def test_what_is_put_away_stands_in_the_history(planned: Book):
    save(planned, marked(1))
    planned.drop_second_pair(KEY, "oda", 1, "oda")
    assert drafts(planned) == {}
    before = planned.get_act(planned.latest_act()).before
    assert before is not None
    assert "good line" in str(before)
    assert planned.check() == []
    with pytest.raises(NotFoundError):
        planned.drop_second_pair(KEY, "oda", 1, "oda")


def test_a_draft_changed_behind_the_books_back_is_told(planned: Book):
    save(planned, marked(1))
    with writing(planned._engine) as connection:
        content = connection.exec_driver_sql("SELECT content FROM second_drafts").scalar_one()
        connection.execute(update(second_drafts).values(content=content.replace('"level":2', '"level":3')))
    assert planned.check() == ["second draft nia-1 oda number 1 is not what was written"]
    with writing(planned._engine) as connection:
        connection.execute(update(second_drafts).values(number=2))
    assert any("number 2 holds pair 1" in fault for fault in planned.check())


def test_one_step_back_after_the_other(planned: Book):
    assert planned.find_second_before(KEY, "oda", 1) is None
    planned.pick_second_pairs(KEY, "oda", {1}, "oda")
    assert planned.find_second_before(KEY, "oda", 1) is None
    for level in (0, 1, 2):
        save(planned, marked(1, level=level))
    for expected in (marked(1, level=1), marked(1, level=0), MarkedPair(number=1)):
        before = planned.find_second_before(KEY, "oda", 1)
        assert before == expected
        save(planned, before, is_step_back=True)
    assert planned.find_second_before(KEY, "oda", 1) is None


def test_the_first_marking_and_its_report_stay_what_they_were(planned: Book):
    planned.take_in_marking(marking_of(round_of()), "oda")
    first = planned.find_marking(KEY)
    save(planned, marked(1, level=0))
    assert planned.find_marking(KEY) == first
    assert planned.find_draft(KEY, "oda") is None


def test_a_book_of_number_0005_is_brought_up_and_keeps_its_rows(tmp_path: Path):
    folder = tmp_path / "book"
    make_book(folder)
    with Book.open(folder, TickingClock()) as book:
        book.add_person("mentor", ODA, "oda")
    with sqlite3.connect(folder / FILE) as connection:
        connection.execute("DROP TABLE second_drafts")
        connection.execute("UPDATE alembic_version SET version_num = '0005'")
    connection.close()
    migrate(folder / FILE)
    assert read_version(engine_for(folder / FILE)) == VERSIONS[-1]
    with Book.open(folder, TickingClock()) as book:
        assert book.list_people() == [ODA]
        assert book.check() == []

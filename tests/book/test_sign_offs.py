"""Sign-offs and second markings: kept with what they rest on, withdrawn once, never in the way of a first marking."""

from __future__ import annotations

import sqlite3
from datetime import date
from pathlib import Path

import pytest

from evalkit.book.book import Book
from evalkit.book.connect import FILE, engine_for
from evalkit.book.making import make_book, migrate, read_version
from evalkit.book.schema import VERSIONS
from evalkit.errors import AlreadyError, InputError, NotFoundError
from tests.book.conftest import take_away
from tests.book.values import JOURNEY, NIA, ODA, SECOND, TickingClock, marking_of, round_of, sign_off_of

LATER = date(2026, 8, 1)


def test_a_sign_off_comes_back_letter_for_letter(book: Book):
    given = sign_off_of("bevel", "sword")
    assert book.record_sign_off(given, "oda") == 1
    (kept,) = book.list_sign_offs("nia")
    assert (kept.number, kept.sign_off, kept.withdrawn_at) == (1, given, None)
    assert book.list_sign_offs() == [kept]
    assert book.check() == []


def test_withdrawing_keeps_what_it_rested_on(book: Book):
    book.record_sign_off(sign_off_of("bevel"), "oda")
    taken = book.withdraw_sign_off(1, LATER, "three came back dull", "oda")
    (kept,) = book.list_sign_offs("nia")
    assert kept.sign_off == taken
    assert not taken.stands
    assert taken.evidence == sign_off_of("bevel").evidence
    act = book.get_act(book.list_acts()[-1].seq)
    assert (act.act, act.subject, act.who) == ("withdraw sign-off", "sign-off 1", "oda")
    assert book.check() == []
    with pytest.raises(AlreadyError, match="withdrawn on"):
        book.withdraw_sign_off(1, LATER, "again", "oda")
    with pytest.raises(NotFoundError, match="no sign-off '7'"):
        book.withdraw_sign_off(7, LATER, "again", "oda")


def test_one_stands_for_an_edge_type_at_a_time(book: Book):
    book.record_sign_off(sign_off_of("bevel", "sword"), "oda")
    with pytest.raises(AlreadyError, match="for sword"):
        book.record_sign_off(sign_off_of("sword", "convex"), "oda")
    book.withdraw_sign_off(1, LATER, "dull", "oda")
    assert book.record_sign_off(sign_off_of("sword"), "oda") == 2


def test_a_failed_withdrawal_leaves_nothing(book: Book):
    book.record_sign_off(sign_off_of("bevel"), "oda")
    n_acts = len(book.list_acts())
    for day, reason in ((LATER, " "), (date(2020, 1, 1), "dull")):
        with pytest.raises(InputError):
            book.withdraw_sign_off(1, day, reason, "oda")
    assert len(book.list_acts()) == n_acts
    assert book.list_sign_offs()[0].sign_off.stands


def test_strangers_are_refused(book: Book):
    with pytest.raises(NotFoundError, match="no trainee"):
        book.record_sign_off(sign_off_of("bevel", trainee=ODA), "oda")
    with pytest.raises(NotFoundError, match="no mentor"):
        book.record_sign_off(sign_off_of("bevel", mentor=NIA), "oda")


@pytest.fixture
def back(book: Book) -> Book:
    round_ = round_of()
    book.add_round(round_, "oda")
    for leg in JOURNEY:
        book.add_leg(round_.key, leg, "oda")
    return book


def test_a_second_marking_stands_beside_the_first(back: Book):
    round_ = round_of()
    back.take_in_marking(marking_of(round_), "oda")
    first = back.find_marking(round_.key)
    second = marking_of(round_, level=1)
    assert back.record_second_marking(second, "oda")
    assert not back.record_second_marking(second, "oda")
    other = marking_of(round_, level=1, mentor=SECOND)
    assert back.record_second_marking(other, "berit")
    assert back.list_second_markings(round_.key) == back.list_second_markings() == [second, other]
    assert back.list_second_markings("nia-9") == []
    assert back.find_marking(round_.key) == first
    assert len(back.marking_versions(round_.key)) == 1
    assert back.check() == []


def test_a_second_marking_fits_its_round(back: Book):
    round_ = round_of()
    strange = marking_of(round_)
    pairs = (strange.pairs[0].model_copy(update={"number": 77, "readings": ()}),)
    with pytest.raises(InputError, match="no pair 77"):
        back.record_second_marking(strange.model_copy(update={"pairs": pairs}), "oda")
    with pytest.raises(NotFoundError):
        back.record_second_marking(strange.model_copy(update={"mentor_key": "nobody"}), "oda")
    assert back.list_second_markings() == []


def test_a_book_of_number_0001_is_brought_up_and_keeps_its_rows(tmp_path: Path):
    folder = tmp_path / "book"
    make_book(folder)
    with Book.open(folder, TickingClock()) as book:
        book.add_person("mentor", ODA, "oda")
    with sqlite3.connect(folder / FILE) as connection:
        take_away(connection, "sign_offs", "second_markings", "packets", "school_values")
        connection.execute("UPDATE alembic_version SET version_num = '0001'")
    connection.close()
    migrate(folder / FILE)
    assert read_version(engine_for(folder / FILE)) == VERSIONS[-1]
    with Book.open(folder, TickingClock()) as book:
        assert book.list_people() == [ODA]
        assert book.list_sign_offs() == []
        assert book.check() == []

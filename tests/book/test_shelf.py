"""Pairs sent no more, pairs missing from their box, and pictures of pairs."""

from __future__ import annotations

from datetime import date

import pytest

from evalkit.book.book import Book
from evalkit.book.kept import PhotoRow
from evalkit.domain.assessment import Photo
from evalkit.errors import AlreadyError, InputError, NotFoundError
from tests.book.values import JOURNEY, LAID_OUT, SHELF, round_of

ON = date(2026, 4, 1)


def test_a_pair_is_retired_and_brought_back_and_both_stay_written(book: Book):
    book.retire_pair("S-101", ON, " spent hollow ", "oda")
    assert list(book.retired_pairs()) == ["S-101"]
    with pytest.raises(AlreadyError, match="retired already"):
        book.retire_pair("S-101", ON, "again", "oda")
    kept = book.bring_back_pair("S-101", date(2026, 4, 2), "hollowed anew", "oda")
    assert (kept.reason, kept.back_reason) == ("spent hollow", "hollowed anew")
    assert book.retired_pairs() == {}
    book.retire_pair("S-101", date(2026, 5, 1), "dropped", "oda")
    assert [(one.reason, one.back_on) for one in book.list_retirements("S-101")] == [
        ("spent hollow", date(2026, 4, 2)), ("dropped", None),
    ]  # fmt: skip
    assert book.check() == []


def test_what_cannot_be_is_refused_and_changes_nothing(book: Book):
    book.add_round(round_of(), "oda")
    n_acts = len(book.list_acts())
    for tag, reason, words in (
        ("S-101", "worn", "in round nia-1, which is planned"),
        ("S-102", " ", "for a reason"),
        ("S-1O1", "worn", "no pair 'S-1O1'"),
    ):
        with pytest.raises((InputError, NotFoundError), match=words):
            book.retire_pair(tag, ON, reason, "oda")
    with pytest.raises(InputError, match="not retired"):
        book.bring_back_pair("S-101", ON, "", "oda")
    assert len(book.list_acts()) == n_acts


def test_a_day_before_it_was_retired_is_refused(book: Book):
    book.retire_pair("S-101", ON, "worn", "oda")
    with pytest.raises(InputError, match="lies before 2026-04-01"):
        book.bring_back_pair("S-101", date(2026, 3, 31), "", "oda")


def test_a_pair_its_box_came_back_without_is_missing_until_it_is_found(book: Book):
    book.add_round(round_of(), "oda")
    for leg in (*JOURNEY[:3], JOURNEY[3].model_copy(update={"condition": "Missing: pair 3."})):
        book.add_leg("nia-1", leg, "oda")
    assert [book.find_missing(tag) for tag in ("S-101", "S-103")] == [None, "nia-1"]
    kept = book.bring_back_pair("S-103", date(2026, 4, 1), "under the bench", "oda")
    assert (kept.retired_on, kept.reason) == (JOURNEY[3].happened_on, "not in the box of nia-1 when it came back")
    assert book.find_missing("S-103") is None
    with pytest.raises(InputError, match="not retired"):
        book.bring_back_pair("S-103", date(2026, 4, 1), "", "oda")
    assert book.check() == []


def test_pictures_of_a_pair_stand_once_in_the_order_they_came(book: Book):
    pictures = [Photo(file=SHELF[0], caption="teeth"), Photo(file=LAID_OUT[0])]
    rows = [PhotoRow(*SHELF), PhotoRow(*LAID_OUT)]
    assert book.add_stock_photos("S-102", pictures[:1], "oda", rows[:1]) == 1
    assert book.add_stock_photos("S-102", [*pictures, pictures[1]], "oda", rows) == 1
    assert book.list_stock_photos("S-102") == pictures
    assert book.list_stock_photos("S-101") == []
    n_acts = len(book.list_acts())
    assert book.add_stock_photos("S-102", pictures, "oda", rows) == 0
    assert len(book.list_acts()) == n_acts
    with pytest.raises(NotFoundError):
        book.add_stock_photos("S-9", pictures, "oda", rows)
    assert book.check() == []

"""Steps back on a pair: one mark after the other, never forward again, and not below what a check-in wrote."""

from __future__ import annotations

import pytest

from evalkit.book.book import Book
from evalkit.domain.marking import MarkedPair
from evalkit.domain.round import Leg
from tests.book.values import JOURNEY, RUBRIC, marked, round_of

KEY = "nia-1"


@pytest.fixture
def planned(book: Book) -> Book:
    book.add_round(round_of(), "oda")
    return book


def said(word: str) -> MarkedPair:
    return MarkedPair(number=1, keep=word)


def mark(book: Book, *words: str) -> None:
    for word in words:
        book.save_marked_pair(KEY, "oda", said(word), RUBRIC.digest, "oda")


def take_back(book: Book, word: str) -> None:
    """As a page does that took marks back itself before it kept them."""
    book.take_back_mark(KEY, "oda", said(word), RUBRIC.digest, "oda")


def steps_left(book: Book) -> list[str]:
    """Where step after step leads, and that each is kept."""
    found = []
    while (before := book.find_pair_before(KEY, "oda", 1)) is not None:
        book.take_back_mark(KEY, "oda", before, RUBRIC.digest, "oda")
        found.append(before.keep)
        assert len(found) < 20, "it goes in a circle"
    return found


def test_every_step_goes_further_back(planned: Book):
    mark(planned, "a", "b", "c")
    assert steps_left(planned) == ["b", "a", ""]


def test_what_was_taken_back_is_not_brought_forward_again(planned: Book):
    mark(planned, "a", "b")
    take_back(planned, "a")
    take_back(planned, "")
    assert planned.find_pair_before(KEY, "oda", 1) is None


def test_a_part_of_a_save_taken_back_stands_instead_of_it(planned: Book):
    mark(planned, "a", "a b c")
    take_back(planned, "a b")
    assert steps_left(planned) == ["a", ""]


def test_marks_made_after_a_step_back_are_steps_of_their_own(planned: Book):
    mark(planned, "a", "b")
    take_back(planned, "a")
    mark(planned, "c")
    assert steps_left(planned) == ["a", ""]


def test_the_same_mark_made_again_is_a_step(planned: Book):
    mark(planned, "a", "b", "a")
    assert steps_left(planned) == ["b", "a", ""]


def test_an_amendment_goes_back_to_the_finished_version_and_no_further(planned: Book):
    mark(planned, "a", "b")
    planned.finish_marking(KEY, "oda", "oda")
    planned.start_amendment(KEY, "oda", "light", "oda")
    assert planned.find_pair_before(KEY, "oda", 1) is None
    mark(planned, "c")
    assert steps_left(planned) == ["b"]


def test_a_draft_put_away_and_begun_again_begins_anew(planned: Book):
    mark(planned, "a", "b")
    planned.discard_draft(KEY, "oda", "oda")
    mark(planned, "c")
    assert steps_left(planned) == [""]


def test_what_a_check_in_wrote_of_a_pair_is_not_taken_back(planned: Book):
    for leg in JOURNEY[:-1]:
        planned.add_leg(KEY, leg, "oda")
    back = Leg(kind=JOURNEY[-1].kind, happened_on=JOURNEY[-1].happened_on)
    planned.check_in(KEY, back, [said("tip bent")], "oda")
    assert planned.find_pair_before(KEY, "oda", 1) is None
    mark(planned, "tip bent, and worn")
    assert steps_left(planned) == ["tip bent"]


def test_another_pair_and_another_hand_are_left_alone(planned: Book):
    mark(planned, "a")
    planned.save_marked_pair(KEY, "oda", marked(2), RUBRIC.digest, "oda")
    planned.save_marked_pair(KEY, "berit", marked(1), RUBRIC.digest, "berit")
    assert steps_left(planned) == [""]
    assert planned.find_pair_before(KEY, "berit", 1) == MarkedPair(number=1)

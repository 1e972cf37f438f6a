"""A plan taken back: its pairs are free, its key too, and the history keeps what was planned."""

from __future__ import annotations

from pathlib import Path

import pytest

from evalkit.book.book import Book
from evalkit.book.kept import PhotoRow
from evalkit.errors import AlreadyError, InputError, NotFoundError
from tests.book.values import JOURNEY, LAID_OUT, intake_of, round_of


@pytest.fixture
def planned(book: Book) -> Book:
    book.add_round(round_of(), "oda")
    return book


def test_a_plan_is_taken_back_and_made_again_under_another_key(planned: Book):
    round_ = planned.get_round("nia-1")
    assert planned.remove_plan("nia-1", "oda") == round_
    assert planned.check() == []
    assert planned.rounds_holding(round_.pairs[0].pair.tag) == []
    with pytest.raises(NotFoundError):
        planned.get_round("nia-1")
    act = planned.get_act(planned.latest_act())
    assert (act.act, act.subject) == ("take back plan", "round nia-1")
    assert act.before is not None
    assert act.before["round nia-1"]["trainee"] == "nia"
    assert len(act.before) == 1 + len(round_.pairs)
    with pytest.raises(AlreadyError, match="was taken back"):
        planned.add_round(round_, "oda")
    assert planned.unplanned_keys() == {"nia-1"}
    again = round_.model_copy(update={"key": "nia-2"})
    planned.add_round(again, "oda")
    assert planned.get_round("nia-2") == again
    assert planned.check() == []


def test_what_has_left_or_was_read_stays(planned: Book, folder: Path, content_of):
    planned.take_in_intake(intake_of(round_of()), "oda", photos=[PhotoRow(*LAID_OUT)])
    before = content_of(folder)
    with pytest.raises(InputError, match="readings of this box are in the book"):
        planned.remove_plan("nia-1", "oda")
    assert content_of(folder) == before
    planned.add_leg("nia-1", JOURNEY[0], "oda")
    before = content_of(folder)
    with pytest.raises(InputError, match="the box is on its way"):
        planned.remove_plan("nia-1", "oda")
    assert content_of(folder) == before

"""Readings before posting in the book: versions, the same once, and never after the trainee has had the box."""

from __future__ import annotations

import pytest

from evalkit.book.book import Book
from evalkit.book.kept import PhotoRow
from evalkit.domain.intake import Intake, IntakePair
from evalkit.errors import AlreadyError, InputError, NotFoundError
from tests.book.values import JOURNEY, LAID_OUT, intake_of, round_of, rubric_of

PICTURE = [PhotoRow(*LAID_OUT)]


@pytest.fixture
def planned(book: Book) -> Book:
    book.add_round(round_of(), "oda")
    return book


def test_it_comes_back_and_the_same_again_is_the_same_once(planned: Book):
    intake = intake_of(round_of())
    assert planned.find_intake("nia-1") is None
    kept = planned.take_in_intake(intake, "oda", photos=PICTURE)
    assert (kept.version, kept.is_new) == (1, True)
    n_acts = len(planned.list_acts())
    assert not planned.take_in_intake(intake, "oda", "again", photos=PICTURE).is_new
    assert len(planned.list_acts()) == n_acts
    found = planned.find_intake("nia-1")
    assert found is not None
    assert (found.intake, found.version, found.reason) == (intake, 1, "")
    assert [row.sha256 for row in planned.list_photos("nia-1")] == [LAID_OUT[0]]
    assert planned.check() == []


def test_other_words_need_a_reason_and_keep_the_earlier(planned: Book):
    first, second = intake_of(round_of()), intake_of(round_of(), level=2)
    planned.take_in_intake(first, "oda", photos=PICTURE)
    with pytest.raises(AlreadyError, match="other intake readings"):
        planned.take_in_intake(second, "oda")
    assert planned.take_in_intake(second, "oda", "looked again").version == 2
    assert [(one.version, one.intake, one.reason) for one in planned.list_intakes("nia-1")] == [
        (1, first, ""), (2, second, "looked again"),
    ]  # fmt: skip
    assert planned.find_intake("nia-1", 1) == planned.list_intakes("nia-1")[0]
    assert planned.check() == []


def test_once_the_trainee_has_the_box_nothing_is_taken_in(planned: Book):
    first = intake_of(round_of())
    planned.add_leg("nia-1", JOURNEY[0], "oda")
    planned.take_in_intake(first, "oda", photos=PICTURE)  # read before, written in while the box is on its way
    planned.add_leg("nia-1", JOURNEY[1], "oda")
    n_acts = len(planned.list_acts())
    with pytest.raises(InputError, match="would not be blind"):
        planned.take_in_intake(intake_of(round_of(), level=3), "oda", "a better look")
    assert not planned.take_in_intake(first, "oda").is_new
    assert len(planned.list_acts()) == n_acts


def _with(**what: object) -> Intake:
    return intake_of(round_of()).model_copy(update=what)


@pytest.mark.parametrize(
    ("intake", "error", "words"),
    [
        (_with(pairs=(IntakePair(number=9),)), InputError, "no pair 9"),
        (_with(rubric_digest=rubric_of("other").digest), InputError, "another rubric"),
        (_with(round_key="nia-7"), NotFoundError, "no round 'nia-7'"),
        (_with(mentor_key="nia"), NotFoundError, "no mentor 'nia'"),
        (_with(), InputError, "does not know the photo"),
    ],
)
def test_what_does_not_fit_is_refused(planned: Book, intake: Intake, error: type[Exception], words: str):
    with pytest.raises(error, match=words):
        planned.take_in_intake(intake, "oda")
    assert planned.list_intakes("nia-1") == []
    assert planned.check() == []

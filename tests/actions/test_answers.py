"""A round asked from the book is the round answered from its readings, as the book holds them now."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from evalkit.actions.answers import get_result, get_versions
from evalkit.book.book import Book
from evalkit.errors import NotFoundError
from evalkit.progress.results import RoundResult, answer_round
from evalkit.reports.document import round_document
from evalkit.reports.document_shapes import RoundDocument
from evalkit.reports.round_rows import report_row
from evalkit.reports.rows import ReportRow
from tests.reports.values import (
    CAUSES,
    MADE_ON,
    ODA,
    PAIRS,
    PHOTO_ROW,
    RUBRIC,
    TEO,
    assessment_of,
    marking_of,
    picture_of,
    round_of,
)


def told(result: RoundResult) -> tuple[RoundDocument, ReportRow]:
    """Everything that any face says of a round."""
    row = report_row(result, made_on=MADE_ON, picture_of=picture_of)
    return round_document(result, made_on=MADE_ON), row


@pytest.fixture
def book(tmp_path: Path):
    round_ = round_of()
    with Book.create(tmp_path / "book", lambda: datetime(2026, 5, 1, tzinfo=UTC)) as book:
        book.add_person("mentor", ODA, "oda")
        book.add_person("trainee", TEO, "oda")
        book.add_pairs(PAIRS, "oda")
        book.freeze_rubric(RUBRIC, "oda")
        book.add_round(round_.model_copy(update={"legs": ()}), "oda")
        for leg in round_.legs:
            book.add_leg(round_.key, leg, "oda")
        yield book


def test_a_round_without_any_view_is_answered(book: Book):
    assert told(get_result(book, "teo-1")) == told(answer_round(round_of(), RUBRIC, None, None))
    assert get_versions(book, "teo-1") == ()


def test_the_book_gives_back_what_was_put_in(book: Book):
    round_ = round_of()
    book.seal_assessment(assessment_of(round_), "oda", "", [PHOTO_ROW])
    book.take_in_marking(marking_of(round_), "oda")
    assert told(get_result(book, "teo-1", CAUSES)) == told(
        answer_round(round_, RUBRIC, assessment_of(round_), marking_of(round_), CAUSES)
    )
    assert get_versions(book, "teo-1") == ()


def test_amended_versions_are_told_with_their_reason(book: Book):
    round_ = round_of()
    book.seal_assessment(assessment_of(round_), "oda", "", [PHOTO_ROW])
    book.seal_assessment(assessment_of(round_).model_copy(update={"letter": "Sorry."}), "oda", "forgot a word")
    book.take_in_marking(marking_of(round_), "oda")
    book.take_in_marking(marking_of(round_).model_copy(update={"letter": "Sorry too."}), "oda", "better light")
    assert get_versions(book, "teo-1") == (
        "The assessment is version 2, amended: forgot a word",
        "The marking is version 2, amended: better light",
        "The letter was changed.",
    )
    result = get_result(book, "teo-1")
    assert result.assessment is not None
    assert result.assessment.letter == "Sorry."


def test_a_round_that_is_not_there_is_told(book: Book):
    with pytest.raises(NotFoundError, match="there is no round 'teo-2'"):
        get_result(book, "teo-2")

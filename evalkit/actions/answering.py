"""Answers to the trainee's questions: written after both views were read, so they are no part of the judging."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from evalkit.domain.marking import Answer, MarkedPair
from evalkit.domain.round import Round
from evalkit.files.field_words import made_of

if TYPE_CHECKING:
    from evalkit.book.book import Book


def answers_from(fields: Mapping[str, str], n_questions: int) -> tuple[Answer, ...]:
    """Answers out of fields named `a.1`, `a.2`, ...; an empty one is no answer. Raises InputError for one too long."""
    said = {number: fields.get(f"a.{number}", "").strip() for number in range(1, n_questions + 1)}
    return tuple(
        made_of(Answer, {"question": number, "text": text}, where=f"answer {number}")
        for number, text in said.items()
        if text
    )


def keep_answers(
    book: Book,
    round_: Round,
    before: MarkedPair | None,
    number: int,
    answers: Sequence[Answer],
    *,
    who: str,
    based_on: str | None = None,
) -> MarkedPair | None:
    """The pair with these answers, kept; None where there was nothing and is nothing to keep. Raises ChangedError."""
    if before is None and not answers:
        return None
    pair = (before or MarkedPair(number=number)).model_copy(update={"answers": tuple(answers)})
    return book.save_marked_pair(round_.key, who, pair, round_.rubric_digest, who, based_on=based_on)

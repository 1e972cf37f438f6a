"""Asking the book for a round and answering it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.domain.causes import CauseMap
from evalkit.domain.round import RoundState
from evalkit.errors import InputError
from evalkit.progress.results import RoundResult, answer_round

if TYPE_CHECKING:
    from evalkit.book.book import Book


def get_result(book: Book, round_key: str, causes: CauseMap | None = None) -> RoundResult:
    """The round as the book holds it now, graded and compared. Raises NotFoundError when there is no such round."""
    round_ = book.get_round(round_key)
    sealed = book.find_assessment(round_key)
    finished = book.find_marking(round_key)
    return answer_round(
        round_,
        book.get_rubric_by_digest(round_.rubric_digest),
        sealed.assessment if sealed else None,
        finished.marking if finished else None,
        causes,
    )


def check_may_be_read(book: Book, round_key: str, who: str, *, is_early: bool) -> None:
    """Raises InputError while `who` could still mark the round blind, unless the assessment is read early on purpose.

    A lost box is never marked, so nothing is given away.
    """
    if is_early or book.get_round(round_key).state is RoundState.LOST:
        return
    is_begun = book.find_draft(round_key, who) is not None and book.find_marking(round_key, who) is None
    if is_begun or book.find_marking(round_key) is None:
        raise InputError(
            "the marking is begun, not finished." if is_begun else "the round is not marked yet.",
            mend=f"Mark it first: evalkit mark {round_key}; --open-early reads the assessment before that, not blind.",
            where=f"round {round_key}",
        )


def get_versions(book: Book, round_key: str) -> tuple[str, ...]:
    """Which versions a report rests on, in words; only where something was amended."""
    words = []
    sealed, finished = book.find_assessment(round_key), book.find_marking(round_key)
    if sealed and sealed.version > 1:
        words.append(f"The assessment is version {sealed.version}, amended: {sealed.reason}")
    if finished and finished.version > 1:
        words.append(f"The marking is version {finished.version}, amended: {finished.reason}")
    return tuple(words)

"""Asking the book for a round and answering it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.actions.amended import changed_words
from evalkit.domain.causes import CauseMap
from evalkit.domain.round import Round, RoundState
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError
from evalkit.progress.results import RoundResult, answer_round

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.book.listing import RoundStanding


@dataclass(frozen=True, slots=True)
class RoundAnswer:
    """A round as the book holds it now, and which versions that rests on, in words."""

    result: RoundResult
    versions: tuple[str, ...]


def get_answer(
    book: Book,
    round_key: str,
    causes: CauseMap | None = None,
    *,
    rubric_of: Callable[[str], Rubric] | None = None,
    round_: Round | None = None,
) -> RoundAnswer:
    """The round graded and compared, with its versions. Raises NotFoundError when there is no such round.

    Whoever holds the round or its rubric already hands them in, so that the book is not asked twice.
    """
    round_ = round_ or book.get_round(round_key)
    rubric = (rubric_of or book.get_rubric_by_digest)(round_.rubric_digest)
    sealed = book.find_assessment(round_key)
    finished = book.latest_versions(round_key)
    assessment, marking = (sealed.assessment if sealed else None), (finished[0].marking if finished else None)
    kept = book.find_intake(round_key)
    result = answer_round(round_, rubric, assessment, marking, causes, intake=kept.intake if kept else None)
    words = []
    if kept and kept.version > 1:
        words.append(f"The intake readings are version {kept.version}, amended: {kept.reason}")
    if sealed and sealed.version > 1:
        words.append(f"The assessment is version {sealed.version}, amended: {sealed.reason}")
    if finished and finished[0].version > 1:
        words.append(f"The marking is version {finished[0].version}, amended: {finished[0].reason}")
    if len(finished) > 1:
        words += changed_words(finished[1].marking, finished[0].marking, round_, rubric)
    return RoundAnswer(result, tuple(words))


def get_result(book: Book, round_key: str, causes: CauseMap | None = None) -> RoundResult:
    """As `get_answer`, without the versions."""
    return get_answer(book, round_key, causes).result


def check_may_be_read(book: Book, round_key: str, who: str, *, is_early: bool) -> None:
    """Raises InputError while `who` could still mark the round blind, unless it is read early on purpose."""
    check_standing(book.get_round(round_key), book.round_standing(round_key), who, is_early=is_early)


def check_standing(round_: Round, standing: RoundStanding, who: str, *, is_early: bool) -> None:
    """As `check_may_be_read`, from what the book says of who has begun and who has finished.

    A lost box is never marked, so nothing is given away.
    """
    if is_early or round_.state is RoundState.LOST:
        return
    is_begun = who in standing.drafts and who not in standing.finished
    if is_begun or not standing.finished:
        raise InputError(
            "the marking is begun, not finished." if is_begun else "the round is not marked yet.",
            mend=f"Mark it first: evalkit mark {round_.key}; --open-early reads the assessment before that, not blind.",
            where=f"round {round_.key}",
        )


def get_versions(book: Book, round_key: str) -> tuple[str, ...]:
    """Which versions a report rests on, and what was changed; only where something was amended."""
    return get_answer(book, round_key).versions

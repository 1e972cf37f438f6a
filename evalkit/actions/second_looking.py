"""Marking a pair a second time, blind to the first: picked, kept as it goes, taken back step by step, finished."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from evalkit.actions.answers import get_result
from evalkit.actions.marking import check_touched
from evalkit.book.drafts import state_of
from evalkit.domain.marking import MarkedPair
from evalkit.domain.round import Round, RoundState
from evalkit.errors import InputError, NotFoundError
from evalkit.progress.steadiness import pick_for_second_marking

if TYPE_CHECKING:
    from evalkit.book.book import Book


def check_marked_once(book: Book, round_: Round, numbers: Sequence[int]) -> None:
    """Raises NotFoundError while the round, or one of these pairs of it, was not marked a first time."""
    for number in numbers:
        round_.get_pair(number)
    first = book.find_marking(round_.key)
    if first is None or round_.state is not RoundState.BACK:
        raise NotFoundError("this round was not marked a first time.", mend="Mark it first.", where=_where(round_))
    for number in numbers:
        if first.marking.find_pair(number) is None:
            raise NotFoundError(
                f"pair {number} was not marked a first time.", mend="Leave it out.", where=_where(round_, number)
            )


def kept_numbers(book: Book, round_key: str, who: str) -> set[int]:
    """Numbers of which this mentor has finished a second marking."""
    markings = book.list_second_markings(round_key)
    return {pair.number for one in markings if one.mentor_key == who for pair in one.pairs}


def pick_pairs(book: Book, round_: Round, n: int, *, who: str) -> tuple[int, ...]:
    """Draw up to `n` pairs that are neither kept nor begun, over all levels; what they got is not told.

    What was drawn before and not begun makes room. Raises InputError when no pair is left.
    """
    drafts = book.list_second_drafts(round_.key, who)
    begun = {number for number, pair in drafts.items() if not pair.is_blank}
    done = {(round_.key, number) for number in begun | kept_numbers(book, round_.key, who)}
    picks = pick_for_second_marking([get_result(book, round_.key)], n=n, seed=book.latest_act(), done=done)
    numbers = tuple(pick.number for pick in picks)
    book.pick_second_pairs(round_.key, who, set(numbers), who)
    return numbers


def take_back_second(book: Book, round_: Round, number: int, who: str, *, based_on: str | None = None) -> MarkedPair:
    """A second marking one step back, kept again. Raises InputError where nothing is left to take back."""
    before = book.find_second_before(round_.key, who, number)
    if before is None:
        raise InputError(
            "there is nothing to undo on this pair.",
            mend="Nothing was changed on it since it was drawn.",
            where=_where(round_, number),
        )
    return book.save_second_pair(
        round_.key, who, before, round_.rubric_digest, who, based_on=based_on, is_step_back=True
    )


def finish_second(book: Book, round_: Round, pair: MarkedPair | None, number: int, *, who: str, on: date) -> bool:
    """The pair as kept stands for good; False when this very one does already. Raises as `check_touched` does."""
    check_marked_once(book, round_, [number])
    pair = check_touched(pair, _where(round_, number))
    return book.finish_second_pair(round_.key, who, number, who, on, based_on=state_of(pair))


def _where(round_: Round, number: int | None = None) -> str:
    return f"round {round_.key}" if number is None else f"round {round_.key}, pair {number}"

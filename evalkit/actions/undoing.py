"""Taking back the last mark of a pair: what stood before it stands in the history."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.domain.marking import MarkedPair
from evalkit.domain.round import Round
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book


def undo_pair(book: Book, round_: Round, number: int, who: str, *, based_on: str | None = None) -> MarkedPair:
    """The pair one step back, kept again; the next step goes further. Raises InputError where none is left."""
    before = book.find_pair_before(round_.key, who, number)
    if before is None:
        raise InputError(
            "there is nothing to undo on this pair.",
            mend="All that was marked on it is taken back already, or nothing was marked yet.",
            where=f"round {round_.key}, pair {number}",
        )
    return book.take_back_mark(round_.key, who, before, round_.rubric_digest, who, based_on=based_on)

"""Taking back the last change of a marked pair: what stood before it stands in the history."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.domain.marking import MarkedPair
from evalkit.domain.round import Round
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book


def undo_pair(book: Book, round_: Round, number: int, who: str, *, based_on: str | None = None) -> MarkedPair:
    """The pair as it stood before its last change, kept again. Raises InputError where nothing is to be undone."""
    before = book.find_pair_before(round_.key, who, number)
    if before is None:
        raise InputError(
            "there is nothing to undo on this pair.",
            mend="What was kept first can be cleared reading by reading.",
            where=f"round {round_.key}, pair {number}",
        )
    return book.save_marked_pair(round_.key, who, before, round_.rubric_digest, who, based_on=based_on)

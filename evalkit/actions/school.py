"""Letting the whole school teach what one trainee's rounds cannot: what a step or a known fault does to the levels."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING

from evalkit.actions.progressing import lines_of
from evalkit.domain.school_values import SchoolValues
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book


def learn_from_school(
    book: Book, *, who: str, on: date, on_pass: Callable[[int], None] = lambda _n: None
) -> SchoolValues:
    """Learn from every trainee in the book and keep it there: from now on progress and readiness reckon with it.

    Raises InputError, and keeps what counted before, where the school is too small or the calculation does not settle.
    """
    from evalkit.progress.school_learning import NotLearnt, NoValues, learn_school

    found = learn_school(lines_of(book), on=on, on_pass=on_pass)
    if isinstance(found, NotLearnt):
        stands = "what was learnt before" if book.find_school_values() else "the defaults"
        mend = f"Until then {stands} will do."
        if found.why is NoValues.NOT_SETTLED:
            mend = f"Nothing is changed: {stands} will do. Try again when more rounds are marked."
        raise InputError(found.words, mend=mend, where="the school")
    book.record_school_values(found, who)
    return found

"""Proposing a trainee's next box from the book as it stands. Nothing is written."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from evalkit.actions.progressing import results_of
from evalkit.actions.shelf import held_pairs
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError
from evalkit.progress.box_candidates import Wish

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.progress.next_box import Proposal


def propose_round(book: Book, trainee_key: str, *, rubric: Rubric, wish: Wish, today: date) -> Proposal:
    """The best next box. Raises NotFoundError for a trainee or tag the book does not know, InputError as
    `propose_box` does.
    """
    from evalkit.progress.next_box import propose_box

    trainee = book.get_person("trainee", trainee_key)
    named = (*wish.with_tags, *wish.without_tags, *(tag for swap in wish.swaps for tag in swap))
    for tag in dict.fromkeys(named):
        book.get_pair(tag)
    held = {tag: why for tag, (why, _) in held_pairs(book).items()}
    return propose_box(
        trainee,
        results_of(book, trainee_key),
        book.list_pairs(),
        held,
        rubric,
        wish,
        today=today,
        values=book.find_school_values(),
    )


def rubric_of_last_round(book: Book, trainee_key: str) -> str:
    """Key of the rubric of the trainee's latest round. Raises InputError when there was no round."""
    rounds = book.list_rounds(trainee_key)
    if not rounds:
        raise InputError(
            "there was no round yet, so the rubric is not known.",
            mend="Name it, like --rubric first-rounds.",
            where=f"trainee {trainee_key}",
        )
    return rounds[-1].rubric_key

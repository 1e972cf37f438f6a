"""The command that marks a round at the terminal, pair by pair."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import bench_of
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.round import Round


def mark(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of the round.")],
    number: Annotated[int | None, typer.Option("--pair", help="Only this number, also if marked already.")] = None,
    amend: Annotated[str, typer.Option("--amend", metavar="REASON", help="Amend a finished marking; say why.")] = "",
) -> None:
    """Mark a round pair by pair. Each pair is kept as soon as it is done; stop and go on whenever you like."""
    from evalkit.cli.marking_session import MarkingSession, ask_terminal

    bench = bench_of(context)
    with bench.book() as (book, who):
        round_ = _round_to_mark(book, key, who, amend)
        rubric = book.get_rubric_by_digest(round_.rubric_digest)
        session = MarkingSession(book, round_, rubric, who, bench.today, ask_terminal)
        session.go(number, again=bool(amend))


def _round_to_mark(book: Book, key: str, who: str, amend: str) -> Round:
    from evalkit.actions.marking import begin_amendment, check_back

    round_ = book.get_round(key)
    book.get_person("mentor", who)  # refused before the first question, not after the last
    check_back(round_)
    if book.find_marking(key, who) is not None and book.find_draft(key, who) is None:
        if not amend:
            raise InputError(
                "the marking is finished.",
                mend=f"To change it say why: evalkit mark {key} --amend 'REASON'. The old version is kept.",
                where=f"round {key}",
            )
        begin_amendment(book, key, who, amend)
    elif amend and book.find_marking(key, who) is None:
        begin_amendment(book, key, who, amend)  # raises: there is nothing to amend
    return round_

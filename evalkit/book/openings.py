"""Who read which assessment before marking: what is marked afterwards is not blind."""

from __future__ import annotations

from sqlalchemy import Connection, or_, select

from evalkit.book.facts import opening_fact
from evalkit.book.history import Acting
from evalkit.book.rounds import get_head
from evalkit.book.schema import openings
from evalkit.domain.round import span_words
from evalkit.errors import InputError


def record_opening(doing: Acting, round_key: str, number: int | None, who: str) -> None:
    """`who` has read the assessment of that pair, or of all pairs when `number` is None. Once recorded, it stays."""
    head = get_head(doing.connection, round_key)
    if number is not None and number not in head.numbers:
        raise InputError(
            f"there is no pair {number} in this round.",
            mend=f"The box holds the numbers {span_words(head.numbers)}.",
            where=f"round {round_key}",
        )
    same = select(openings.c.id).where(
        openings.c.round_key == round_key, openings.c.number.is_not_distinct_from(number), openings.c.who == who
    )
    if doing.connection.execute(same).first():
        return
    row = {"round_key": round_key, "number": number, "who": who, "opened_at": doing.at}
    doing.connection.execute(openings.insert(), row)
    doing.note(opening_fact(round_key, number, who, doing.at))


def was_opened(connection: Connection, round_key: str, number: int, who: str | None) -> bool:
    """True when the assessment of that pair was read, by `who` if given, by anybody otherwise."""
    wanted = select(openings.c.id).where(
        openings.c.round_key == round_key, or_(openings.c.number == number, openings.c.number.is_(None))
    )
    if who is not None:
        wanted = wanted.where(openings.c.who == who)
    return connection.execute(wanted.limit(1)).first() is not None

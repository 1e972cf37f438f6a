"""Second markings while they are being worked on: one draft for each picked pair and mentor, blind to the first."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from datetime import date

from sqlalchemy import ColumnElement, Connection, select

from evalkit.book.canonical import canonical, plain
from evalkit.book.documents import check_fits
from evalkit.book.drafts import check_state
from evalkit.book.facts import second_draft_fact
from evalkit.book.history import Acting, Fact
from evalkit.book.people import get_person
from evalkit.book.rounds import get_head
from evalkit.book.schema import second_drafts
from evalkit.book.second_markings import record_second_marking
from evalkit.book.steps_back import find_step_before
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.errors import NotFoundError


def pick_second_pairs(doing: Acting, round_key: str, mentor_key: str, numbers: Collection[int]) -> None:
    """These pairs are to be marked a second time. What was picked before and not begun is picked no more."""
    head = get_head(doing.connection, round_key)
    get_person(doing.connection, "mentor", mentor_key)
    there = list_second_drafts(doing.connection, round_key, mentor_key)
    for number, pair in there.items():
        if number not in numbers and pair.is_blank:
            _delete(doing, round_key, mentor_key, pair)
    new = [MarkedPair(number=number) for number in sorted(numbers) if number not in there]
    check_fits(doing.connection, head, head.rubric_digest, new)
    for pair in new:
        _insert(doing, round_key, mentor_key, pair)


def save_second_pair(
    doing: Acting, round_key: str, mentor_key: str, pair: MarkedPair, rubric_digest: str, based_on: str | None = None
) -> MarkedPair:
    """Keep one pair of a second marking; what stood before goes to the history. The same words change nothing.

    Raises ChangedError when the pair no longer is in the state (`drafts.state_of`) the new words were based on.
    """
    head = get_head(doing.connection, round_key)
    get_person(doing.connection, "mentor", mentor_key)
    check_fits(doing.connection, head, rubric_digest, [pair])
    before = find_second_draft(doing.connection, round_key, mentor_key, pair.number)
    if before == pair:
        return before
    check_state(before, based_on, round_key, pair.number)
    if before is None:
        _insert(doing, round_key, mentor_key, pair)
        return pair
    row = {"content": canonical(pair.model_dump(mode="json")), "saved_at": doing.at}
    doing.connection.execute(second_drafts.update().where(_is(round_key, mentor_key, pair.number)).values(row))
    doing.note(second_draft_fact(round_key, mentor_key, pair, doing.at), plain(before))
    return pair


def finish_second_pair(
    doing: Acting, round_key: str, mentor_key: str, number: int, marked_on: date, based_on: str | None = None
) -> bool:
    """The draft becomes a second marking, kept for good; False when this very one is kept already.

    Raises NotFoundError without a draft, ChangedError as `save_second_pair` does.
    """
    pair = get_second_draft(doing.connection, round_key, mentor_key, number)
    check_state(pair, based_on, round_key, number)
    digest = get_head(doing.connection, round_key).rubric_digest
    marking = Marking(
        round_key=round_key, mentor_key=mentor_key, rubric_digest=digest, marked_on=marked_on, pairs=(pair,)
    )
    is_new = record_second_marking(doing, marking)
    _delete(doing, round_key, mentor_key, pair)
    return is_new


def drop_second_pair(doing: Acting, round_key: str, mentor_key: str, number: int) -> None:
    """Put a draft away; the history keeps it. Raises NotFoundError."""
    _delete(doing, round_key, mentor_key, get_second_draft(doing.connection, round_key, mentor_key, number))


def list_second_drafts(connection: Connection, round_key: str, mentor_key: str) -> dict[int, MarkedPair]:
    """What this mentor has picked or begun, by number."""
    wanted = select(second_drafts.c.content).where(
        second_drafts.c.round_key == round_key, second_drafts.c.mentor_key == mentor_key
    )
    pairs = map(_pair, connection.execute(wanted.order_by(second_drafts.c.number)).scalars())
    return {pair.number: pair for pair in pairs}


def find_second_draft(connection: Connection, round_key: str, mentor_key: str, number: int) -> MarkedPair | None:
    """None when the pair is neither picked nor begun."""
    wanted = select(second_drafts.c.content).where(_is(round_key, mentor_key, number))
    content = connection.execute(wanted).scalar_one_or_none()
    return None if content is None else _pair(content)


def get_second_draft(connection: Connection, round_key: str, mentor_key: str, number: int) -> MarkedPair:
    """As `find_second_draft`, but raises NotFoundError."""
    pair = find_second_draft(connection, round_key, mentor_key, number)
    if pair is None:
        raise NotFoundError(
            "no second marking of this pair is begun.",
            mend="Open the pair and mark something of it first.",
            where=f"round {round_key}, pair {number}",
        )
    return pair


def find_second_before(connection: Connection, round_key: str, mentor_key: str, number: int) -> MarkedPair | None:
    """A draft as it stood one step back; None where nothing is left to take back."""
    now = find_second_draft(connection, round_key, mentor_key, number)
    if now is None:
        return None
    return find_step_before(connection, f"round {round_key}", _name(round_key, mentor_key, number), now)


def second_draft_facts(connection: Connection) -> Iterator[Fact]:
    """What stands in `second_drafts`."""
    for row in connection.execute(select(second_drafts)):
        pair = _pair(row.content)
        if pair.number != row.number:
            raise ValueError(f"number {row.number} holds pair {pair.number}")
        yield second_draft_fact(row.round_key, row.mentor_key, pair, row.saved_at)


def _name(round_key: str, mentor_key: str, number: int) -> str:
    return f"second draft {round_key} {mentor_key} number {number}"


def _is(round_key: str, mentor_key: str, number: int) -> ColumnElement[bool]:
    return (
        (second_drafts.c.round_key == round_key)
        & (second_drafts.c.mentor_key == mentor_key)
        & (second_drafts.c.number == number)
    )


def _pair(content: str) -> MarkedPair:
    return MarkedPair.model_validate(json.loads(content))


def _insert(doing: Acting, round_key: str, mentor_key: str, pair: MarkedPair) -> None:
    row = {"round_key": round_key, "mentor_key": mentor_key, "number": pair.number}
    content = canonical(pair.model_dump(mode="json"))
    doing.connection.execute(second_drafts.insert(), {**row, "content": content, "saved_at": doing.at})
    doing.note(second_draft_fact(round_key, mentor_key, pair, doing.at))


def _delete(doing: Acting, round_key: str, mentor_key: str, pair: MarkedPair) -> None:
    doing.connection.execute(second_drafts.delete().where(_is(round_key, mentor_key, pair.number)))
    doing.note_gone(_name(round_key, mentor_key, pair.number), plain(pair))

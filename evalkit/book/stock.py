"""Pairs of the stock, and how each was described at which time."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, Row, RowMapping, func, select

from evalkit.book.canonical import plain
from evalkit.book.facts import numbered_fact, pair_fact
from evalkit.book.history import Acting
from evalkit.book.missing import unknown
from evalkit.book.rows import pair_of, pair_row
from evalkit.book.schema import legs, numbered_pairs, pairs
from evalkit.domain.pair import Pair
from evalkit.domain.round import LegKind, RoundState, state_after
from evalkit.errors import AlreadyError

_newest = select(pairs.c.tag, func.max(pairs.c.version).label("version")).group_by(pairs.c.tag).subquery()
_current = select(pairs).join(_newest, (pairs.c.tag == _newest.c.tag) & (pairs.c.version == _newest.c.version))


def add_pairs(doing: Acting, new: Sequence[Pair]) -> None:
    """All of them or none. Raises AlreadyError when a tag was ever used."""
    known = set(doing.connection.execute(select(pairs.c.tag)).scalars())
    folded = {tag.lower(): tag for tag in known}
    for pair in new:
        taken = folded.get(pair.tag.lower())
        if taken is not None:
            raise AlreadyError(
                f"the tag '{taken}' is used; a tag is never used again for another pair.",
                mend="Give the pair another tag, or change the pair that has it.",
                where=f"pair {pair.tag}",
            )
        folded[pair.tag.lower()] = pair.tag
        _insert(doing, pair, 1)


def describe_pair(doing: Acting, pair: Pair) -> int:
    """The version that describes the pair just so; a further one is written when none does. No round is touched."""
    wanted = select(pairs).where(pairs.c.tag == pair.tag).order_by(pairs.c.version.desc())
    rows = doing.connection.execute(wanted).mappings().all()
    for row in rows:
        if pair_of(row) == pair:
            version: int = row["version"]
            return version
    version = rows[0]["version"] + 1 if rows else 1
    _insert(doing, pair, version, pair_of(rows[0]) if rows else None)
    return version


def change_pair(doing: Acting, pair: Pair, *, is_correction: bool) -> None:
    """Describe a pair anew; the description of before stays, and stays in every round whose box has come back.

    A box that is not back holds the new one: nobody had the pair in hand meanwhile, so it was described wrongly before.
    With `is_correction` every round that names the description of before takes the new one.
    """
    row = _get_row(doing.connection, pair.tag)
    before = pair_of(row)
    if before == pair:
        return
    version = row["version"] + 1
    _insert(doing, pair, version, before)
    for held in doing.connection.execute(
        select(numbered_pairs).where(numbered_pairs.c.tag == pair.tag, numbered_pairs.c.version == row["version"])
    ).all():
        if is_correction or _state(doing.connection, held.round_key) not in (RoundState.BACK, RoundState.LOST):
            _redescribe(doing, held, version)


def _redescribe(doing: Acting, held: Row[tuple[object, ...]], version: int) -> None:
    doing.connection.execute(
        numbered_pairs.update()
        .where(numbered_pairs.c.round_key == held.round_key, numbered_pairs.c.number == held.number)
        .values(version=version)
    )
    _, before = numbered_fact(held.round_key, held.number, held.tag, held.version, held.called_for)
    doing.note(numbered_fact(held.round_key, held.number, held.tag, version, held.called_for), before)


def _state(connection: Connection, round_key: str) -> RoundState:
    kind = connection.execute(
        select(legs.c.kind).where(legs.c.round_key == round_key).order_by(legs.c.position.desc()).limit(1)
    ).scalar_one_or_none()
    return RoundState.PLANNED if kind is None else state_after(LegKind(kind))


def _insert(doing: Acting, pair: Pair, version: int, before: Pair | None = None) -> None:
    doing.connection.execute(pairs.insert(), pair_row(pair, version, doing.at))
    doing.note(pair_fact(pair, version, doing.at), None if before is None else plain(before))


def _find_row(connection: Connection, tag: str) -> RowMapping | None:
    newest = select(pairs).where(pairs.c.tag == tag).order_by(pairs.c.version.desc()).limit(1)
    return connection.execute(newest).mappings().one_or_none()


def _get_row(connection: Connection, tag: str) -> RowMapping:
    row = _find_row(connection, tag)
    if row is None:
        raise unknown("pair", tag, connection.execute(select(pairs.c.tag).distinct()).scalars())
    return row


def list_pairs(connection: Connection) -> list[Pair]:
    """As they are described now, in the order of their tags."""
    return [pair_of(row) for row in connection.execute(_current.order_by(pairs.c.tag)).mappings()]


def find_pair(connection: Connection, tag: str) -> Pair | None:
    """As it is described now; None when no pair has the tag."""
    row = _find_row(connection, tag)
    return None if row is None else pair_of(row)


def get_pair(connection: Connection, tag: str) -> Pair:
    """As it is described now. Raises NotFoundError."""
    return pair_of(_get_row(connection, tag))


def current_versions(connection: Connection, tags: Sequence[str]) -> dict[str, int]:
    """The version that describes each tag now; a tag that the book does not know is left out."""
    return {row.tag: row.version for row in connection.execute(select(_newest).where(_newest.c.tag.in_(tags)))}

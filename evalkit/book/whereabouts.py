"""Where pairs of the stock are now, and since when. A few queries, and only of the pairs that are asked for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import ColumnElement, Connection, distinct, exists, func, not_, or_, select, union

from evalkit.book.rows import pair_of
from evalkit.book.schema import legs, numbered_pairs, pairs, people, retirements, rounds
from evalkit.book.shelf import retirement_of
from evalkit.domain.arriving import MISSING_WORDS, losses_in
from evalkit.domain.life import Retirement
from evalkit.domain.pair import Pair
from evalkit.domain.round import LegKind, Person, RoundState, state_after

_newer = pairs.alias("newer")
_is_current = not_(exists().where(_newer.c.tag == pairs.c.tag, _newer.c.version > pairs.c.version))


@dataclass(frozen=True, slots=True)
class Box:
    """One round as far as its box tells where pairs are. `missing`: numbers that were not in it when it came back."""

    key: str
    trainee: Person
    state: RoundState
    since: date
    missing: tuple[int, ...] = ()
    missing_since: date | None = None


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """One pair as described now. `box` is the last that held it (None: never in one), or the one it was lost from.

    `is_missing`: it was not in that box when it came back, and was not found since. `retirement` stands while it is
    sent no more.
    """

    pair: Pair
    box: Box | None = None
    is_missing: bool = False
    retirement: Retirement | None = None

    @property
    def since(self) -> date | None:
        """Since when it is where it is; None for a pair that was never sent: the book does not know."""
        if self.retirement is not None:
            return self.retirement.retired_on
        if self.box is None:
            return None
        return self.box.missing_since if self.is_missing else self.box.since


def list_whereabouts(connection: Connection, tags: Collection[str]) -> list[Whereabouts]:
    """These pairs, in the order of the tags. Retired stands before missing, missing before lost, lost before others."""
    wanted = select(pairs).where(_is_current, pairs.c.tag.in_(tags)).order_by(pairs.c.tag)
    stock = [pair_of(row) for row in connection.execute(wanted).mappings()]
    retired: dict[str, list[Retirement]] = defaultdict(list)
    standing = select(retirements).where(retirements.c.tag.in_(tags)).order_by(retirements.c.id)
    for row in connection.execute(standing).mappings():
        retired[row["tag"]].append(retirement_of(row))
    held = _held(connection, tags)
    return [_whereabouts(pair, held.get(pair.tag, []), retired.get(pair.tag, [])) for pair in stock]


def list_apart(connection: Connection) -> list[Whereabouts]:
    """Every pair that may not simply lie with the mentor: retired, missing, lost with its box, or in an open one."""
    ended = exists().where(legs.c.round_key == rounds.c.key, legs.c.kind.in_(_ENDS))
    came_short = (legs.c.kind == LegKind.RECEIVED_BACK.value) & legs.c.condition.startswith(
        MISSING_WORDS, autoescape=True
    )
    # Rounds are few beside the pairs they held: which rounds is asked first.
    keys = union(
        select(rounds.c.key).where(not_(ended)),
        select(legs.c.round_key).where(or_(legs.c.kind == LegKind.LOST.value, came_short)),
    )
    tags = union(
        select(retirements.c.tag).where(retirements.c.back_on.is_(None)),
        select(numbered_pairs.c.tag).where(numbered_pairs.c.round_key.in_(keys)),
    )
    return list_whereabouts(connection, list(connection.execute(tags).scalars()))


_ENDS = (LegKind.RECEIVED_BACK.value, LegKind.LOST.value)


@dataclass(frozen=True, slots=True)
class Asked:
    """Which pairs of the stock: with every one of these words in its tag, edge type, size, faults or rounds; none of
    `without`; with `among`, only of these.
    """

    words: tuple[str, ...] = ()
    without: frozenset[str] = frozenset()
    among: frozenset[str] | None = None


def count_pairs(connection: Connection, asked: Asked) -> int:
    """How many pairs fit. One query."""
    return connection.execute(select(func.count(distinct(pairs.c.tag))).where(*_fitting(asked))).scalar_one()


def fitting_tags(connection: Connection, asked: Asked, limit: int | None = None, offset: int = 0) -> list[str]:
    """The tags of the pairs that fit, in their order. One query."""
    wanted = select(pairs.c.tag).distinct().where(*_fitting(asked)).order_by(pairs.c.tag)
    return list(connection.execute(wanted.limit(limit).offset(offset)).scalars())


def _fitting(asked: Asked) -> list[ColumnElement[bool]]:
    found = [_has_word(word) for word in asked.words]
    if asked.words:
        found.append(_is_current)
    if asked.without:
        found.append(pairs.c.tag.not_in(asked.without))
    if asked.among is not None:
        found.append(pairs.c.tag.in_(asked.among))
    return found


def _has_word(word: str) -> ColumnElement[bool]:
    columns = (pairs.c.tag, pairs.c.edge_type, pairs.c.size_in, pairs.c.faults)
    of_round = func.lower(numbered_pairs.c.round_key).contains(word, autoescape=True)
    return or_(
        *(func.lower(column).contains(word, autoescape=True) for column in columns),
        exists().where(numbered_pairs.c.tag == pairs.c.tag, of_round),
    )


def _held(connection: Connection, tags: Collection[str]) -> dict[str, list[tuple[Box, int]]]:
    """By tag: every box that held the pair, in order, and the number it wore there."""
    boxes: dict[str, Box] = {}
    found: dict[str, list[tuple[Box, int]]] = defaultdict(list)
    wanted = (
        select(
            numbered_pairs.c.tag, numbered_pairs.c.number, rounds.c.key, rounds.c.planned_on, people.c.name,
            rounds.c.trainee_key,
        )
        .join(rounds, rounds.c.key == numbered_pairs.c.round_key)
        .join(people, people.c.key == rounds.c.trainee_key)
        .where(numbered_pairs.c.tag.in_(tags))
        .order_by(rounds.c.planned_on, rounds.c.key)
    )  # fmt: skip
    rows = connection.execute(wanted).all()
    journeys = _journeys(connection, sorted({row.key for row in rows}))
    for row in rows:
        if row.key not in boxes:
            planned = Box(row.key, Person(key=row.trainee_key, name=row.name), RoundState.PLANNED, row.planned_on)
            boxes[row.key] = _after(planned, journeys.get(row.key, []))
        found[row.tag].append((boxes[row.key], row.number))
    return found


Step = tuple[LegKind, date, str]


def _journeys(connection: Connection, keys: Sequence[str]) -> dict[str, list[Step]]:
    found: dict[str, list[Step]] = defaultdict(list)
    wanted = select(legs).where(legs.c.round_key.in_(keys)).order_by(legs.c.round_key, legs.c.position)
    for row in connection.execute(wanted):
        found[row.round_key].append((LegKind(row.kind), row.happened_on, row.condition))
    return found


def _after(box: Box, steps: list[Step]) -> Box:
    for kind, on, condition in steps:
        box = replace(box, state=state_after(kind), since=on)
        if kind is LegKind.RECEIVED_BACK:
            box = replace(box, missing=losses_in(condition).missing, missing_since=on)
    return box


def _whereabouts(pair: Pair, held: list[tuple[Box, int]], retired: list[Retirement]) -> Whereabouts:
    standing = next((one for one in retired if one.back_on is None), None)
    back = [one.back_on for one in retired if one.back_on is not None]
    for box, number in reversed(held):
        since = box.missing_since
        if number in box.missing and since is not None and not any(day >= since for day in back):
            return Whereabouts(pair, box, is_missing=True, retirement=standing)
    lost = next((box for box, _ in held if box.state is RoundState.LOST), None)
    return Whereabouts(pair, lost or (held[-1][0] if held else None), retirement=standing)

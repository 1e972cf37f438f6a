"""Short lines for pages that list: a page of rounds, a page of the stock. A few queries, however large the book."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Integer,
    RowMapping,
    ScalarSelect,
    exists,
    func,
    literal,
    not_,
    select,
    union_all,
)

from evalkit.book.schema import assessments, legs, markings, numbered_pairs, openings, pairs, people, rounds
from evalkit.domain.round import LegKind, Person, RoundState, state_after

_trainees = people.alias("trainees")
_newer = pairs.alias("newer")
_finished = exists().where(markings.c.round_key == rounds.c.key, markings.c.finished_at.is_not(None))
_begun = exists().where(markings.c.round_key == rounds.c.key, markings.c.finished_at.is_(None))
_sealed = exists().where(assessments.c.round_key == rounds.c.key)
_lost = exists().where(legs.c.round_key == rounds.c.key, legs.c.kind == LegKind.LOST.value)
_n_pairs = (
    select(func.count())
    .select_from(numbered_pairs)
    .where(numbered_pairs.c.round_key == rounds.c.key)
    .correlate(rounds)
    .scalar_subquery()
)
_newest_first = (rounds.c.planned_on.desc(), rounds.c.key.desc())


def _of_last_leg(column: Column[Any]) -> ScalarSelect[Any]:
    """One column of the last leg of a round; NULL while it is planned."""
    wanted = select(column).where(legs.c.round_key == rounds.c.key).correlate(rounds)
    return wanted.order_by(legs.c.position.desc()).limit(1).scalar_subquery()


@dataclass(frozen=True, slots=True)
class RoundLine:
    """One round in a list: where its box is since when, and how far it got."""

    key: str
    trainee: Person
    n_pairs: int
    state: RoundState
    since: date
    is_sealed: bool
    is_begun: bool
    is_finished: bool


@dataclass(frozen=True, slots=True)
class RoundStanding:
    """Of one round: the version that each mentor is drafting, the last that each has finished, who has read what.

    In `opened` None stands for all pairs at once.
    """

    drafts: dict[str, int] = field(default_factory=dict)
    finished: dict[str, int] = field(default_factory=dict)
    opened: dict[str, set[int | None]] = field(default_factory=dict)
    sealed: set[int] = field(default_factory=set)

    def has_opened(self, who: str, number: int) -> bool:
        """Whether `who` has read the assessment of that pair."""
        return bool({number, None} & self.opened.get(who, set()))

    def has_opened_all(self, who: str) -> bool:
        return None in self.opened.get(who, set())


def open_rounds(connection: Connection, limit: int) -> list[RoundLine]:
    """Rounds that nobody has finished marking and whose box is not lost, the newest first. One query."""
    return _round_lines(connection, not_(_finished) & not_(_lost), limit)


def done_rounds(connection: Connection, limit: int, offset: int) -> list[RoundLine]:
    """Rounds marked or lost, the newest first. One query."""
    return _round_lines(connection, _finished | _lost, limit, offset)


def rounds_of(connection: Connection, trainee_key: str, limit: int) -> list[RoundLine]:
    """The rounds of one trainee, the newest first. One query."""
    return _round_lines(connection, rounds.c.trainee_key == trainee_key, limit)


def _round_lines(connection: Connection, where: ColumnElement[bool], limit: int, offset: int = 0) -> list[RoundLine]:
    """Which rounds is asked inside, what is to be said of them outside: only of those that are shown."""
    chosen = select(rounds.c.key).where(where).order_by(*_newest_first).limit(limit).offset(offset)
    wanted = (
        select(
            rounds.c.key,
            rounds.c.planned_on,
            rounds.c.trainee_key,
            _trainees.c.name.label("trainee_name"),
            _of_last_leg(legs.c.kind).label("kind"),
            _of_last_leg(legs.c.happened_on).label("happened_on"),
            _n_pairs.label("n_pairs"),
            _sealed.label("is_sealed"),
            _begun.label("is_begun"),
            _finished.label("is_finished"),
        )
        .join(_trainees, _trainees.c.key == rounds.c.trainee_key)
        .where(rounds.c.key.in_(chosen))
        .order_by(*_newest_first)
    )
    return [_round_line(row) for row in connection.execute(wanted).mappings()]


def _round_line(row: RowMapping) -> RoundLine:
    return RoundLine(
        key=row["key"],
        trainee=Person(key=row["trainee_key"], name=row["trainee_name"]),
        n_pairs=row["n_pairs"],
        state=_state(row["kind"]),
        since=row["happened_on"] or row["planned_on"],
        is_sealed=bool(row["is_sealed"]),
        is_begun=bool(row["is_begun"]),
        is_finished=bool(row["is_finished"]),
    )


def _state(kind: str | None) -> RoundState:
    return RoundState.PLANNED if kind is None else state_after(LegKind(kind))


def round_standing(connection: Connection, round_key: str) -> RoundStanding:
    """Who has begun, finished and read what of a round. One query."""
    none = literal(None, Integer)
    wanted = union_all(
        select(
            literal("marking"), markings.c.mentor_key, none, markings.c.version, markings.c.finished_at.is_not(None)
        ).where(markings.c.round_key == round_key),
        select(literal("opening"), openings.c.who, openings.c.number, none, literal(True)).where(
            openings.c.round_key == round_key
        ),
        select(literal("assessment"), literal(""), none, assessments.c.version, literal(True)).where(
            assessments.c.round_key == round_key
        ),
    )
    standing = RoundStanding()
    for kind, who, number, version, is_finished in connection.execute(wanted):
        if kind == "opening":
            standing.opened.setdefault(who, set()).add(number)
        elif kind == "assessment":
            standing.sealed.add(version)
        else:
            versions = standing.finished if is_finished else standing.drafts
            versions[who] = max(version, versions.get(who, 0))
    return standing

"""Boxes of numbered pairs and their journeys in the book."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Column, ColumnElement, Connection, select

from evalkit.book.facts import leg_fact, numbered_fact, round_fact
from evalkit.book.history import Acting, unplanned_keys
from evalkit.book.missing import unknown
from evalkit.book.people import get_person
from evalkit.book.rows import leg_of, leg_row, pair_of, round_of, round_row
from evalkit.book.rubrics import get_rubric
from evalkit.book.schema import legs, metadata, numbered_pairs, pairs, people, rounds, rubrics
from evalkit.book.stock import current_versions, get_pair
from evalkit.domain.round import Leg, NumberedPair, Person, Round, RoundState
from evalkit.errors import AlreadyError, InputError

_trainees, _mentors = people.alias("trainees"), people.alias("mentors")
_heads = (
    select(
        rounds,
        rubrics.c.key.label("rubric_key"),
        rubrics.c.version.label("rubric_version"),
        _trainees.c.name.label("trainee_name"),
        _mentors.c.name.label("mentor_name"),
    )
    .join(rubrics, rubrics.c.digest == rounds.c.rubric_digest)
    .join(_trainees, _trainees.c.key == rounds.c.trainee_key)
    .join(_mentors, _mentors.c.key == rounds.c.mentor_key)
    .order_by(rounds.c.planned_on, rounds.c.key)
)
_numbered = (
    select(pairs, numbered_pairs.c.round_key, numbered_pairs.c.number, numbered_pairs.c.called_for)
    .join_from(numbered_pairs, pairs)
    .join(rounds, rounds.c.key == numbered_pairs.c.round_key)
    .order_by(numbered_pairs.c.round_key, numbered_pairs.c.position)
)
_legs = select(legs).join(rounds, rounds.c.key == legs.c.round_key).order_by(legs.c.round_key, legs.c.position)


@dataclass(frozen=True, slots=True)
class RoundHead:
    """What a document about a round must fit."""

    key: str
    trainee_key: str
    mentor_key: str
    rubric_digest: str
    numbers: tuple[int, ...]


def add_round(doing: Acting, round_: Round) -> None:
    """Raises AlreadyError for a used key; NotFoundError or InputError where it does not fit the rest of the book."""
    connection = doing.connection
    check_new_key(connection, round_.key)
    _check_person(round_.trainee, get_person(connection, "trainee", round_.trainee.key))
    _check_person(round_.mentor, get_person(connection, "mentor", round_.mentor.key))
    rubric, _ = get_rubric(connection, round_.rubric_key, round_.rubric_version)
    if rubric.digest != round_.rubric_digest:
        raise InputError(
            f"rubric '{round_.rubric_key}' version {round_.rubric_version} has another content in the book.",
            mend="Freeze the rubric and plan the round again.",
            where=f"round {round_.key}",
        )
    versions = current_versions(connection, [numbered.pair.tag for numbered in round_.pairs])
    for numbered in round_.pairs:
        if get_pair(connection, numbered.pair.tag) != numbered.pair:
            raise InputError(
                "the pair is described otherwise in the book.",
                mend="Plan the round again with the pair as it stands.",
                where=f"round {round_.key}, pair {numbered.pair.tag}",
            )
    connection.execute(rounds.insert(), round_row(round_, doing.at))
    doing.note(round_fact(round_, doing.at))
    for position, numbered in enumerate(round_.pairs):
        _insert_numbered(doing, round_.key, position, numbered, versions[numbered.pair.tag])
    for position, leg in enumerate(round_.legs):
        insert_leg(doing, round_.key, position, leg)


def check_new_key(connection: Connection, key: str) -> None:
    """Raises AlreadyError for a key that is taken, or that a plan bore which was taken back."""
    if connection.execute(select(rounds.c.key).where(rounds.c.key == key)).first():
        raise AlreadyError(f"there is a round '{key}' already.", mend="Give the new one another key.")
    if key in unplanned_keys(connection):
        raise AlreadyError(
            f"the plan of a round '{key}' was taken back, and what was made of it could come in for this one.",
            mend="Give the new one another key.",
        )


def _check_person(given: Person, known: Person) -> None:
    if given != known:
        raise InputError(f"'{known.key}' is {known.name} in the book, not {given.name}.", mend="Take the book's name.")


def _insert_numbered(doing: Acting, round_key: str, position: int, numbered: NumberedPair, version: int) -> None:
    tag, number, called_for = numbered.pair.tag, numbered.number, numbered.called_for
    row = {
        "round_key": round_key,
        "number": number,
        "position": position,
        "tag": tag,
        "version": version,
        "called_for": called_for,
    }
    doing.connection.execute(numbered_pairs.insert(), row)
    doing.note(numbered_fact(round_key, number, tag, version, called_for))


def insert_leg(doing: Acting, round_key: str, position: int, leg: Leg) -> None:
    """Write one leg, unasked whether it may come next."""
    doing.connection.execute(legs.insert(), leg_row(round_key, position, leg))
    doing.note(leg_fact(round_key, position, leg))


def add_leg(doing: Acting, round_key: str, leg: Leg) -> Round:
    """The round one leg further. Raises InputError when that leg cannot come next."""
    before = get_round(doing.connection, round_key)
    after = before.after(leg)
    insert_leg(doing, round_key, len(before.legs), leg)
    return after


def correct_leg(doing: Acting, round_key: str, leg: Leg) -> Round:
    """The round with its last leg said anew; the history keeps what stood. Raises InputError as `Round.with_last`."""
    before = get_round(doing.connection, round_key)
    after = before.with_last(leg)
    position = len(before.legs) - 1
    if before.legs[-1] != leg:
        where = (legs.c.round_key == round_key) & (legs.c.position == position)
        doing.connection.execute(legs.update().where(where).values(leg_row(round_key, position, leg)))
        _, stood = leg_fact(round_key, position, before.legs[-1])
        doing.note(leg_fact(round_key, position, leg), stood)
    return after


def remove_plan(doing: Acting, round_key: str) -> Round:
    """Take back the plan of a box that has not left; the round as it stood, which the history keeps.

    Raises InputError once the box has left, or when something of it is in the book.
    """
    round_ = get_round(doing.connection, round_key)
    if round_.state is not RoundState.PLANNED:
        raise InputError(
            f"the box is {round_.state}; its plan cannot be taken back.",
            mend="What has left is followed to its end.",
            where=f"round {round_key}",
        )
    for column in _documents():
        if doing.connection.execute(select(column).where(column == round_key).limit(1)).first():
            raise InputError(
                "readings of this box are in the book, so its plan cannot be taken back.",
                mend="Send it, or leave it as it is.",
                where=f"round {round_key}",
            )
    row = doing.connection.execute(select(rounds.c.added_at).where(rounds.c.key == round_key)).one()
    versions = _versions(doing.connection, round_key)
    for numbered in round_.pairs:
        tag, number = numbered.pair.tag, numbered.number
        doing.note_gone(*numbered_fact(round_key, number, tag, versions[number], numbered.called_for))
    doing.note_gone(*round_fact(round_, row.added_at))
    doing.connection.execute(numbered_pairs.delete().where(numbered_pairs.c.round_key == round_key))
    doing.connection.execute(rounds.delete().where(rounds.c.key == round_key))
    return round_


def _documents() -> list[Column[str]]:
    """Where every table but those of the plan itself names its round."""
    own = (numbered_pairs, legs)
    found = [key.parent for table in metadata.sorted_tables if table not in own for key in table.foreign_keys]
    return [column for column in found if column.references(rounds.c.key)]


def _versions(connection: Connection, round_key: str) -> dict[int, int]:
    wanted = select(numbered_pairs.c.number, numbered_pairs.c.version).where(numbered_pairs.c.round_key == round_key)
    return {row.number: row.version for row in connection.execute(wanted)}


def find_round(connection: Connection, key: str) -> Round | None:
    """None when there is no such round."""
    return next(iter(_load(connection, rounds.c.key == key)), None)


def get_round(connection: Connection, key: str) -> Round:
    """Raises NotFoundError."""
    found = find_round(connection, key)
    if found is None:
        raise unknown("round", key, connection.execute(select(rounds.c.key)).scalars())
    return found


def list_rounds(connection: Connection, trainee_key: str | None) -> list[Round]:
    """By the day they were planned, then by key. Raises NotFoundError for an unknown trainee."""
    if trainee_key is None:
        return _load(connection, rounds.c.key.is_not(None))
    get_person(connection, "trainee", trainee_key)
    return _load(connection, rounds.c.trainee_key == trainee_key)


def rounds_holding(connection: Connection, tag: str) -> list[Round]:
    """Every round that has the pair in its box, in the same order."""
    holding = select(numbered_pairs.c.round_key).where(numbered_pairs.c.tag == tag)
    return _load(connection, rounds.c.key.in_(holding))


def round_moments(connection: Connection) -> dict[str, datetime]:
    """When each round was added."""
    return {row.key: row.added_at for row in connection.execute(select(rounds.c.key, rounds.c.added_at))}


def get_head(connection: Connection, key: str) -> RoundHead:
    """Raises NotFoundError."""
    row = connection.execute(select(rounds).where(rounds.c.key == key)).one_or_none()
    if row is None:
        raise unknown("round", key, connection.execute(select(rounds.c.key)).scalars())
    numbers = connection.execute(
        select(numbered_pairs.c.number).where(numbered_pairs.c.round_key == key).order_by(numbered_pairs.c.number)
    ).scalars()
    return RoundHead(row.key, row.trainee_key, row.mentor_key, row.rubric_digest, tuple(numbers))


def _load(connection: Connection, where: ColumnElement[bool]) -> list[Round]:
    """Three queries, however many rounds."""
    boxes: dict[str, list[NumberedPair]] = defaultdict(list)
    for row in connection.execute(_numbered.where(where)).mappings():
        numbered = NumberedPair(number=row["number"], pair=pair_of(row), called_for=row["called_for"])
        boxes[row["round_key"]].append(numbered)
    journeys: dict[str, list[Leg]] = defaultdict(list)
    for row in connection.execute(_legs.where(where)).mappings():
        journeys[row["round_key"]].append(leg_of(row))
    heads = connection.execute(_heads.where(where)).mappings()
    return [round_of(row, boxes[row["key"]], journeys[row["key"]]) for row in heads]

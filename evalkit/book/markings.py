"""Versions of what mentors saw: drafts and finished ones, written and read."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, RowMapping, case, select

from evalkit.book.documents import (
    check_fits,
    checked_reason,
    insert_details,
    insert_row,
    load_photos,
    load_readings,
)
from evalkit.book.facts import marked_pair_fact, marking_fact
from evalkit.book.history import Acting
from evalkit.book.kept import FinishedMarking, Kept, VersionLine
from evalkit.book.missing import no_version
from evalkit.book.people import get_person
from evalkit.book.rounds import get_head
from evalkit.book.rows import marked_pair_of, marked_pair_row, marking_of
from evalkit.book.schema import marked_pairs, markings, pair_photos, readings, rounds
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.errors import AlreadyError

_heads = select(markings, rounds.c.rubric_digest).join(rounds, rounds.c.key == markings.c.round_key)
_finished = _heads.where(markings.c.finished_at.is_not(None))
_own_mentor_first = case((markings.c.mentor_key == rounds.c.mentor_key, 0), else_=1)


def blinded(pair: MarkedPair) -> MarkedPair:
    """The pair's words alone: reading the assessment later does not make the same words others."""
    return pair.model_copy(update={"was_opened": False})


def take_in_marking(doing: Acting, marking: Marking, reason: str, *, at_least: int = 1) -> Kept:
    """A whole marking at once, finished: the first version, or with a reason the next; no lower than `at_least`.

    The same words again change nothing. A pair judged as it was in the last version stays as blind as it was.
    Raises AlreadyError for other words without a reason, or while a draft is open; InputError where it does not fit.
    """
    connection, key, mentor = doing.connection, marking.round_key, marking.mentor_key
    head = get_head(connection, key)
    get_person(connection, "mentor", mentor)
    reason = checked_reason(reason)
    check_fits(connection, head, marking.rubric_digest, marking.pairs)
    if find_draft_row(connection, key, mentor) is not None:
        raise AlreadyError(
            "this marking is being worked on.",
            mend="Finish it (evalkit mark), or put it away (evalkit marking put-away).",
            where=f"round {key}",
        )
    lines = marking_versions(connection, key, mentor)
    last = find_marking(connection, key, mentor, None)
    same = same_version(connection, marking, lines)
    if same is not None and last is not None and (same == last.version or not reason):
        return Kept(same, is_new=False)
    if last is not None and not reason:
        raise AlreadyError(
            "another marking of this round is finished.",
            mend="To amend it give a reason (--reason); the finished one is kept.",
            where=f"round {key}",
        )
    version = max(last.version + 1 if last else 1, at_least)
    marking = marking.as_blind_as(last.marking) if last else marking
    insert_marking(doing, marking, version=version, reason=reason, is_finished=True)
    return Kept(version, is_new=True)


def same_version(connection: Connection, marking: Marking, lines: list[VersionLine]) -> int | None:
    """The latest of these versions that says the same words; None when none does."""
    words = [blinded(pair) for pair in marking.pairs]
    head = marking.model_copy(update={"pairs": ()})
    for line in reversed(lines):
        found = find_marking(connection, marking.round_key, marking.mentor_key, line.version)
        if (
            found is not None
            and found.marking.model_copy(update={"pairs": ()}) == head
            and [blinded(pair) for pair in found.marking.pairs] == words
        ):
            return line.version
    return None


def insert_marking(doing: Acting, marking: Marking, *, version: int, reason: str, is_finished: bool) -> RowMapping:
    """Write a marking with all its pairs; answers its row as `find_draft_row` would."""
    finished_at = doing.at if is_finished else None
    row = {
        "round_key": marking.round_key,
        "mentor_key": marking.mentor_key,
        "version": version,
        "started_at": doing.at,
        "finished_at": finished_at,
        "marked_on": marking.marked_on,
        "letter": marking.letter,
        "reason": reason,
    }
    marking_id = insert_row(doing.connection, markings, row)
    head = doing.connection.execute(_heads.where(markings.c.id == marking_id)).mappings().one()
    doing.note(marking_fact(marking, version, started_at=doing.at, finished_at=finished_at, reason=reason))
    for position, pair in enumerate(marking.pairs):
        insert_pair(doing, head, pair, position=position)
    return head


def insert_pair(doing: Acting, head: RowMapping, pair: MarkedPair, *, position: int) -> None:
    """Write one pair of a marking."""
    row = {**marked_pair_row(pair, position), "marking_id": head["id"]}
    pair_id = insert_row(doing.connection, marked_pairs, row)
    insert_details(doing.connection, pair, {"marked_pair_id": pair_id})
    doing.note(marked_pair_fact(head["round_key"], head["mentor_key"], head["version"], pair))


def find_draft_row(connection: Connection, round_key: str, mentor_key: str) -> RowMapping | None:
    """The one marking of the round that this mentor has not finished."""
    wanted = _heads.where(
        markings.c.round_key == round_key, markings.c.mentor_key == mentor_key, markings.c.finished_at.is_(None)
    )
    return connection.execute(wanted).mappings().one_or_none()


def find_draft(connection: Connection, round_key: str, mentor_key: str) -> Marking | None:
    """What is being worked on; None when nothing is."""
    row = find_draft_row(connection, round_key, mentor_key)
    return None if row is None else load_marking(connection, row)


def find_marking(
    connection: Connection, round_key: str, mentor_key: str | None, version: int | None
) -> FinishedMarking | None:
    """A finished marking, the latest unless a version is named; None when there is none. Four queries.

    Without a mentor it is the round's own mentor's, or another's when she has finished none.
    """
    wanted = _finished.where(markings.c.round_key == round_key)
    if mentor_key is not None:
        wanted = wanted.where(markings.c.mentor_key == mentor_key)
    if version is not None:
        wanted = wanted.where(markings.c.version == version)
    order = (_own_mentor_first, markings.c.version.desc(), markings.c.finished_at.desc(), markings.c.mentor_key)
    row = connection.execute(wanted.order_by(*order).limit(1)).mappings().one_or_none()
    if row is None:
        return None
    return FinishedMarking(load_marking(connection, row), row["version"], row["finished_at"], row["reason"])


def get_marking(connection: Connection, round_key: str, mentor_key: str | None, version: int | None) -> FinishedMarking:
    """As `find_marking`, but raises NotFoundError when there is none."""
    found = find_marking(connection, round_key, mentor_key, version)
    if found is None:
        get_head(connection, round_key)
        by = f" by '{mentor_key}'" if mentor_key else ""
        lines = marking_versions(connection, round_key, mentor_key)
        raise no_version(f"finished marking of round '{round_key}'{by}", version, lines)
    return found


def marking_versions(connection: Connection, round_key: str, mentor_key: str | None) -> list[VersionLine]:
    """Every finished version, first to last; of every mentor when none is named."""
    wanted = _finished.where(markings.c.round_key == round_key)
    if mentor_key is not None:
        wanted = wanted.where(markings.c.mentor_key == mentor_key)
    rows = connection.execute(wanted.order_by(_own_mentor_first, markings.c.mentor_key, markings.c.version))
    return [VersionLine(row.version, row.mentor_key, row.finished_at, row.reason) for row in rows]


def latest_versions(connection: Connection, round_key: str, mentor_key: str | None, most: int) -> list[FinishedMarking]:
    """Up to `most` finished versions of the marking that `find_marking` answers, the latest first. Four queries."""
    wanted = _finished.where(markings.c.round_key == round_key)
    if mentor_key is not None:
        wanted = wanted.where(markings.c.mentor_key == mentor_key)
    order = (_own_mentor_first, markings.c.version.desc(), markings.c.finished_at.desc(), markings.c.mentor_key)
    rows = connection.execute(wanted.order_by(*order)).mappings().all()
    heads = [row for row in rows if row["mentor_key"] == rows[0]["mentor_key"]][:most]
    found = load_markings(connection, heads)
    return [
        FinishedMarking(marking, row["version"], row["finished_at"], row["reason"])
        for row, marking in zip(heads, found, strict=True)
    ]


def load_marking(connection: Connection, head: RowMapping, number: int | None = None) -> Marking:
    """The marking of a row, with its pairs, or with the one that wears a number. Three queries."""
    return load_markings(connection, [head], number)[0]


def load_markings(connection: Connection, heads: Sequence[RowMapping], number: int | None = None) -> list[Marking]:
    """The markings of these rows, with their pairs. Three queries, however many."""
    wanted = select(marked_pairs).where(marked_pairs.c.marking_id.in_([head["id"] for head in heads]))
    if number is not None:
        wanted = wanted.where(marked_pairs.c.number == number)
    rows = connection.execute(wanted.order_by(marked_pairs.c.position, marked_pairs.c.number)).mappings().all()
    numbers = {row["id"]: row["number"] for row in rows}
    seen = load_readings(connection, readings.c.marked_pair_id, numbers)
    shown = load_photos(connection, pair_photos.c.marked_pair_id, numbers)
    pairs: dict[int, list[MarkedPair]] = {head["id"]: [] for head in heads}
    for row in rows:
        pairs[row["marking_id"]].append(marked_pair_of(row, seen[row["id"]], shown[row["id"]]))
    return [marking_of(head, pairs[head["id"]]) for head in heads]

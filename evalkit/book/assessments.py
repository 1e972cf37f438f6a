"""Sealed versions of what trainees recorded."""

from __future__ import annotations

import json
from collections.abc import Sequence

from sqlalchemy import Connection, RowMapping, select

from evalkit.book.canonical import digest_of, plain
from evalkit.book.documents import (
    check_fits,
    checked_reason,
    insert_details,
    insert_row,
    load_photos,
    load_readings,
)
from evalkit.book.facts import assessment_fact
from evalkit.book.history import Acting
from evalkit.book.kept import Kept, SealedAssessment, VersionLine
from evalkit.book.missing import no_version
from evalkit.book.rounds import get_head
from evalkit.book.rows import assessed_pair_of, assessed_pair_row, assessment_of, assessment_row
from evalkit.book.schema import assessed_pairs, assessments, pair_photos, readings, rounds
from evalkit.domain.assessment import AssessedPair, Assessment
from evalkit.errors import AlreadyError, InputError

_heads = (
    select(assessments, rounds.c.trainee_key, rounds.c.rubric_digest)
    .join(rounds, rounds.c.key == assessments.c.round_key)
    .order_by(assessments.c.version.desc())
)


def seal_of(assessment: Assessment) -> str:
    """SHA-256 of the canonical JSON."""
    return digest_of(plain(assessment))


def seal_assessment(doing: Acting, assessment: Assessment, reason: str, *, at_least: int = 1) -> Kept:
    """Seal as the first version, or with a reason as the next; under no lower number than `at_least`.

    The same content again changes nothing. Raises AlreadyError for other content without a reason; InputError when it
    does not fit its round.
    """
    head = get_head(doing.connection, assessment.round_key)
    where = f"round {head.key}"
    if assessment.trainee_key != head.trainee_key:
        raise InputError(
            f"the round is {head.trainee_key}'s, not {assessment.trainee_key}'s.",
            mend="Take it in for the trainee's own round.",
            where=where,
        )
    reason = checked_reason(reason)
    check_fits(doing.connection, head, assessment.rubric_digest, assessment.pairs)
    seals = _seals(doing.connection, head.key)
    latest = max(seals.values(), default=0)
    same = seals.get(seal_of(assessment))
    if same is not None and (same == latest or not reason):
        return Kept(same, is_new=False)
    if seals and not reason:
        raise AlreadyError(
            "another assessment of this round is sealed.",
            mend="To amend it give a reason (--reason); the sealed one is kept.",
            where=where,
        )
    sealed = SealedAssessment(assessment, max(latest + 1, at_least), doing.at, reason, seal_of(assessment))
    _insert(doing, sealed)
    return Kept(sealed.version, is_new=True)


def _seals(connection: Connection, round_key: str) -> dict[str, int]:
    """The latest version under each seal."""
    wanted = select(assessments).where(assessments.c.round_key == round_key).order_by(assessments.c.version)
    return {row.seal: row.version for row in connection.execute(wanted)}


def _insert(doing: Acting, sealed: SealedAssessment) -> None:
    row = {
        **assessment_row(sealed.assessment),
        "version": sealed.version,
        "sealed_at": sealed.sealed_at,
        "reason": sealed.reason,
        "seal": sealed.seal,
    }
    assessment_id = insert_row(doing.connection, assessments, row)
    for position, pair in enumerate(sealed.assessment.pairs):
        pair_row = {**assessed_pair_row(pair, position), "assessment_id": assessment_id}
        pair_id = insert_row(doing.connection, assessed_pairs, pair_row)
        insert_details(doing.connection, pair, {"assessed_pair_id": pair_id})
    doing.note(assessment_fact(sealed))


def find_assessment(
    connection: Connection, round_key: str, version: int | None, number: int | None = None
) -> SealedAssessment | None:
    """The latest version unless one is named, or what it says of one pair alone; None when there is none.

    Four queries.
    """
    wanted = _heads.where(assessments.c.round_key == round_key).limit(1)
    if version is not None:
        wanted = wanted.where(assessments.c.version == version)
    row = connection.execute(wanted).mappings().one_or_none()
    if row is None:
        return None
    assessment = assessment_of(row, _load_pairs(connection, row, number))
    return SealedAssessment(assessment, row["version"], row["sealed_at"], row["reason"], row["seal"])


def _load_pairs(connection: Connection, head: RowMapping, number: int | None) -> Sequence[AssessedPair]:
    wanted = select(assessed_pairs).where(assessed_pairs.c.assessment_id == head["id"])
    if number is not None:
        wanted = wanted.where(assessed_pairs.c.number == number)
    rows = connection.execute(wanted.order_by(assessed_pairs.c.position, assessed_pairs.c.number)).mappings().all()
    numbers = {row["id"]: row["number"] for row in rows}
    seen = load_readings(connection, readings.c.assessed_pair_id, numbers)
    shown = load_photos(connection, pair_photos.c.assessed_pair_id, numbers)
    return [assessed_pair_of(row, seen[row["id"]], shown[row["id"]]) for row in rows]


def question_counts(connection: Connection, round_key: str) -> dict[int, int]:
    """How many questions the latest version asks of each pair, by number; empty without an assessment. One query."""
    latest = select(assessments.c.id).where(assessments.c.round_key == round_key)
    latest = latest.order_by(assessments.c.version.desc()).limit(1)
    asked = select(assessed_pairs.c.number, assessed_pairs.c.questions).where(
        assessed_pairs.c.assessment_id == latest.scalar_subquery()
    )
    return {row.number: len(json.loads(row.questions)) for row in connection.execute(asked)}


def get_assessment(connection: Connection, round_key: str, version: int | None) -> SealedAssessment:
    """As `find_assessment`, but raises NotFoundError when there is none."""
    found = find_assessment(connection, round_key, version)
    if found is None:
        get_head(connection, round_key)
        raise no_version(
            f"sealed assessment of round '{round_key}'", version, assessment_versions(connection, round_key)
        )
    return found


def assessment_versions(connection: Connection, round_key: str) -> list[VersionLine]:
    """Every sealed version, first to last."""
    wanted = _heads.where(assessments.c.round_key == round_key).order_by(None).order_by(assessments.c.version)
    return [VersionLine(row.version, row.trainee_key, row.sealed_at, row.reason) for row in connection.execute(wanted)]

"""Versions of what a mentor read of a box before it reached the trainee."""

from __future__ import annotations

import json
from collections.abc import Iterator

from sqlalchemy import Connection, RowMapping, Select, func, select

from evalkit.book.canonical import canonical
from evalkit.book.documents import check_fits, checked_reason
from evalkit.book.facts import intake_fact
from evalkit.book.history import Acting, Fact
from evalkit.book.kept import Kept, KeptIntake
from evalkit.book.people import get_person
from evalkit.book.rounds import get_head, get_round
from evalkit.book.schema import intake_photos, intakes, rounds
from evalkit.domain.intake import Intake, check_before_trainee
from evalkit.errors import AlreadyError

_OUTSIDE = ("round_key", "mentor_key", "rubric_digest")
_rows = select(intakes, rounds.c.rubric_digest).join(rounds, rounds.c.key == intakes.c.round_key)


def record_intake(doing: Acting, intake: Intake, reason: str) -> Kept:
    """The first version, or with a reason the next. The same words again change nothing.

    Raises AlreadyError for other words without a reason; InputError where it does not fit its round, or once the box
    has been with the trainee.
    """
    connection, key = doing.connection, intake.round_key
    head = get_head(connection, key)
    get_person(connection, "mentor", intake.mentor_key)
    reason = checked_reason(reason)
    check_fits(connection, head, intake.rubric_digest, intake.pairs)
    last = find_intake(connection, key, None)
    if last is not None and last.intake == intake:
        return Kept(last.version, is_new=False)
    check_before_trainee(get_round(connection, key))
    if last is not None and not reason:
        raise AlreadyError(
            "other intake readings of this round are kept.",
            mend="To amend them give a reason; the earlier ones are kept.",
            where=f"round {key}",
        )
    kept = KeptIntake(intake, last.version + 1 if last else 1, doing.at, reason)
    _insert(doing, kept)
    doing.note(intake_fact(kept))
    return Kept(kept.version, is_new=True)


def _insert(doing: Acting, kept: KeptIntake) -> None:
    number = (doing.connection.execute(select(func.max(intakes.c.id))).scalar_one() or 0) + 1
    row = {
        "id": number,
        "round_key": kept.intake.round_key,
        "mentor_key": kept.intake.mentor_key,
        "version": kept.version,
        "content": intake_content(kept.intake),
        "reason": kept.reason,
        "taken_at": kept.taken_at,
    }
    doing.connection.execute(intakes.insert(), row)
    if names := _photo_names(kept.intake):
        doing.connection.execute(intake_photos.insert(), [{"intake_id": number, "sha256": name} for name in names])


def intake_content(intake: Intake) -> str:
    """What `intakes.content` holds: all but what stands in other columns or in the round."""
    return canonical(intake.model_dump(mode="json", exclude=set(_OUTSIDE)))


def find_intake(connection: Connection, round_key: str, version: int | None) -> KeptIntake | None:
    """The latest version unless one is named; None when there is none."""
    found = [kept for kept in _kept(connection, _of(round_key)) if version in (None, kept.version)]
    return found[-1] if found else None


def list_intakes(connection: Connection, round_key: str) -> list[KeptIntake]:
    """Every version, first to last."""
    return list(_kept(connection, _of(round_key)))


def intake_facts(connection: Connection) -> Iterator[Fact]:
    """What stands now; a picture that is named in the words alone, or in the table alone, spoils the fact."""
    shown: dict[int, set[str]] = {}
    for intake_id, name in connection.execute(select(intake_photos)).all():
        shown.setdefault(intake_id, set()).add(name)
    for row in connection.execute(_rows).mappings().all():
        kept = _kept_of(row)
        name, value = intake_fact(kept)
        listed = shown.get(row["id"], set())
        yield name, value if listed == set(_photo_names(kept.intake)) else {**value, "photos": sorted(listed)}


def _of(round_key: str) -> Select[tuple[object, ...]]:
    return _rows.where(intakes.c.round_key == round_key).order_by(intakes.c.version)


def _kept(connection: Connection, wanted: Select[tuple[object, ...]]) -> Iterator[KeptIntake]:
    return (_kept_of(row) for row in connection.execute(wanted).mappings().all())


def _kept_of(row: RowMapping) -> KeptIntake:
    outside = {name: row[name] for name in _OUTSIDE}
    intake = Intake.model_validate({**outside, **json.loads(row["content"])})
    return KeptIntake(intake, row["version"], row["taken_at"], row["reason"])


def _photo_names(intake: Intake) -> list[str]:
    return sorted({photo.file for pair in intake.pairs for photo in pair.photos})

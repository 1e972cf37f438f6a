"""Rows to domain and back, exactly: decimals as text, None kept None, order kept."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from typing import assert_never

from pydantic import BaseModel
from sqlalchemy import RowMapping

from evalkit.book.canonical import Plain, canonical
from evalkit.domain.assessment import AssessedPair, Assessment, Photo
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import Pair
from evalkit.domain.reading import NotSeen, Reading, SeenCut, SeenLevel, SeenMeasure
from evalkit.domain.round import Leg, NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric

Owner = Mapping[str, int]
"""The one owner of a reading or photo: {'assessed_pair_id': 7} or {'marked_pair_id': 7}."""

NO_VALUE: Plain = dict.fromkeys(
    ("level", "number", "unit", "doubt", "ring", "start_deg", "medium", "result", "push_mm", "why")
)
NO_OWNER: Plain = {"assessed_pair_id": None, "marked_pair_id": None}


def _listed(values: Iterable[BaseModel | str]) -> str:
    return canonical([value if isinstance(value, str) else value.model_dump(mode="json") for value in values])


# --- pairs ----------------------------------------------------------------------------------------------------------


def pair_row(pair: Pair, version: int, at: datetime) -> Plain:
    """For `pairs`."""
    return {
        **pair.model_dump(exclude={"faults"}),
        "version": version,
        "size_in": str(pair.size_in),
        "faults": _listed(pair.faults),
        "declared_value": None if pair.declared_value is None else str(pair.declared_value),
        "written_at": at,
    }


def pair_of(row: RowMapping) -> Pair:
    """From a row of `pairs`."""
    return _pair(tuple(row[name] for name in Pair.model_fields))


@lru_cache(maxsize=4_096)
def _pair(values: tuple[object, ...]) -> Pair:
    fields = dict(zip(Pair.model_fields, values, strict=True))
    return Pair.model_validate({**fields, "faults": json.loads(str(fields["faults"]))})


# --- rubrics --------------------------------------------------------------------------------------------------------


def rubric_of(content: str) -> Rubric:
    """From the content of a row of `rubrics`."""
    return Rubric.model_validate(json.loads(content))


# --- rounds ---------------------------------------------------------------------------------------------------------


def round_row(round_: Round, at: datetime) -> Plain:
    """For `rounds`."""
    return {
        "key": round_.key,
        "trainee_key": round_.trainee.key,
        "mentor_key": round_.mentor.key,
        "rubric_digest": round_.rubric_digest,
        "planned_on": round_.planned_on,
        "added_at": at,
    }


def round_of(row: RowMapping, pairs: Sequence[NumberedPair], legs: Sequence[Leg]) -> Round:
    """From a row of rounds joined with its rubric and its two people."""
    return Round(
        key=row["key"],
        trainee=Person(key=row["trainee_key"], name=row["trainee_name"]),
        mentor=Person(key=row["mentor_key"], name=row["mentor_name"]),
        rubric_key=row["rubric_key"],
        rubric_version=row["rubric_version"],
        rubric_digest=row["rubric_digest"],
        planned_on=row["planned_on"],
        pairs=tuple(pairs),
        legs=tuple(legs),
    )


def leg_row(round_key: str, position: int, leg: Leg) -> Plain:
    """For `legs`."""
    return {"round_key": round_key, "position": position, **leg.model_dump()}


def leg_of(row: RowMapping) -> Leg:
    """From a row of `legs`."""
    return Leg.model_validate({name: row[name] for name in Leg.model_fields})


# --- readings and photos --------------------------------------------------------------------------------------------


def reading_rows(readings: Iterable[Reading], owner: Owner) -> list[Plain]:
    """For `readings`, in order."""
    return [
        {
            **NO_OWNER,
            **owner,
            "position": position,
            "stage": reading.stage,
            "criterion": reading.criterion,
            "blade": reading.blade,
            "station": reading.station,
            "note": reading.note,
            **_value_columns(reading),
        }
        for position, reading in enumerate(readings)
    ]


def _value_columns(reading: Reading) -> Plain:
    seen = reading.seen
    columns = {**NO_VALUE, "kind": seen.kind}
    match seen:
        case SeenLevel(level=level):
            return {**columns, "level": level}
        case SeenMeasure():
            return {
                **columns,
                "number": seen.number,
                "unit": seen.unit,
                "doubt": seen.doubt,
                "ring": seen.ring,
                "start_deg": seen.start_deg,
            }
        case SeenCut():
            return {**columns, "medium": seen.medium, "result": seen.result, "push_mm": seen.push_mm}
        case NotSeen(why=why):
            return {**columns, "why": why}
        case _:
            assert_never(seen)


VALUE_COLUMNS = tuple(NO_VALUE)
READING_COLUMNS = ("stage", "criterion", "blade", "station", "note", "kind", *VALUE_COLUMNS)


@lru_cache(maxsize=8_192)
def reading_of(row: tuple[object, ...], number: int) -> Reading:
    """From READING_COLUMNS of `readings`. Raises ValueError when a column is filled that its kind does not have.

    The same columns make the same reading: a page of a dozen pairs asks for a thousand, most of them as before.
    """
    stage, criterion, blade, station, note, kind, *values = row
    seen = {name: value for name, value in zip(VALUE_COLUMNS, values, strict=True) if value is not None}
    seen["kind"] = kind
    return Reading.model_validate(
        {
            "number": number,
            "stage": stage,
            "criterion": criterion,
            "blade": blade,
            "station": station,
            "seen": seen,
            "note": note,
        }
    )


def photo_rows(photos: Iterable[Photo], owner: Owner) -> list[Plain]:
    """For `pair_photos`, in order."""
    return [
        {**NO_OWNER, **owner, "position": position, "sha256": photo.file, "caption": photo.caption}
        for position, photo in enumerate(photos)
    ]


def photo_of(row: RowMapping) -> Photo:
    """From a row of `pair_photos`."""
    return Photo(file=row["sha256"], caption=row["caption"])


# --- assessments ----------------------------------------------------------------------------------------------------


def assessment_row(assessment: Assessment) -> Plain:
    """Without version, moment, reason and seal; trainee and rubric are those of the round."""
    return assessment.model_dump(exclude={"pairs", "trainee_key", "rubric_digest"})


def assessment_of(row: RowMapping, pairs: Sequence[AssessedPair]) -> Assessment:
    """From a row of assessments joined with its round."""
    fields = {name: row[name] for name in Assessment.model_fields if name != "pairs"}
    return Assessment.model_validate({**fields, "pairs": pairs})


def assessed_pair_row(pair: AssessedPair, position: int) -> Plain:
    """For `assessed_pairs`, without readings and photos."""
    return {
        **pair.model_dump(exclude={"readings", "photos", "work", "questions"}),
        "position": position,
        "work": canonical(pair.work.model_dump(mode="json")),
        "questions": _listed(pair.questions),
    }


def assessed_pair_of(row: RowMapping, readings: Sequence[Reading], photos: Sequence[Photo]) -> AssessedPair:
    """From a row of `assessed_pairs`."""
    fields = _own_columns(row, AssessedPair, as_json=("work", "questions"))
    return AssessedPair.model_validate({**fields, "readings": readings, "photos": photos})


# --- markings -------------------------------------------------------------------------------------------------------


def marking_of(row: RowMapping, pairs: Sequence[MarkedPair]) -> Marking:
    """From a row of markings joined with its round."""
    fields = {name: row[name] for name in Marking.model_fields if name != "pairs"}
    return Marking.model_validate({**fields, "pairs": pairs})


def marked_pair_row(pair: MarkedPair, position: int) -> Plain:
    """For `marked_pairs`, without readings and photos."""
    return {
        **pair.model_dump(exclude={"readings", "photos", "transit", "comments", "answers"}),
        "position": position,
        "transit": _listed(pair.transit),
        "comments": _listed(pair.comments),
        "answers": _listed(pair.answers),
    }


def marked_pair_of(row: RowMapping, readings: Sequence[Reading], photos: Sequence[Photo]) -> MarkedPair:
    """From a row of `marked_pairs`."""
    fields = _own_columns(row, MarkedPair, as_json=("transit", "comments", "answers"))
    return MarkedPair.model_validate({**fields, "readings": readings, "photos": photos})


def _own_columns(row: RowMapping, model: type[BaseModel], *, as_json: Sequence[str]) -> Plain:
    names = [name for name in model.model_fields if name not in ("readings", "photos")]
    return {name: json.loads(row[name]) if name in as_json else row[name] for name in names}

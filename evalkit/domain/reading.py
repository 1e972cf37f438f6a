"""One thing seen on one pair: what, where, at which stage; or why it was not seen."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from typing import Annotated, Literal, NamedTuple, Self

from pydantic import Field, model_validator

from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, Station
from evalkit.domain.value import Key, Note, Value


class Stage(StrEnum):
    """When it was seen: before any work, when the trainee had finished, when the box came back."""

    AS_RECEIVED = "as received"
    AS_FINISHED = "as finished"
    AS_RETURNED = "as returned"


class Unseen(StrEnum):
    """Why there is nothing. None of these is a nought, and none is a pass."""

    NOT_TESTED = "not tested"
    NOT_APPLICABLE = "not applicable"
    COULD_NOT = "could not"


class Medium(StrEnum):
    """What was cut."""

    DRY_TISSUE = "dry tissue"
    WET_TISSUE = "wet tissue"
    HAIR = "hair"
    SYNTHETIC_HAIR = "synthetic hair"
    THREAD = "thread"
    PAPER_TOWEL = "paper towel"


class CutResult(StrEnum):
    """What the medium did."""

    CLEAN = "clean"
    CATCH = "catch"
    FOLD = "fold"
    PUSH = "push"
    TEAR = "tear"
    NOT_CUT = "not cut"


class Place(NamedTuple):
    """Where on the pair. Both None: the whole pair.

    No blade: that station of both together, as in a cut, or of the one that the rubric names, as on a toothed pair.
    """

    blade: Blade | None = None
    station: Station | None = None

    def __str__(self) -> str:
        words = [word for word in self if word is not None]
        return " ".join(words) if words else "whole pair"


WHOLE_PAIR = Place()


class SeenLevel(Value):
    """A rung of the rubric's ladder, judged by eye or hand."""

    kind: Literal["level"] = "level"
    level: int = Field(ge=0, le=9)


class SeenMeasure(Value):
    """A measured value. `doubt` is the expanded uncertainty (k = 2) in the same unit, None when not stated."""

    kind: Literal["measure"] = "measure"
    number: float
    unit: Unit
    doubt: float | None = Field(default=None, ge=0)
    ring: Blade | None = Field(default=None, description="drop test: the ring that was held")
    start_deg: float | None = Field(default=None, gt=0, le=180, description="drop test: open angle at the start")

    @model_validator(mode="after")
    def _possible(self) -> Self:
        highest = {Unit.DEG_INCLUDED: 120.0, Unit.DEG_DIAL: 90.0, Unit.DEG_OPEN: 180.0}.get(self.unit, 1_000.0)
        if not 0 <= self.number <= highest:
            raise ValueError(f"{self.number:g} {self.unit} is not possible here (0 to {highest:g})")
        return self


class SeenCut(Value):
    """One test cut."""

    kind: Literal["cut"] = "cut"
    medium: Medium
    result: CutResult
    push_mm: float | None = Field(default=None, ge=0, le=100, description="how far the hair walked before it was cut")

    @model_validator(mode="after")
    def _push_only(self) -> Self:
        if self.push_mm is not None and self.result is not CutResult.PUSH:
            raise ValueError(f"a cut that is '{self.result}' has no push in mm")
        return self


class NotSeen(Value):
    """Nothing was seen, and why."""

    kind: Literal["not seen"] = "not seen"
    why: Unseen


Seen = Annotated[SeenLevel | SeenMeasure | SeenCut | NotSeen, Field(discriminator="kind")]


class Reading(Value):
    """One thing seen on one pair. Who saw it stands on the assessment or the marking that holds it."""

    number: int = Field(ge=1, le=999)
    stage: Stage
    criterion: Key
    blade: Blade | None = None
    station: Station | None = None
    seen: Seen
    note: Note = ""

    @property
    def place(self) -> Place:
        return Place(self.blade, self.station)

    @property
    def is_seen(self) -> bool:
        return not isinstance(self.seen, NotSeen)


def find_doubled(readings: Iterable[Reading]) -> Reading | None:
    """The first reading whose pair, stage, criterion and place were read before; None when all differ."""
    places: set[tuple[object, ...]] = set()
    for reading in readings:
        place = (reading.number, reading.stage, reading.criterion, reading.blade, reading.station)
        if place in places:
            return reading
        places.add(place)
    return None

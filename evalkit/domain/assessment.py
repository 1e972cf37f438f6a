"""The trainee's own readings, decisions, work log and notes for a round; sealed before the mentor marks."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Literal, Self

from pydantic import Field, model_validator

from evalkit.domain.measures import Unit
from evalkit.domain.pair import Station
from evalkit.domain.reading import Reading, Stage, find_doubled
from evalkit.domain.round import Digest
from evalkit.domain.triage import Decision, IntakeClass
from evalkit.domain.value import Key, Line, Note, Prose, Value
from evalkit.domain.verdict import Verdict


class GritScale(StrEnum):
    """Micron, mesh and stone number are different scales; a grit without its scale says little."""

    MICRON = "micron"
    MESH = "mesh"
    STONE = "stone"
    BELT = "belt"
    OTHER = "other"


class WorkStep(Value):
    """One step at the bench, with its abrasive if it used one."""

    what: Line = Field(min_length=1)
    grit: float | None = Field(default=None, gt=0, le=100_000)
    scale: GritScale | None = None

    @model_validator(mode="after")
    def _grit_has_scale(self) -> Self:
        if (self.grit is None) != (self.scale is None):
            raise ValueError("a grit needs its scale, and a scale its grit")
        return self


class Angle(Value):
    """An edge angle with its convention: included, or the dial that reads 90 minus included."""

    number: float = Field(gt=0, lt=90)
    unit: Literal[Unit.DEG_INCLUDED, Unit.DEG_DIAL]


class WorkLog(Value):
    """What was done to one pair. Widths are of the blade at a station; lengths from tip to pivot centre; all mm."""

    steps: tuple[WorkStep, ...] = Field(default=(), max_length=60)
    angle: Angle | None = None
    parts: tuple[Line, ...] = Field(default=(), max_length=30)
    minutes: int | None = Field(default=None, ge=0, le=6_000)
    width_before_mm: dict[Station, float] = Field(default_factory=dict)
    width_after_mm: dict[Station, float] = Field(default_factory=dict)
    length_before_mm: float | None = Field(default=None, gt=0, lt=300)
    length_after_mm: float | None = Field(default=None, gt=0, lt=300)

    @model_validator(mode="after")
    def _possible(self) -> Self:
        for station, width in {**self.width_before_mm, **self.width_after_mm}.items():
            if not 0 < width < 60:
                raise ValueError(f"a blade {width:g} mm wide at the {station} is not possible")
        for station, after in self.width_after_mm.items():
            before = self.width_before_mm.get(station)
            if before is not None and after > before + 0.05:
                raise ValueError(f"the {station} cannot be wider after ({after:g} mm) than before ({before:g} mm)")
        if self.length_before_mm and self.length_after_mm and self.length_after_mm > self.length_before_mm + 0.05:
            raise ValueError("the blade cannot be longer after than before")
        return self

    @property
    def removed_mm(self) -> dict[Station, float]:
        """Blade width lost at each station that was measured both times."""
        return {
            station: max(0.0, self.width_before_mm[station] - after)
            for station, after in self.width_after_mm.items()
            if station in self.width_before_mm
        }

    @property
    def most_removed_mm(self) -> float | None:
        """The greatest loss of width; None when it was not measured."""
        return max(self.removed_mm.values(), default=None)


class Photo(Value):
    """A picture beside the words: where it lies (a file beside the sheet, or content in the book) and its caption."""

    file: Line = Field(min_length=1)
    caption: Line = ""


class AssessedPair(Value):
    """What the trainee recorded of one pair. Readings as received come before any work."""

    number: int = Field(ge=1, le=999)
    readings: tuple[Reading, ...] = ()
    stated_class: IntakeClass | None = None
    decision: Decision | None = None
    reason: Note = ""
    work: WorkLog = WorkLog()
    verdict: Verdict | None = None
    notes: Prose = ""
    questions: tuple[Line, ...] = Field(default=(), max_length=20)
    lessons: Prose = ""
    photos: tuple[Photo, ...] = Field(default=(), max_length=40)

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        for reading in self.readings:
            if reading.number != self.number or reading.stage is Stage.AS_RETURNED:
                raise ValueError(f"a reading of pair {reading.number} {reading.stage} does not belong here")
        if (twice := find_doubled(self.readings)) is not None:
            raise ValueError(f"'{twice.criterion}' at {twice.place} {twice.stage} stands twice for one pair")
        if self.verdict is Verdict.NOT_SHOWN:
            raise ValueError("a trainee's own verdict is accepted or rework; leave it out when there is none")
        if self.decision is Decision.LEAVE and not self.reason.strip():
            raise ValueError("a pair left alone needs its reason")
        return self

    def at_stage(self, stage: Stage) -> tuple[Reading, ...]:
        return tuple(reading for reading in self.readings if reading.stage is stage)


class Assessment(Value):
    """One sealed version of a trainee's record of a round. A later version keeps the earlier ones."""

    round_key: Key
    trainee_key: Key
    rubric_digest: Digest
    written_on: date | None = None
    disinfected_with: Note = Field(default="", description="product, the label's contact time, start and end")
    pairs: tuple[AssessedPair, ...]
    letter: Prose = ""
    is_transcribed: bool = Field(default=False, description="written down by the mentor on the trainee's behalf")

    @model_validator(mode="after")
    def _numbers_once(self) -> Self:
        numbers = [pair.number for pair in self.pairs]
        if len(set(numbers)) < len(numbers):
            raise ValueError("a number stands twice")
        return self

    def find_pair(self, number: int) -> AssessedPair | None:
        return next((pair for pair in self.pairs if pair.number == number), None)

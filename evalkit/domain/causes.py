"""The cause map: patterns of readings, what likely lies behind them, and what a mentor would say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from pydantic import Field, model_validator

from evalkit.domain.grading import CriterionGrade, PairGrade, PlaceLevel
from evalkit.domain.levels import number_in
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import CutResult, SeenCut, SeenMeasure
from evalkit.domain.rubric import LimitOf
from evalkit.domain.value import Key, Line, Note, Value

FORMAT = 1
"""Number of the cause-map format. 1: first."""


class Pattern(Value):
    """A kind of reading. Every part that is given must hold; `above` and `below` are in the criterion's unit."""

    criteria: tuple[Key, ...] = Field(min_length=1)
    cuts: tuple[CutResult, ...] = ()
    stations: tuple[Station, ...] = ()
    blades: tuple[Blade, ...] = ()
    at_most: int | None = Field(default=None, ge=0, le=9)
    at_least: int | None = Field(default=None, ge=0, le=9)
    above: float | None = None
    below: float | None = None
    figure: LimitOf | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        parts = (self.cuts, self.at_most, self.at_least, self.above, self.below)
        if all(part is None or part == () for part in parts):
            raise ValueError("a pattern needs cuts, at_most, at_least, above or below")
        if self.figure is not None and self.above is None and self.below is None:
            raise ValueError("a pattern on a computed figure needs above or below")
        return self


class Cause(Value):
    """One row: what is observed, the likely causes first to last, what to say, and where the fact is from."""

    key: Key
    observed: Line
    causes: tuple[Line, ...] = Field(min_length=1)
    say: Note
    when: tuple[Pattern, ...] = Field(min_length=1)
    unless: tuple[Pattern, ...] = ()
    edge_types: tuple[EdgeType, ...] = tuple(EdgeType)
    source: Line


class CauseMap(Value):
    """All rows, in the order in which a mentor would think of them."""

    format_number: int = Field(default=FORMAT, alias="format", ge=1, le=FORMAT)
    causes: tuple[Cause, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _keys_once(self) -> Self:
        keys = [cause.key for cause in self.causes]
        if len(set(keys)) < len(keys):
            raise ValueError("a key stands twice: " + ", ".join(sorted({key for key in keys if keys.count(key) > 1})))
        return self


@dataclass(frozen=True, slots=True)
class LikelyCause:
    """A row offered for one pair: how many failed readings it explains, of how many, and how many contradict it."""

    cause: Cause
    n_explained: int
    n_failed: int
    n_against: int


def likely_causes(causes: CauseMap, grade: PairGrade, *, fit: int) -> tuple[LikelyCause, ...]:
    """Rows that explain at least one failed reading, best first: explained minus contradicted, then explained."""
    length_mm = grade.pair.blade_length_mm
    failed = [(one, place) for one in grade.criteria for place in one.places if _has_failed(one, place, fit)]
    found = []
    for cause in causes.causes:
        if grade.pair.edge_type not in cause.edge_types:
            continue
        explained = sum(any(_fits(pattern, one, place, length_mm) for pattern in cause.when) for one, place in failed)
        if explained:
            against = sum(
                any(_fits(pattern, one, place, length_mm) for pattern in cause.unless)
                for one in grade.criteria
                for place in one.places
            )
            found.append(LikelyCause(cause, explained, len(failed), against))
    return tuple(sorted(found, key=lambda one: (one.n_against - one.n_explained, -one.n_explained)))


def _has_failed(grade: CriterionGrade, place: PlaceLevel, fit: int) -> bool:
    """Below fit at this place; or the criterion falls below fit only by a computed figure, such as its spread."""
    if place.level is None:
        return False
    return place.level < fit or (grade.hi < fit and _is_capped(grade, fit))


def _is_capped(grade: CriterionGrade, fit: int) -> bool:
    levels: Sequence[int] = [place.level for place in grade.places if place.level is not None]
    return bool(levels) and min(levels) >= fit


def _fits(pattern: Pattern, grade: CriterionGrade, place: PlaceLevel, blade_length_mm: float | None) -> bool:
    if grade.key not in pattern.criteria or place.level is None or place.reading is None:
        return False
    seen = place.reading.seen
    if pattern.stations and place.place.station not in pattern.stations:
        return False
    if pattern.blades and place.place.blade not in pattern.blades:
        return False
    if pattern.cuts and not (isinstance(seen, SeenCut) and seen.result in pattern.cuts):
        return False
    if pattern.at_most is not None and place.level > pattern.at_most:
        return False
    if pattern.at_least is not None and place.level < pattern.at_least:
        return False
    if pattern.above is None and pattern.below is None:
        return True
    number = number_in(grade.on, seen, blade_length_mm) if isinstance(seen, SeenMeasure) else None
    return _figure_fits(pattern, grade, number)


def _figure_fits(pattern: Pattern, grade: CriterionGrade, number: float | None) -> bool:
    figure = number if pattern.figure is None else grade.figures.get(pattern.figure)
    if figure is None:
        return False
    return (pattern.above is None or figure > pattern.above) and (pattern.below is None or figure < pattern.below)

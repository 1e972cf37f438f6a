"""The cause map: patterns of readings, what likely lies behind them, and what a mentor would say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple, Self

from pydantic import Field, model_validator

from evalkit.domain.bands import LimitOf
from evalkit.domain.grading import CriterionGrade, PairGrade
from evalkit.domain.levels import number_in
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import WHOLE_PAIR, CutResult, NotSeen, Place, SeenCut, SeenLevel, SeenMeasure
from evalkit.domain.value import Key, Line, Note, Value

FORMAT = 1
"""Number of the cause-map format. 1: first."""


class Pattern(Value):
    """A kind of reading. Every part that is given must hold; `above` and `below` are in the criterion's unit.

    `by_eye` takes levels alone, no cut and no measured value. `anywhere` is for `unless`: it counts at every place.
    """

    criteria: tuple[Key, ...] = Field(min_length=1)
    cuts: tuple[CutResult, ...] = ()
    stations: tuple[Station, ...] = ()
    blades: tuple[Blade, ...] = ()
    at_most: int | None = Field(default=None, ge=0, le=9)
    at_least: int | None = Field(default=None, ge=0, le=9)
    above: float | None = None
    below: float | None = None
    figure: LimitOf | None = None
    by_eye: bool = False
    anywhere: bool = False

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        parts = (self.cuts, self.at_most, self.at_least, self.above, self.below)
        if all(part is None or part == () for part in parts):
            raise ValueError("a pattern needs cuts, at_most, at_least, above or below")
        if self.figure is not None and self.above is None and self.below is None:
            raise ValueError("a pattern on a computed figure needs above or below")
        if self.by_eye and (self.cuts or self.above is not None or self.below is not None):
            raise ValueError("a level by eye has no cut and no number: leave out by_eye, or cuts, above and below")
        return self


class Cause(Value):
    """One row: what is observed, the likely causes first to last, what to say, and where the fact is from.

    Offered when every pattern of `needs` fits some reading, none of `never` fits any, and one of `when` fits a failed
    one. While it is offered, the rows named in `stops` are not.
    """

    key: Key
    observed: Line
    causes: tuple[Line, ...] = Field(min_length=1)
    say: Note
    when: tuple[Pattern, ...] = Field(min_length=1)
    needs: tuple[Pattern, ...] = ()
    never: tuple[Pattern, ...] = ()
    unless: tuple[Pattern, ...] = ()
    stops: tuple[Key, ...] = ()
    edge_types: tuple[EdgeType, ...] = tuple(EdgeType)
    source: Line

    @model_validator(mode="after")
    def _anywhere_in_unless(self) -> Self:
        if any(pattern.anywhere for pattern in (*self.when, *self.needs, *self.never)):
            raise ValueError("'anywhere' has a meaning in 'unless' alone: take it out of the other patterns")
        return self


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

    @model_validator(mode="after")
    def _stops_are_rows(self) -> Self:
        keys = {cause.key for cause in self.causes}
        for cause in self.causes:
            unknown = sorted(set(cause.stops) - (keys - {cause.key}))
            if unknown:
                raise ValueError(f"'stops' of the row '{cause.key}' names no other row: {', '.join(unknown)}")
        return self


@dataclass(frozen=True, slots=True)
class LikelyCause:
    """A row offered for one pair: how many failed readings it explains, of how many, and how many contradict it."""

    cause: Cause
    n_explained: int
    n_failed: int
    n_against: int


class _Seen(NamedTuple):
    """A reading that has a level; `number` is its value in the criterion's unit, None where nothing was measured."""

    on: CriterionGrade
    place: Place
    level: int
    what: SeenLevel | SeenCut | SeenMeasure | NotSeen
    number: float | None
    has_failed: bool


@dataclass(frozen=True, slots=True)
class _Looks:
    """Readings, and the keys of their criteria: most patterns of a map speak of none of them."""

    readings: tuple[_Seen, ...]
    keys: frozenset[str]

    @classmethod
    def of(cls, readings: Iterable[_Seen]) -> Self:
        kept = tuple(readings)
        return cls(kept, frozenset(one.on.key for one in kept))

    def about(self, patterns: Sequence[Pattern]) -> list[Pattern]:
        """The patterns that name a criterion of these readings."""
        return [pattern for pattern in patterns if not self.keys.isdisjoint(pattern.criteria)]

    def fitting(self, patterns: Sequence[Pattern]) -> list[_Seen]:
        """The readings that one of the patterns fits."""
        about = self.about(patterns)
        return [one for one in self.readings if any(_fits(pattern, one) for pattern in about)] if about else []


def likely_causes(causes: CauseMap, grade: PairGrade, *, fit: int) -> tuple[LikelyCause, ...]:
    """Rows that explain at least one failed reading, best first.

    Rows that stop others lead; then explained minus contradicted, then explained, then the order of the map.
    """
    seen = _Looks.of(_seen_on(grade, fit))
    failed = _Looks.of(one for one in seen.readings if one.has_failed)
    rows = (_likely(cause, seen, failed) for cause in causes.causes if grade.pair.edge_type in cause.edge_types)
    found = [row for row in rows if row is not None]
    stopped = {key for row in found for key in row.cause.stops}
    return tuple(
        sorted(
            (row for row in found if row.cause.key not in stopped),
            key=lambda row: (not row.cause.stops, row.n_against - row.n_explained, -row.n_explained),
        )
    )


def _seen_on(grade: PairGrade, fit: int) -> Iterator[_Seen]:
    for one in grade.criteria:
        for place, level, reading, _ in one.places:
            if level is not None and reading is not None:
                what = reading.seen
                length_mm = grade.pair.blade_length_mm
                number = number_in(one.on, what, length_mm) if isinstance(what, SeenMeasure) else None
                yield _Seen(one, place, level, what, number, _has_failed(one, level, fit))


def _likely(cause: Cause, seen: _Looks, failed: _Looks) -> LikelyCause | None:
    explained = failed.fitting(cause.when)
    if not explained or seen.fitting(cause.never):
        return None
    if not all(seen.fitting([pattern]) for pattern in cause.needs):
        return None
    unless = seen.about(cause.unless)
    n_against = sum(_speaks_against(unless, one, explained) for one in seen.readings) if unless else 0
    return LikelyCause(cause, len(explained), len(failed.readings), n_against)


def _speaks_against(unless: Sequence[Pattern], one: _Seen, explained: Sequence[_Seen]) -> bool:
    fitting = [pattern for pattern in unless if _fits(pattern, one)]
    return any(pattern.anywhere for pattern in fitting) or (bool(fitting) and _is_there(one, explained))


def _is_there(one: _Seen, explained: Sequence[_Seen]) -> bool:
    """At an explained place: of the same criterion where the row explains one of it, else of any that it meets."""
    same = [other.place for other in explained if other.on.key == one.on.key]
    return one.place in same if same else any(_meet(one.place, other.place) for other in explained)


def _meet(one: Place, other: Place) -> bool:
    """Same blade, same station, as far as both name them; a blade and a station alone have nothing in common."""
    named = [(a, b) for a, b in zip(one, other, strict=True) if a is not None and b is not None]
    return all(a is b for a, b in named) and (bool(named) or WHOLE_PAIR in (one, other))


def _has_failed(grade: CriterionGrade, level: int, fit: int) -> bool:
    """Below fit at this place; or the criterion falls below fit only by a computed figure, such as its spread."""
    return level < fit or (grade.hi < fit and _is_capped(grade, fit))


def _is_capped(grade: CriterionGrade, fit: int) -> bool:
    levels: Sequence[int] = [place.level for place in grade.places if place.level is not None]
    return bool(levels) and min(levels) >= fit


def _fits(pattern: Pattern, one: _Seen) -> bool:
    blade, station = one.place
    if one.on.key not in pattern.criteria:
        return False
    if (pattern.stations and station not in pattern.stations) or (pattern.blades and blade not in pattern.blades):
        return False
    if pattern.cuts and not (isinstance(one.what, SeenCut) and one.what.result in pattern.cuts):
        return False
    if pattern.by_eye and not isinstance(one.what, SeenLevel):
        return False
    if pattern.at_most is not None and one.level > pattern.at_most:
        return False
    if pattern.at_least is not None and one.level < pattern.at_least:
        return False
    return (pattern.above is None and pattern.below is None) or _figure_fits(pattern, one)


def _figure_fits(pattern: Pattern, one: _Seen) -> bool:
    figure = one.number if pattern.figure is None else one.on.figures.get(pattern.figure)
    if figure is None:
        return False
    return (pattern.above is None or figure > pattern.above) and (pattern.below is None or figure < pattern.below)

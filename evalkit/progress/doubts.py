"""Measured values with a stated doubt: how likely the true value lies where it counts (JCGM 106:2012)."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf

from evalkit.domain.criterion import CriterionOn
from evalkit.domain.grading import PairGrade, PlaceLevel
from evalkit.domain.levels import number_in
from evalkit.domain.measures import doubt_in
from evalkit.domain.reading import SeenMeasure
from evalkit.maths.conformity import conformance_probability


@dataclass(frozen=True, slots=True)
class BandDoubt:
    """One measured place: the chance that its true value lies in the band fit for a customer.

    `number` and `doubt` (expanded, k = 2) are in the criterion's unit; `low` and `high` may be infinite. `hangs` is
    True when number - doubt to number + doubt crosses an end of the band: the doubt alone could turn it.
    """

    on: CriterionOn
    place: PlaceLevel
    number: float
    doubt: float
    low: float
    high: float
    chance: float

    @property
    def hangs(self) -> bool:
        first, last = self.number - self.doubt, self.number + self.doubt
        return first < self.low < last or first < self.high < last

    @property
    def is_must_pass(self) -> bool:
        return self.on.must_pass is not None


def doubts_of(grade: PairGrade, *, fit: int) -> tuple[BandDoubt, ...]:
    """Every measured reading of the pair that states a doubt above nought."""
    return tuple(
        doubt
        for criterion in grade.criteria
        for place in criterion.places
        if (doubt := _doubt(criterion.on, place, grade.pair.blade_length_mm, fit)) is not None
    )


def _doubt(on: CriterionOn, place: PlaceLevel, blade_length_mm: float | None, fit: int) -> BandDoubt | None:
    if place.level is None or place.reading is None or on.unit is None:
        return None
    seen = place.reading.seen
    band = on.band_of(on.must_pass or fit)
    if not isinstance(seen, SeenMeasure) or not seen.doubt or band is None:
        return None
    number = number_in(on, seen, blade_length_mm)
    doubt = doubt_in(seen.doubt, seen.unit, on.unit, number=seen.number, blade_length_mm=blade_length_mm)
    low, high = band
    return BandDoubt(on, place, number, doubt, low, high, _chance(number, doubt, band))


def _chance(number: float, doubt: float, band: tuple[float, float]) -> float:
    low, high = (None if isinf(end) else end for end in band)
    return conformance_probability(number, doubt, low, high)

"""Readings and a rubric become level ranges, a score with its range, a verdict, and what would settle it.

The rules, as a person with a pencil would apply them:

- A criterion's level is its places combined (worst, median or mean, rounded down), under its limits. Places not seen
  are taken at 0 and at the top level L: that gives the range [lo, hi].
- Score S = 100 * sum(weight * level / L) / sum(weight) over the criteria that count for the edge type. `seen` takes
  only criteria with something seen, from the places seen; `lo` and `hi` take them all, at the ends of their ranges.
- Accepted: every must-pass reached, nothing that counts at 0, S at least the rubric's mark. See `verdict_of`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement
from typing import NamedTuple

from evalkit.domain.bands import LimitOf
from evalkit.domain.criterion import CriterionOn, Use
from evalkit.domain.levels import cap_of, caps_left, combine, figures_of, level_of, limited, number_in
from evalkit.domain.pair import Blade, Pair, Station
from evalkit.domain.reading import WHOLE_PAIR, Place, Reading, Stage, Unseen
from evalkit.domain.rubric import Rubric
from evalkit.domain.settling import Rung, hangs_on
from evalkit.domain.verdict import Verdict, verdict_of

Placed = dict[tuple[Blade | None, Station | None], Reading]
"""The readings of one criterion by where they were made; a Place is such a key."""


class PlaceLevel(NamedTuple):
    """One place of a criterion: its level, or None with the reason. `reading` is None when nobody wrote anything."""

    place: Place
    level: int | None
    reading: Reading | None
    why: Unseen | None


@dataclass(frozen=True, slots=True)
class CriterionGrade:
    """One criterion on one pair.

    `reachable` holds every level it can still have; `seen` is the level from the places seen alone, None when nothing
    was seen.
    """

    on: CriterionOn
    places: tuple[PlaceLevel, ...]
    reachable: tuple[int, ...]
    seen: int | None
    figures: dict[LimitOf, float]
    is_transit: bool = False

    @property
    def key(self) -> str:
        return self.on.key

    @property
    def lo(self) -> int:
        return self.reachable[0]

    @property
    def hi(self) -> int:
        return self.reachable[-1]

    @property
    def level(self) -> int | None:
        """The level when it is settled; None while unknowns could still move it."""
        return self.reachable[0] if len(self.reachable) == 1 else None

    @property
    def counts(self) -> bool:
        return self.on.weight > 0

    @property
    def unseen(self) -> tuple[PlaceLevel, ...]:
        return tuple(place for place in self.places if place.level is None)

    @property
    def need(self) -> int:
        """The level below which this criterion alone prevents acceptance."""
        return max(self.on.must_pass or 0, 1)


@dataclass(frozen=True, slots=True)
class Score:
    """Hundredths of the best: what was seen (None when nothing was), and the range the unknowns leave."""

    seen: float | None
    lo: float
    hi: float

    @property
    def is_settled(self) -> bool:
        return self.lo == self.hi


@dataclass(frozen=True, slots=True)
class TestNeeded:
    """A test that the verdict still hangs on."""

    on: CriterionOn
    place: Place
    could_not: bool

    @property
    def is_must_pass(self) -> bool:
        return self.on.must_pass is not None


@dataclass(frozen=True, slots=True)
class PairGrade:
    """One pair at one stage, graded. `missed` are the criteria that keep it from acceptance for certain."""

    number: int
    pair: Pair
    stage: Stage
    criteria: tuple[CriterionGrade, ...]
    score: Score
    verdict: Verdict
    missed: tuple[CriterionGrade, ...]
    needed: tuple[TestNeeded, ...]

    def find(self, key: str) -> CriterionGrade | None:
        return next((grade for grade in self.criteria if grade.key == key), None)

    @property
    def is_touched(self) -> bool:
        """False when nothing at all was seen."""
        return any(grade.seen is not None for grade in self.criteria)


def grade_pair(
    rubric: Rubric,
    pair: Pair,
    readings: Iterable[Reading],
    *,
    number: int,
    stage: Stage,
    transit: Sequence[str] = (),
) -> PairGrade:
    """Grade one pair from its readings at one stage. Readings must fit the rubric (`levels.fault_of`).

    Criteria named in `transit` were spoiled on the way back: they stay in the sum as unknown.
    """
    found: dict[str, Placed] = {}
    for reading in readings:
        if reading.stage is stage and reading.number == number:
            placed = found.get(reading.criterion)
            if placed is None:
                placed = found[reading.criterion] = {}
            placed[reading.blade, reading.station] = reading
    grades = [
        _grade_criterion(rubric, on, found.get(on.key, {}), pair.blade_length_mm, is_transit=on.key in transit)
        for on in rubric.on(pair.edge_type)
        if on.use is not Use.NOT_APPLICABLE
    ]
    return _judged(rubric, pair, number, stage, tuple(grade for grade in grades if grade is not None))


def grade_round_stage(
    rubric: Rubric, pairs: Iterable[tuple[int, Pair]], readings: Iterable[Reading], stage: Stage
) -> tuple[PairGrade, ...]:
    """Grade every pair at one stage, in one pass over the readings."""
    by_number: dict[int, list[Reading]] = {}
    for reading in readings:
        by_number.setdefault(reading.number, []).append(reading)
    return tuple(
        grade_pair(rubric, pair, by_number.get(number, ()), number=number, stage=stage) for number, pair in pairs
    )


def _grade_criterion(
    rubric: Rubric, on: CriterionOn, readings: Placed, blade_length_mm: float | None, *, is_transit: bool
) -> CriterionGrade | None:
    """None when an observer put the whole criterion, or its every place, aside as not applicable."""
    places = _place_levels(rubric, on, readings, blade_length_mm, is_transit=is_transit)
    if not places:
        return None
    seen = [place.level for place in places if place.level is not None]
    figures = _figures(on, places, blade_length_mm) if on.unit is not None and len(seen) > 1 else {}
    from_seen = _level(on, rubric, seen, cap_of(on.limits, figures, top=rubric.top)) if seen else None
    if from_seen is not None and len(seen) == len(places):
        reachable: tuple[int, ...] = (from_seen,)
    else:
        reachable = reachable_levels(on, rubric, seen, len(places) - len(seen), figures)
    return CriterionGrade(on, tuple(places), reachable, from_seen, figures, is_transit)


def _place_levels(
    rubric: Rubric, on: CriterionOn, readings: Placed, blade_length_mm: float | None, *, is_transit: bool
) -> list[PlaceLevel]:
    """Every place that stays in the sum; a must-pass cannot be put aside."""
    whole = readings.get(WHOLE_PAIR)
    places = []
    for place in on.places:
        reading = readings.get(place, whole)
        level = None if reading is None or is_transit else level_of(on, reading, rubric, blade_length_mm)
        why = None if level is not None else _reason(reading)
        if why is not Unseen.NOT_APPLICABLE or on.must_pass is not None:
            places.append(PlaceLevel(place, level, reading, why))
    return places


def _figures(on: CriterionOn, places: Sequence[PlaceLevel], blade_length_mm: float | None) -> dict[LimitOf, float]:
    """The figures of the places that were measured, in the criterion's unit; none from one number alone."""
    numbers: dict[Place, float] = {}
    for place, level, reading, _ in places:
        if level is not None and reading is not None and reading.seen.kind == "measure":
            numbers[place] = number_in(on, reading.seen, blade_length_mm)
    return figures_of(numbers) if len(numbers) > 1 else {}


def _level(on: CriterionOn, rubric: Rubric, levels: Sequence[int], cap: int) -> int:
    level = combine(levels, on.combine)
    return min(limited(level, levels, on.limits, fit=rubric.fit, top=rubric.top), cap) if on.limits else level


def reachable_levels(
    on: CriterionOn, rubric: Rubric, seen: Sequence[int], n_unseen: int, figures: dict[LimitOf, float]
) -> tuple[int, ...]:
    """Every level the criterion can still have, lowest first; one level when nothing is unseen.

    Unseen places take every level 0 to L. Spread and ratio can only grow with more places, so what is seen caps them;
    the difference between blades can go either way, so until all is seen it caps nothing.
    """
    if not n_unseen:
        return (_level(on, rubric, seen, cap_of(on.limits, figures, top=rubric.top)),)
    growing: dict[LimitOf, float] = {of: figure for of, figure in figures.items() if of is not LimitOf.BLADES}
    cap = cap_of(on.limits, growing, top=rubric.top)
    return _completions(on, rubric.fit, rubric.top, tuple(sorted(seen)), n_unseen, cap)


@lru_cache(maxsize=4096)
def _completions(on: CriterionOn, fit: int, top: int, seen: Sequence[int], n_unseen: int, cap: int) -> tuple[int, ...]:
    caps = caps_left(on.limits, cap, top=top)
    complete = [(*seen, *fill) for fill in combinations_with_replacement(range(top + 1), n_unseen)]
    levels = {limited(combine(every, on.combine), every, on.limits, fit=fit, top=top) for every in complete}
    return tuple(sorted({min(level, cap) for level in levels for cap in caps}))


def _reason(reading: Reading | None) -> Unseen:
    """Why a place has no level: what was said of it; or a number that is not comparable, or spoiled on the way."""
    if reading is None:
        return Unseen.NOT_TESTED
    return reading.seen.why if reading.seen.kind == "not seen" else Unseen.COULD_NOT


def _judged(rubric: Rubric, pair: Pair, number: int, stage: Stage, criteria: tuple[CriterionGrade, ...]) -> PairGrade:
    counting = [grade for grade in criteria if grade.counts]
    total = sum(grade.on.weight for grade in counting)
    threshold = -(-rubric.mark * rubric.top * total // 100)
    lowest = sum(grade.on.weight * grade.lo for grade in counting)
    highest = sum(grade.on.weight * grade.hi for grade in counting)
    verdict = Verdict.NOT_SHOWN
    if counting:
        verdict = verdict_of(
            lowest_accepted=lowest >= threshold and all(grade.lo >= grade.need for grade in counting),
            highest_accepted=highest >= threshold and all(grade.hi >= grade.need for grade in counting),
        )
    return PairGrade(
        number=number,
        pair=pair,
        stage=stage,
        criteria=criteria,
        score=_score(counting, lowest, highest, total * rubric.top),
        verdict=verdict,
        missed=tuple(grade for grade in counting if grade.hi < grade.need),
        needed=_needed(counting, threshold) if verdict is Verdict.NOT_SHOWN else (),
    )


def _score(counting: Sequence[CriterionGrade], lowest: int, highest: int, best: int) -> Score:
    if not counting:
        return Score(None, 0.0, 100.0)
    seen = [(grade.on.weight, grade.seen) for grade in counting if grade.seen is not None]
    top = best / sum(grade.on.weight for grade in counting)
    return Score(
        seen=100 * sum(w * level for w, level in seen) / (top * sum(w for w, _ in seen)) if seen else None,
        lo=100 * lowest / best,
        hi=100 * highest / best,
    )


def _needed(counting: Sequence[CriterionGrade], threshold: int) -> tuple[TestNeeded, ...]:
    """The tests that settle the verdict, must-pass first, then by weight, then in the rubric's order."""
    hanging = hangs_on([Rung(grade.on.weight, grade.need, grade.reachable) for grade in counting], threshold)
    grades = [grade for grade, hangs in zip(counting, hanging, strict=True) if hangs]
    grades.sort(key=lambda grade: (grade.on.must_pass is None, -grade.on.weight))
    return tuple(
        TestNeeded(grade.on, place.place, place.why is Unseen.COULD_NOT or grade.is_transit)
        for grade in grades
        for place in grade.unseen
    )

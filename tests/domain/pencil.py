"""The rules again, as a person with a pencil would apply them: slow, plain, and written apart from the code.

Everything here starts from the rubric's own words and enumerates. It uses the models, and nothing of `levels`,
`grading` or `settling`.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator, Sequence
from itertools import combinations, product

from evalkit.domain.bands import Limit, LimitOf
from evalkit.domain.criterion import Combine, Criterion, OnType, Use
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, Pair
from evalkit.domain.reading import CutResult, Place, Reading, SeenCut, SeenLevel, SeenMeasure, Unseen
from evalkit.domain.rubric import Rubric
from evalkit.domain.verdict import Verdict

SLACK = 1e-9


class Line:
    """One criterion on one pair: what of it is known, what is not."""

    def __init__(
        self, rubric: Rubric, criterion: Criterion, pair: Pair, readings: dict[Place, Reading], *, is_transit: bool
    ) -> None:
        special = criterion.types.get(pair.edge_type, OnType())
        self.key = criterion.key
        self.criterion, self.rubric, self.special = criterion, rubric, special
        self.top = rubric.top
        self.is_used = special.use is not Use.NOT_APPLICABLE
        self.weight = criterion.weight if special.use is Use.COUNTS else 0
        self.must_pass = criterion.must_pass if special.use is Use.COUNTS else None
        blades = (criterion.blades if special.blades is None else special.blades) or (None,)
        stations = (criterion.stations if special.stations is None else special.stations) or (None,)
        self.seen: dict[Place, int] = {}
        self.numbers: dict[Place, float] = {}
        self.unseen: list[Place] = []
        for place in (Place(blade, station) for blade in blades for station in stations):
            self._look(place, readings.get(place, readings.get(Place())), pair, is_transit)

    def _look(self, place: Place, reading: Reading | None, pair: Pair, is_transit: bool) -> None:
        what = None if reading is None else reading.seen
        if what is not None and what.kind == "not seen":
            if what.why is not Unseen.NOT_APPLICABLE or self.must_pass is not None:
                self.unseen.append(place)
        elif what is None or is_transit or not self._is_comparable(what):
            self.unseen.append(place)
        elif isinstance(what, SeenLevel):
            self.seen[place] = what.level
        elif isinstance(what, SeenCut):
            self.seen[place] = self._level_of_cut(what)
        else:
            self.numbers[place] = number = in_unit(what, self.criterion.unit, pair.blade_length_mm)
            self.seen[place] = self._level_of_number(number)

    def _is_comparable(self, what: object) -> bool:
        method = self.rubric.drop_test
        if method is None or not isinstance(what, SeenMeasure) or self.criterion.unit is not Unit.DEG_OPEN:
            return True
        return what.ring in (None, method.ring) and what.start_deg in (None, method.start_deg)

    def _level_of_cut(self, cut: SeenCut) -> int:
        push_mm = self.criterion.push_mm if self.special.push_mm is None else self.special.push_mm
        if cut.result is not CutResult.PUSH or cut.push_mm is None or not push_mm:
            return self.criterion.cuts[cut.result]
        reached = [level for level, most in push_mm.items() if cut.push_mm <= most + SLACK]
        return max(reached) if reached else min(push_mm) - 1

    def _level_of_number(self, number: float) -> int:
        bands = self.criterion.bands if self.special.bands is None else self.special.bands
        target = self.criterion.target if self.special.target is None else self.special.target
        reached = []
        for band in bands:
            if band.within is not None:
                assert target is not None
                holds = abs(number - target) <= band.within + SLACK
            else:
                holds = (band.low is None or number >= band.low - SLACK) and (
                    band.high is None or number <= band.high + SLACK
                )
            if holds:
                reached.append(band.level)
        return max(reached) if reached else min(band.level for band in bands) - 1

    @property
    def is_put_aside(self) -> bool:
        return not self.is_used or not (self.seen or self.unseen)

    @property
    def need(self) -> int:
        return max(1, self.must_pass or 0)

    def level(self, levels: Sequence[int], cap: int) -> int:
        """One level from the levels of all places, under the limit on failing places and a cap from figures."""
        match self.criterion.combine:
            case Combine.WORST:
                level = min(levels)
            case Combine.MEDIAN:
                level = math.floor(statistics.median(levels))
            case Combine.MEAN:
                level = math.floor(statistics.mean(levels))
        failing = sum(1 for one in levels if one < self.rubric.fit)
        caps = [cap_by(limit, failing, self.top) for limit in self.criterion.limits if limit.of is LimitOf.FAILING]
        return min([level, cap, *caps])

    def figures(self) -> dict[LimitOf, float]:
        runs = [[n for place, n in self.numbers.items() if place.blade is blade] for blade in (None, *Blade)]
        found: dict[LimitOf, float] = {}
        if long := [run for run in runs if len(run) >= 2]:
            found[LimitOf.SPREAD] = max(max(run) - min(run) for run in long)
            if min(min(run) for run in long) > 0:
                found[LimitOf.RATIO] = max(max(run) / min(run) for run in long)
        thumb, finger = runs[1], runs[2]
        if thumb and finger:
            found[LimitOf.BLADES] = abs(statistics.mean(thumb) - statistics.mean(finger))
        return found

    def seen_cap(self, *, only_growing: bool) -> int:
        """The cap from the places measured so far; `only_growing`: from figures that more places can only raise."""
        caps = [self.top]
        for limit in self.criterion.limits:
            figure = self.figures().get(limit.of)
            if figure is not None and not (only_growing and limit.of is LimitOf.BLADES):
                caps.append(cap_by(limit, figure, self.top))
        return min(caps)

    def place_caps(self) -> tuple[int, ...]:
        """What one more measured place may cap the level at: nothing, or any rung of a limit on a figure."""
        caps = {self.top}
        for limit in self.criterion.limits:
            if limit.of is not LimitOf.FAILING:
                caps |= {cap_by(limit, figure, self.top) for figure in (0.0, *limit.at_most.values(), math.inf)}
        return tuple(caps)

    def outcomes(self) -> tuple[tuple[int, int], ...]:
        """Every (level, cap) that one unseen place may turn out as."""
        return tuple(product(range(self.top + 1), self.place_caps()))

    def completed(self, outcomes: Sequence[tuple[int, int]]) -> int:
        """The level once the unseen places have turned out so."""
        cap = min([self.seen_cap(only_growing=bool(self.unseen)), *(cap for _, cap in outcomes)])
        return self.level([*self.seen.values(), *(level for level, _ in outcomes)], cap)

    def reachable(self) -> set[int]:
        """The level in every completion. The least of the places' caps is all that counts, so one stands for all."""
        fills = product(range(self.top + 1), repeat=len(self.unseen))
        caps = self.place_caps() if self.unseen else (self.top,)
        return {self.completed([(level, cap) for level in fill] if fill else []) for fill in fills for cap in caps}


def cap_by(limit: Limit, figure: float, top: int) -> int:
    """From the strictest line down: the first that is kept gives its level, the strictest lifts the cap."""
    for level in sorted(limit.at_most, reverse=True):
        if figure <= limit.at_most[level] + SLACK:
            return top if level == max(limit.at_most) else level
    return min(limit.at_most) - 1


def in_unit(seen: SeenMeasure, unit: Unit | None, blade_length_mm: float | None) -> float:
    match (seen.unit, unit):
        case (Unit.INCH, Unit.MM):
            return seen.number * 25.4
        case (Unit.DEG_DIAL, Unit.DEG_INCLUDED):
            return 90 - seen.number
        case (Unit.MM_TIP_GAP, Unit.DEG_OPEN):
            assert blade_length_mm is not None
            return math.degrees(2 * math.asin(seen.number / 2 / blade_length_mm))
        case _:
            assert seen.unit is unit
            return seen.number


def lines_of(
    rubric: Rubric, pair: Pair, readings: Sequence[Reading], transit: Sequence[str] = ()
) -> list[Line]:  # fmt: skip
    """Every criterion that is not put aside, in the rubric's order."""
    lines = []
    for criterion in rubric.criteria:
        own = {reading.place: reading for reading in readings if reading.criterion == criterion.key}
        lines.append(Line(rubric, criterion, pair, own, is_transit=criterion.key in transit))
    return [line for line in lines if not line.is_put_aside]


def score(lines: Sequence[Line], levels: Sequence[int]) -> float:
    """S = 100 * sum(w * level / L) / sum(w), over the lines that weigh something."""
    weighed = [(line, level) for line, level in zip(lines, levels, strict=True) if line.weight]
    total = sum(line.weight for line, _ in weighed)
    return 100 * sum(line.weight * level for line, level in weighed) / (lines[0].top * total)


def is_accepted(lines: Sequence[Line], levels: Sequence[int], mark: int) -> bool:
    """Every must-pass reached, nothing that counts at 0, S at least the mark (in whole numbers, so exactly)."""
    weighed = [(line, level) for line, level in zip(lines, levels, strict=True) if line.weight]
    points = sum(100 * line.weight * level for line, level in weighed)
    best = sum(line.weight * line.top for line, _ in weighed)
    return all(level >= line.need for line, level in weighed) and points >= mark * best


def completions(lines: Sequence[Line]) -> Iterator[tuple[int, ...]]:
    """Every way the levels of the lines could turn out together."""
    return product(*(sorted(line.reachable()) for line in lines))


def verdict(lines: Sequence[Line], mark: int) -> Verdict:
    """Accepted when every completion is, rework when none is; otherwise, or when nothing weighs, not shown."""
    if not any(line.weight for line in lines):
        return Verdict.NOT_SHOWN
    found = {is_accepted(lines, levels, mark) for levels in completions(lines)}
    if len(found) > 1:
        return Verdict.NOT_SHOWN
    return Verdict.ACCEPTED if found == {True} else Verdict.REWORK


def shortest_settling_sets(lines: Sequence[Line], mark: int) -> list[set[tuple[str, Place]]]:
    """All smallest sets of unseen places after which the rest no longer matters, whichever way the set turns out."""
    places = [(line.key, place) for line in lines for place in line.unseen]
    per_place = [line.outcomes() for line in lines for _ in line.unseen]
    table = {}
    for outcome in product(*per_place):
        rest = iter(outcome)
        levels = [line.completed([next(rest) for _ in line.unseen]) for line in lines]
        table[outcome] = is_accepted(lines, levels, mark)
    for size in range(len(places) + 1):
        settling = [chosen for chosen in combinations(range(len(places)), size) if _settles(chosen, table)]
        if settling:
            return [{places[at] for at in chosen} for chosen in settling]
    raise AssertionError("seeing everything settles everything")


def _settles(chosen: Sequence[int], table: dict[tuple[tuple[int, int], ...], bool]) -> bool:
    known: dict[tuple[tuple[int, int], ...], bool] = {}
    return all(known.setdefault(tuple(outcome[at] for at in chosen), accepted) is accepted
               for outcome, accepted in table.items())  # fmt: skip

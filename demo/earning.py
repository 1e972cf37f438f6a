"""Grading run backward: readings that a person could have written down and that earn a wanted level."""

from __future__ import annotations

from enum import Enum
from random import Random
from typing import NamedTuple

from evalkit.domain.criterion import CriterionOn, Kind
from evalkit.domain.levels import cap_of, combine, figures_of, level_of, level_of_cut, limited, number_in
from evalkit.domain.measures import Unit, convert
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import (
    CutResult,
    Place,
    Reading,
    Seen,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Stage,
)
from evalkit.domain.rubric import Rubric

from .bench import Side

N_TRIES = 300
N_NEAR = 10
DOUBTS = {Unit.MM: 0.05, Unit.DEG_INCLUDED: 1.0, Unit.DEG_DIAL: 1.0, Unit.DEG_OPEN: 3.0, Unit.COUNT: None}
"""What the bench's own instruments leave open (k = 2): loupe scale, clamp dial, drop test. From memory."""

DROP_START_DEG = 90
DROP_APART_DEG = 5
"""By how much one drop differs from the next. From memory."""

Sights = dict[Place, Seen]


class Wish(NamedTuple):
    """What readings are to earn and how they fall short: see `earn`."""

    level: int
    weak: Place
    reach: Reach
    side: Side | None


class Reach(Enum):
    """How far test cuts fail: at the weak spot alone, at some stations, all along as on a pair that is simply dull."""

    SPOT = 1
    SOME = 2
    ALL = 3


def earned(on: CriterionOn, rubric: Rubric, sights: Sights) -> int | None:
    """The level that sights at all places of a criterion earn together; None while one of them earns none."""
    levels: list[int] = []
    numbers: dict[Place, float] = {}
    for place, seen in sights.items():
        reading = Reading.model_construct(number=1, stage=Stage.AS_RETURNED, criterion=on.key, seen=seen)
        level = level_of(on, reading, rubric, None)
        if level is None:
            return None
        levels.append(level)
        if isinstance(seen, SeenMeasure):
            numbers[place] = number_in(on, seen, None)
    level = limited(combine(levels, on.combine), levels, on.limits, fit=rubric.fit, top=rubric.top)
    return min(level, cap_of(on.limits, figures_of(numbers), top=rubric.top))


def earn(
    on: CriterionOn,
    rubric: Rubric,
    level: int,
    spot: Place,
    rng: Random,
    *,
    reach: Reach = Reach.SOME,
    near: Sights | None = None,
    side: Side | None = None,
) -> Sights:
    """Sights at every place of `on` that together earn exactly `level`, worst at `spot` if it is one of its places.

    `reach` says how far test cuts fail beyond the spot. With `near`, the likeliest of several: closest to those sights.
    `side` says on which side of its band a drop test falls short.
    """
    weak = weak_place(on, spot, rng)
    found: list[Sights] = []
    for attempt in range(N_TRIES):
        wide = reach if attempt < N_TRIES // 2 else Reach.SOME
        sights = _proposed(on, rubric, Wish(level, weak, wide, side), rng)
        if earned(on, rubric, sights) == level:
            found.append(sights)
        if len(found) == (N_NEAR if near else 1):
            break
    if found:
        return min(found, key=lambda sights: _distance(sights, near or {}))
    sights = {place: SeenLevel(level=level if place == weak else rubric.top) for place in on.places}
    return sights if earned(on, rubric, sights) == level else dict.fromkeys(on.places, SeenLevel(level=level))


def _distance(sights: Sights, other: Sights) -> float:
    """How far apart two views of one criterion are: measured values by their difference, all else by yes or no."""
    apart = 0.0
    for place, seen in sights.items():
        theirs = other.get(place)
        if isinstance(seen, SeenMeasure) and isinstance(theirs, SeenMeasure):
            apart += abs(seen.number - theirs.number)
        else:
            apart += seen != theirs
    return apart


def echo(on: CriterionOn, rubric: Rubric, sights: Sights, level: int, rng: Random) -> Sights:
    """The same pair seen by other eyes that come to the same level: measured values differ a little."""
    for _ in range(N_TRIES):
        other: Sights = {place: _nudged(seen, rng) for place, seen in sights.items()}
        if earned(on, rubric, other) == level:
            return other
    return sights


def in_unit(seen: Seen, unit: Unit) -> Seen:
    """A measured angle told in another convention; everything else as it is."""
    if not isinstance(seen, SeenMeasure) or {seen.unit, unit} != {Unit.DEG_INCLUDED, Unit.DEG_DIAL}:
        return seen
    return seen.model_copy(update={"number": convert(seen.number, seen.unit, unit), "unit": unit})


def without_doubt(seen: Seen) -> Seen:
    """As a beginner writes it: the number, and no word on how far to trust it."""
    return seen.model_copy(update={"doubt": None}) if isinstance(seen, SeenMeasure) else seen


def weak_place(on: CriterionOn, spot: Place, rng: Random) -> Place:
    """The place of `on` nearest to the pair's weak spot; any, when it has none there."""
    same = [
        place
        for place in on.places
        if place.station in (None, spot.station) and place.blade in (None, spot.blade)
    ]  # fmt: skip
    return rng.choice(same or list(on.places))


def _proposed(on: CriterionOn, rubric: Rubric, wish: Wish, rng: Random) -> Sights:
    match on.kind:
        case Kind.JUDGED:
            return _judged(on, rubric.top, wish.level, wish.weak, rng)
        case Kind.CUT:
            return _cut(on, wish.level, wish.weak, rng, wish.reach)
        case Kind.MEASURED if on.unit is Unit.DEG_OPEN:
            numbers = {place: _open_deg(on, rubric, wish, rng) for place in on.places}
            return {place: _measure(number, Unit.DEG_OPEN, rubric) for place, number in numbers.items()}
        case Kind.MEASURED:
            return _measured(on, rubric, wish.level, wish.weak, rng)


def _judged(on: CriterionOn, top: int, level: int, weak: Place, rng: Random) -> Sights:
    others = [min(top, max(level, one)) for one in (level, level + 1, 2, 3)]
    levels = {place: level if place == weak else rng.choice(others) for place in on.places}
    if on.key == "face" and on.edge_type is EdgeType.MICRO_SERRATED:  # grooves can be lost on the grooved blade alone
        levels = {at: one if at.blade is weak.blade else max(1, one) for at, one in levels.items()}
    return {place: SeenLevel(level=one) for place, one in levels.items()}


def _cut(on: CriterionOn, level: int, weak: Place, rng: Random, reach: Reach) -> Sights:
    medium = on.criterion.media[0]
    clean = SeenCut(medium=medium, result=CutResult.CLEAN)
    pushing = _pushing(on, level, rng)
    if level == on.cuts[CutResult.CLEAN]:
        return dict.fromkeys(on.places, clean)
    if level not in on.cuts.values() and pushing is None:
        return {**dict.fromkeys(on.places, clean), weak: SeenLevel(level=level)}
    n_others = len(on.places) - 1
    n_more = {Reach.SPOT: 0, Reach.SOME: rng.randint(0, n_others), Reach.ALL: n_others}[reach]
    spoiled = {weak, *rng.sample([place for place in on.places if place != weak], n_more)}
    failing: list[Seen] = [
        SeenCut(medium=medium, result=result)
        for result, earns in on.cuts.items()
        if result is not CutResult.PUSH and (earns == level or (n_more and earns == level + 1))
    ]
    failing += [pushing] * 3 if pushing else []
    return {place: rng.choice(failing) if place in spoiled and failing else clean for place in on.places}


def _pushing(on: CriterionOn, level: int, rng: Random) -> SeenCut | None:
    """A push that earns `level`; None where this criterion knows none."""
    fitting = [
        cut
        for mm in (0.5, 1, 1.5, 2, 3, 4, 5, 6, 7, 8)
        if on.push_mm
        and level_of_cut(on, cut := SeenCut(medium=on.criterion.media[0], result=CutResult.PUSH, push_mm=mm)) == level
    ]
    return rng.choice(fitting) if fitting else None


def _measured(on: CriterionOn, rubric: Rubric, level: int, weak: Place, rng: Random) -> Sights:
    """By a spread that a bench would show: narrow at a high level, wide at a low one."""
    slack = (rubric.top - level) / rubric.top if level else 0.5
    match on.unit:
        case Unit.MM:
            base = rng.uniform(0.25, 0.45 + 0.6 * slack)
            numbers = {place: base * rng.uniform(1 - 0.15 - 0.2 * slack, 1.15) for place in on.places}
            numbers[weak] *= rng.uniform(1, 1.1 + 1.2 * slack)
            numbers = {place: round(number * 20) / 20 for place, number in numbers.items()}
        case Unit.DEG_INCLUDED | Unit.DEG_DIAL:
            off = rng.uniform(-4, 4) * (1 + 3 * slack)
            numbers = {
                place: float(round((on.target or 45) + off + rng.gauss(0, 0.6 + 2 * slack))) for place in on.places
            }
        case Unit.COUNT:
            numbers = {place: float(rng.randint(0, 1 if level > 1 else 3)) for place in on.places}
            numbers[weak] = float(rng.randint(0, 5))
        case _:
            numbers = {place: float(rng.randint(4, 88)) for place in on.places}
    sights: Sights = {place: _measure(number, on.unit or Unit.MM, rubric) for place, number in numbers.items()}
    if level == 0 and on.unit in (Unit.MM, Unit.COUNT):
        sights[weak] = SeenLevel(level=0)
    return sights


def _open_deg(on: CriterionOn, rubric: Rubric, wish: Wish, rng: Random) -> float:
    """Where a drop test may stop. Short of fit it stands clear of the band's end, by what one drop differs."""
    if wish.side is None or wish.level >= rubric.fit:
        return float(rng.randint(4, 88))
    low, high = next((low, high) for fits, low, high in on.bands if fits == rubric.fit)
    if wish.side is Side.TIGHT and high < DROP_START_DEG:
        return float(rng.randint(round(high) + DROP_APART_DEG, DROP_START_DEG - 2))
    return float(rng.randint(0, round(low) - DROP_APART_DEG))


def _measure(number: float, unit: Unit, rubric: Rubric) -> SeenMeasure:
    method = rubric.drop_test
    is_drop = unit in (Unit.DEG_OPEN, Unit.MM_TIP_GAP) and method is not None
    return SeenMeasure(
        number=round(number, 2),
        unit=unit,
        doubt=DOUBTS.get(unit),
        ring=method.ring if is_drop and method else None,
        start_deg=method.start_deg if is_drop and method else None,
    )


def measure_angle(number: float) -> SeenMeasure:
    """One edge angle, degrees included."""
    return SeenMeasure(number=number, unit=Unit.DEG_INCLUDED, doubt=DOUBTS[Unit.DEG_INCLUDED])


def _nudged(seen: Seen, rng: Random) -> Seen:
    if not isinstance(seen, SeenMeasure) or seen.unit is Unit.COUNT:
        return seen
    step = {Unit.MM: 0.05, Unit.DEG_OPEN: 2.0}.get(seen.unit, 1.0)
    return seen.model_copy(update={"number": round(max(0.0, seen.number + rng.choice((-1, 0, 0, 0, 1)) * step), 2)})


def spot_of(words: str) -> Place:
    """A place from words such as 'thumb tip'."""
    said = words.split()
    return Place(
        next((blade for blade in Blade if blade in said), None),
        next((station for station in Station if station in said), None),
    )

"""From one thing seen to a level of the rubric, and from the places of a criterion to one level."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from evalkit.domain.bands import Limit, LimitOf
from evalkit.domain.criterion import Combine, CriterionOn, Kind
from evalkit.domain.measures import Unit, convert
from evalkit.domain.pair import Blade
from evalkit.domain.reading import (
    WHOLE_PAIR,
    CutResult,
    NotSeen,
    Place,
    Reading,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Unseen,
)
from evalkit.domain.rubric import DropMethod, Rubric
from evalkit.errors import InputError

ROUNDING_SLACK = 1e-9
"""Keeps 45 deg dial, carried to 45 deg included through floats, inside a band that ends at 45."""


def level_of_measure(on: CriterionOn, number: float) -> int:
    """The highest level whose band holds `number` (in the criterion's unit); outside all, one below the lowest."""
    for level, low, high in on.bands:
        if low - ROUNDING_SLACK <= number <= high + ROUNDING_SLACK:
            return level
    return on.bands[-1][0] - 1


def level_of_cut(on: CriterionOn, cut: SeenCut) -> int:
    """What a cut earns; a push with its mm by the push bands, one without by the word alone."""
    if cut.result is CutResult.PUSH and cut.push_mm is not None and on.push_mm:
        for level, most in on.push_mm:
            if cut.push_mm <= most + ROUNDING_SLACK:
                return level
        return on.push_mm[-1][0] - 1
    return on.cuts[cut.result]


def number_in(on: CriterionOn, seen: SeenMeasure, blade_length_mm: float | None) -> float:
    """A measured value in the criterion's unit. Raises InputError when the units do not meet."""
    if on.unit is None:
        raise InputError(f"'{on.key}' is not measured.", mend="Give a level or a cut.")
    return convert(seen.number, seen.unit, on.unit, blade_length_mm=blade_length_mm)


def is_comparable(seen: SeenMeasure, method: DropMethod | None) -> bool:
    """False for a drop test done another way than the rubric's: its number says nothing about the rubric's bands."""
    if seen.unit not in (Unit.DEG_OPEN, Unit.MM_TIP_GAP) or method is None:
        return True
    return seen.ring in (None, method.ring) and seen.start_deg in (None, method.start_deg)


def level_of(on: CriterionOn, reading: Reading, rubric: Rubric, blade_length_mm: float | None) -> int | None:
    """The level one reading earns; None when nothing was seen, or when the number is not comparable."""
    seen = reading.seen
    if seen.kind == "level":  # told apart by tag: an isinstance of a pydantic model that fails is ten times as slow
        return seen.level
    if seen.kind == "cut":
        return level_of_cut(on, seen)
    if seen.kind == "measure":
        if not is_comparable(seen, rubric.drop_test):
            return None
        return level_of_measure(on, number_in(on, seen, blade_length_mm))
    if seen.kind == "not seen":
        return None
    assert_never(seen)


def combine(levels: Sequence[int], how: Combine) -> int:
    """One level from the levels of all places; median and mean are rounded down."""
    match how:
        case Combine.WORST:
            return min(levels)
        case Combine.MEDIAN:
            ordered = sorted(levels)
            middle = len(ordered) // 2
            return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) // 2
        case Combine.MEAN:
            return sum(levels) // len(levels)
        case _:
            assert_never(how)


def limited(level: int, levels: Sequence[int], limits: Sequence[Limit], *, fit: int, top: int) -> int:
    """`level` under the limit on places below fit, if the criterion has one."""
    for limit in limits:
        if limit.of is LimitOf.FAILING:
            level = min(level, limit.cap(sum(one < fit for one in levels), top))
    return level


def figures_of(numbers: dict[Place, float]) -> dict[LimitOf, float]:
    """Spread along a blade, difference between blades' means and widest over narrowest; only those that exist."""
    along: dict[Blade | None, list[float]] = {}
    for place, number in numbers.items():
        along.setdefault(place.blade, []).append(number)
    figures: dict[LimitOf, float] = {}
    runs = [run for run in along.values() if len(run) > 1]
    if runs:
        figures[LimitOf.SPREAD] = max(max(run) - min(run) for run in runs)
        if all(min(run) > 0 for run in runs):
            figures[LimitOf.RATIO] = max(max(run) / min(run) for run in runs)
        elif any(max(run) > 0 for run in runs):
            figures[LimitOf.RATIO] = float("inf")
    if Blade.THUMB in along and Blade.FINGER in along:
        thumb, finger = along[Blade.THUMB], along[Blade.FINGER]
        figures[LimitOf.BLADES] = abs(sum(thumb) / len(thumb) - sum(finger) / len(finger))
    return figures


def cap_of(limits: Sequence[Limit], figures: dict[LimitOf, float], *, top: int) -> int:
    """The lowest cap that the computed figures put on the level; `top` when none does."""
    if not figures:
        return top
    return min((limit.cap(figures[limit.of], top) for limit in limits if limit.of in figures), default=top)


def caps_left(limits: Sequence[Limit], cap: int, *, top: int) -> tuple[int, ...]:
    """Every cap that figures not yet seen could still put on the level, `cap` of those already seen included."""
    caps = {one for limit in limits if limit.of is not LimitOf.FAILING for one in limit.caps(top)}
    return (*sorted(one for one in caps if one < cap), cap)


def fault_of(on: CriterionOn, reading: Reading, rubric: Rubric) -> tuple[str, str] | None:
    """Why a reading does not fit the rubric: (what, how to mend it); None when it fits."""
    if reading.place not in on.places and not (reading.place == WHOLE_PAIR and isinstance(reading.seen, NotSeen)):
        places = ", ".join(str(place) for place in on.places)
        return f"'{on.name}' is not read at {reading.place} on a {on.edge_type} pair.", f"It is read at: {places}."
    match reading.seen:
        case SeenLevel(level=level) if level > rubric.top:
            return f"level {level} is off the ladder.", f"The levels are 0 to {rubric.top}."
        case SeenMeasure() if on.kind is not Kind.MEASURED:
            return f"'{on.name}' is not measured.", "Give a level" + (" or a cut." if on.kind is Kind.CUT else ".")
        case SeenMeasure() as seen:
            return _unit_fault(on, seen)
        case SeenCut() if on.kind is not Kind.CUT:
            return f"'{on.name}' is not a test cut.", "Give a level" + (
                " or a measured value." if on.kind is Kind.MEASURED else "."
            )
        case SeenCut(medium=medium) if medium not in on.criterion.media:
            media = ", ".join(medium.value for medium in on.criterion.media)
            return f"'{on.name}' is not cut in {medium}.", f"It is cut in: {media}."
        case NotSeen(why=Unseen.NOT_APPLICABLE) if on.must_pass is not None:
            return (
                f"'{on.name}' is a must-pass for a {on.edge_type} pair; it cannot be put aside as not applicable.",
                "Say 'not tested' or 'could not'.",
            )
        case _:
            return None


def _unit_fault(on: CriterionOn, seen: SeenMeasure) -> tuple[str, str] | None:
    meets = {
        Unit.MM: {Unit.MM, Unit.INCH},
        Unit.INCH: {Unit.MM, Unit.INCH},
        Unit.DEG_INCLUDED: {Unit.DEG_INCLUDED, Unit.DEG_DIAL},
        Unit.DEG_DIAL: {Unit.DEG_INCLUDED, Unit.DEG_DIAL},
        Unit.DEG_OPEN: {Unit.DEG_OPEN, Unit.MM_TIP_GAP},
        Unit.MM_TIP_GAP: {Unit.DEG_OPEN, Unit.MM_TIP_GAP},
        Unit.COUNT: {Unit.COUNT},
    }
    if on.unit is not None and seen.unit in meets[on.unit]:
        return None
    return f"{seen.unit} does not measure '{on.name}'.", f"Give it in {on.unit}."

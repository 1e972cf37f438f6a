"""What was done at the bench to one pair: steps, parts, angle, minutes, and the widths that the calliper showed."""

from __future__ import annotations

from random import Random

from evalkit.domain.assessment import Angle, GritScale, WorkLog, WorkStep
from evalkit.domain.measures import Unit, convert
from evalkit.domain.pair import Pair, Station
from evalkit.domain.triage import Decision

from .pairs import TruePair

REMOVED_MM = {3: (0.02, 0.08), 2: (0.11, 0.18), 1: (0.22, 0.42), 0: (0.52, 0.66)}
"""Blade width lost that goes with each level of 'edge line and metal used'."""

INCLUDED_DEG = {"semi-convex": 47, "bevel": 55, "micro-serrated": 55, "toothed": 50}
ELSE_INCLUDED_DEG = 45
"""Included angles that the clamp is set to, by edge type. From memory."""

NEW_PARTS = {"missing-bumper": "bumper", "worn-washer": "cup washer"}
ADJUSTING = ("stripped and cleaned", "washer seated, one drop of oil", "tightened by two clicks", "test cuts")


def work_log(one: TruePair, lost_levels: dict[Station, int]) -> WorkLog:
    """The log of a pair that was worked on or adjusted; `lost_levels` says where how much metal truly went."""
    rng = one.rng("work")
    minutes = one.script.minutes or round(one.box.minutes * rng.uniform(0.8, 1.2) * (0.8 + 0.1 * one.pair.difficulty))
    if one.script.decision is Decision.ADJUST_ONLY:
        return WorkLog(steps=tuple(WorkStep(what=what) for what in ADJUSTING), minutes=minutes)
    before = _widths_mm(one.pair, rng)
    removed = _removed_mm(one, lost_levels, rng)
    return WorkLog(
        steps=_steps(one),
        angle=one.script.angle or _angle(one, rng),
        parts=() if one.script.has_no_new_parts else _parts(one.pair),
        minutes=minutes,
        width_before_mm=before,
        width_after_mm={station: round(width - removed[station], 2) for station, width in before.items()},
    )


def _steps(one: TruePair) -> tuple[WorkStep, ...]:
    if any(fault.tag == "nick" and fault.severity > 1 for fault in one.pair.faults):
        coarse = WorkStep(what="whole edge down to the foot of the nick", grit=30, scale=GritScale.MICRON)
        return (*one.trainee.steps[:2], coarse, *one.trainee.steps[2:])
    return one.trainee.steps


def _parts(pair: Pair) -> tuple[str, ...]:
    return tuple(NEW_PARTS[fault.tag] for fault in pair.faults if fault.tag in NEW_PARTS)


def _angle(one: TruePair, rng: Random) -> Angle | None:
    """What the clamp was set to; none while there is nothing to read it with."""
    if "edge-angle" in one.box.never_tested or one.box.rubric == "first-rounds":
        return None
    included = INCLUDED_DEG.get(one.pair.edge_type, ELSE_INCLUDED_DEG) + rng.choice((-2, -1, 0, 0, 1, 2))
    unit = one.trainee.angle_unit
    return Angle(number=convert(included, Unit.DEG_INCLUDED, unit), unit=unit)


def _widths_mm(pair: Pair, rng: Random) -> dict[Station, float]:
    middle = 6.0 + 0.5 * float(pair.size_in) + rng.uniform(-0.4, 0.4)
    widths = {Station.HEEL: middle + 1.8, Station.MIDDLE: middle, Station.TIP: middle - 3.1}
    return {station: round(width, 2) for station, width in widths.items()}


def _removed_mm(one: TruePair, lost_levels: dict[Station, int], rng: Random) -> dict[Station, float]:
    """Metal gone at each station. The calliper does not flatter: it shows what is gone, however kind the eyes are."""
    if one.script.removed_mm is not None:
        return {station: round(one.script.removed_mm - rng.uniform(0, 0.03), 2) for station in Station}
    truth = one.truth["edge-line"]
    return {station: round(rng.uniform(*REMOVED_MM[lost_levels.get(station, truth)]), 2) for station in Station}

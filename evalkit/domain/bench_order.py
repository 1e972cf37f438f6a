"""The order in which hands come to a pair at the bench: clean it, set it, look at it, cut with it."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from evalkit.domain.criterion import CriterionOn, Kind
from evalkit.domain.measures import Unit


class BenchStep(StrEnum):
    """Tension comes before any cut, or every cut tests the screw. Common practice, no source."""

    CLEAN = "clean"
    TENSION = "tension"
    LOOK = "look"
    CUT = "cut"


STEP_OF_KEY = {
    "finish": BenchStep.CLEAN,
    "tension": BenchStep.TENSION,
    "play": BenchStep.TENSION,
    "action": BenchStep.TENSION,
    "set": BenchStep.TENSION,
    "slide-cut": BenchStep.CUT,
}
"""Keys that the shipped rubrics share; a criterion of another key goes by how it is read."""


def step_of(on: CriterionOn) -> BenchStep:
    """By its key; else a test cut is a cut, a drop test is tension, and the rest is looked at."""
    if on.key in STEP_OF_KEY:
        return STEP_OF_KEY[on.key]
    if on.kind is Kind.CUT:
        return BenchStep.CUT
    return BenchStep.TENSION if on.unit in (Unit.DEG_OPEN, Unit.MM_TIP_GAP) else BenchStep.LOOK


def in_bench_order(lines: Iterable[CriterionOn]) -> tuple[CriterionOn, ...]:
    """The criteria step by step; within a step those of a known key first, then in the rubric's order."""
    steps, known = list(BenchStep), list(STEP_OF_KEY)

    def rank(on: CriterionOn) -> tuple[int, int]:
        step = step_of(on)
        if on.key not in STEP_OF_KEY:
            return steps.index(step), len(known)
        is_last = step is BenchStep.CUT  # a slide cut only advises
        return steps.index(step), len(known) + 1 if is_last else known.index(on.key)

    return tuple(sorted(lines, key=rank))

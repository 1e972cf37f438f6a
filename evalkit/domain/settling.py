"""Which tests a verdict still hangs on: the shortest list that settles it, whichever way they turn out.

Acceptance is a monotone yes-or-no function of the levels: every criterion at its need, and a weighted sum at its
threshold. A list of tests settles the verdict for certain exactly when the function no longer depends on anything
left out, so the shortest list is unique: the unseen places of every criterion on which the function depends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations


@dataclass(frozen=True, slots=True)
class Rung:
    """One criterion as acceptance sees it: its weight, the level it needs, and every level still reachable."""

    weight: int
    need: int
    reachable: tuple[int, ...]

    @property
    def is_open(self) -> bool:
        return len(self.reachable) > 1


def hangs_on(rungs: Sequence[Rung], threshold: int) -> tuple[bool, ...]:
    """For each criterion: does acceptance still depend on it? `threshold` is on sum(weight * level)."""
    settled = _with([rung for rung in rungs if not rung.is_open], 1)
    others = iter(_sums_but_one([rung for rung in rungs if rung.is_open], settled))
    return tuple(rung.is_open and _matters(rung, next(others), threshold) for rung in rungs)


def _matters(rung: Rung, sums: int, threshold: int) -> bool:
    """Does some pair of its levels turn acceptance round, at some sum that the others can reach?"""
    return any(
        high >= rung.need
        and sums >> max(threshold - rung.weight * high, 0)
        and (low < rung.need or _has_between(sums, threshold - rung.weight * high, threshold - rung.weight * low))
        for low, high in combinations(sorted(rung.reachable), 2)
    )


def _sums_but_one(rungs: Sequence[Rung], sums: int) -> list[int]:
    """For each criterion, what all the others make of `sums`; by halves, so that n of them cost n log n steps."""
    if len(rungs) < 2:
        return [sums] * len(rungs)
    left, right = rungs[: len(rungs) // 2], rungs[len(rungs) // 2 :]
    return [*_sums_but_one(left, _with(right, sums)), *_sums_but_one(right, _with(left, sums))]


def _with(rungs: Sequence[Rung], sums: int) -> int:
    """`sums` with these added, each keeping its need: bit s is set when the sum s can be reached."""
    for rung in rungs:
        kept = {rung.weight * level for level in rung.reachable if level >= rung.need}
        shifted = 0
        for addend in kept:
            shifted |= sums << addend
        sums = shifted
    return sums


def _has_between(sums: int, low: int, high: int) -> bool:
    """Is some reachable sum at least `low` and below `high`?"""
    low, high = max(low, 0), max(high, 0)
    return bool((sums >> low) & ((1 << (high - low)) - 1))

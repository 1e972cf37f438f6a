"""Climbing a smooth surface by quasi-Newton steps that never leap, where far from the top there may be no value at all.

The inverse curvature is learnt on the way (BFGS; Nocedal & Wright 2006, chapter 6). No step moves any coordinate by
more than its reach, and one that ends lower, or where the surface has no value, is halved: a search that extrapolates
freely tries points where no fit settles.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.errors import NotSettledError

Floats = NDArray[np.float64]

Surface = Callable[[Floats], tuple[float, Floats]]
"""Value and slope at a point. Raises NotSettledError where there is none."""

_MOST_HALVINGS = 25
_SHARE_OF_PROMISE = 1e-4
# The value of a fit is known to about this share of itself.
_ROUNDING = 1e-10


@dataclass(frozen=True, slots=True)
class Top:
    """Where a climb ended."""

    point: Floats
    value: float
    steps: int


def climb(
    surface: Surface,
    start: Floats,
    cov: Floats,
    *,
    reach: Floats,
    enough: float,
    most_steps: int,
    what: str = "The search",
) -> Top:
    """Climb from `start` until a further step would gain less than `enough`.

    `cov` is a first guess of the inverse curvature at the top, `reach` the longest step in each coordinate. Raises
    NotSettledError when the surface has no value at the start or the top is not reached in `most_steps`.
    """
    at, value, slope = start, *surface(start)
    for step in range(most_steps):
        way = cov @ slope
        promise = float(way @ slope)
        if promise < 2 * enough:
            return Top(at, value, step)
        size = min(1.0, float(np.min(reach / np.maximum(np.abs(way), 1e-300))))
        found = _ahead(surface, at, value, size * way, size * promise)
        if found is None:
            raise NotSettledError(step, step=promise, what=what)
        further, value, bent = found
        cov = _learnt(cov, further - at, slope - bent)
        at, slope = further, bent
    raise NotSettledError(most_steps, step=float(slope @ cov @ slope), what=what)


def _ahead(
    surface: Surface, at: Floats, value: float, way: Floats, promise: float
) -> tuple[Floats, float, Floats] | None:
    """The first point along `way`, halved as often as it takes, that keeps a share of its promise."""
    size = 1.0
    for _ in range(_MOST_HALVINGS):
        try:
            height, slope = surface(at + size * way)
        except NotSettledError:
            height, slope = -np.inf, way
        if height >= value + _SHARE_OF_PROMISE * size * promise - _ROUNDING * abs(value):
            return at + size * way, height, slope
        size *= 0.5
    return None


def _learnt(cov: Floats, moved: Floats, lost: Floats) -> Floats:
    """The inverse curvature after a step `moved` that took `lost` from the slope; unchanged where it bends upward."""
    along = float(moved @ lost)
    if along <= 1e-10 * float(np.linalg.norm(moved) * np.linalg.norm(lost)):
        return cov
    turn = np.eye(len(moved)) - np.outer(moved, lost) / along
    return np.asarray(turn @ cov @ turn.T + np.outer(moved, moved) / along)


def covariance_at(surface: Surface, top: Floats, *, probe: float) -> Floats:
    """Inverse curvature at the top, from slopes at `probe` either way. Raises NotSettledError where it is no top."""
    sides = probe * np.eye(len(top))
    curvature = np.array([surface(top - side)[1] - surface(top + side)[1] for side in sides]) / (2 * probe)
    values, vectors = np.linalg.eigh(0.5 * (curvature + curvature.T))
    if values.min() <= 0:
        raise NotSettledError(0, step=float(values.min()), what="The search for standard errors")
    return np.asarray((vectors / values) @ vectors.T)

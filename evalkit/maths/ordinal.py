"""The cumulative-logit cell: one ordered level seen through two thresholds, its likelihood and derivatives.

A level y of 0..K-1 is seen when the predictor `eta`, blurred by a standard logistic error, falls between the
thresholds `lower` = kappa_y and `upper` = kappa_{y+1}, with kappa_0 = -inf and kappa_K = +inf (McCullagh 1980).
A cell that was not seen has lower = -inf and upper = +inf: it says nothing, and every function here gives 0 for it.
All functions work elementwise on arrays that broadcast against each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from evalkit.maths.errors import UnusableInputError

Floats = NDArray[np.float64]

NOT_SEEN = -1
# Stands for e^inf in products where the true factor would make inf * 0.
_HUGE = 1e300


class CellDerivatives(NamedTuple):
    """The log-likelihood of a cell and its first four derivatives in `eta`."""

    loglik: Floats
    first: Floats
    second: Floats
    third: Floats
    fourth: Floats


def thresholds_from_gaps(gaps: Floats, required_level: int) -> Floats:
    """Thresholds kappa_1..kappa_{K-1} from the K-2 gaps between them, with kappa of the required level at 0.

    `gaps` has shape (..., K-2); the answer has shape (..., K-1).
    """
    gaps = np.asarray(gaps, dtype=float)
    start = np.zeros((*gaps.shape[:-1], 1))
    rising = np.concatenate([start, np.cumsum(gaps, axis=-1)], axis=-1)
    if not 1 <= required_level <= rising.shape[-1]:
        raise UnusableInputError(f"The required level must lie in 1..{rising.shape[-1]}, not {required_level}.")
    return np.asarray(rising - rising[..., required_level - 1, None])


def cell_bounds(level: NDArray[np.int8], thresholds: Floats) -> tuple[Floats, Floats]:
    """Lower and upper threshold of every cell. `level` (B, ...) with -1 for not seen, `thresholds` (B, K-1)."""
    n_batch = thresholds.shape[0]
    edge = np.full((n_batch, 1), np.inf)
    # The last entry serves level -1: numpy's index -1 then finds (-inf, +inf).
    lower_table = np.concatenate([-edge, thresholds, -edge], axis=1)
    upper_table = np.concatenate([thresholds, edge, edge], axis=1)
    row = np.arange(n_batch).reshape((-1,) + (1,) * (level.ndim - 1))
    return lower_table[row, level], upper_table[row, level]


def cell_derivatives(eta: Floats, lower: Floats, upper: Floats) -> CellDerivatives:
    """Log-likelihood and derivatives 1 to 4; stable for any finite `eta`. Needs lower < upper."""
    above_lower, below_upper = eta - lower, upper - eta
    a, not_a = expit(above_lower), expit(-above_lower)
    not_b, b = expit(below_upper), expit(-below_upper)
    var_a, var_b = a * not_a, b * not_b
    with np.errstate(invalid="ignore"):
        width = np.where(np.isinf(upper - lower), np.inf, upper - lower)
    loglik = -np.logaddexp(0.0, -above_lower) - np.logaddexp(0.0, -below_upper) + np.log(-np.expm1(-width))
    return CellDerivatives(
        loglik=loglik,
        first=not_a - b,
        second=-var_a - var_b,
        third=-var_a * (not_a - a) - var_b * (not_b - b),
        fourth=-var_a * (1 - 6 * var_a) - var_b * (1 - 6 * var_b),
    )


@lru_cache(maxsize=32)
def hermite_nodes(n_nodes: int) -> tuple[Floats, Floats]:
    """Points and weights for the mean over a standard normal; the weights sum to 1."""
    points, weights = np.polynomial.hermite_e.hermegauss(n_nodes)
    weights = weights / weights.sum()
    points.flags.writeable = weights.flags.writeable = False
    return points, weights


@dataclass(frozen=True, slots=True)
class CellEdges:
    """The thresholds of cells in the form in which one exponential serves both of them."""

    reference: Floats
    """The finite threshold of the cell (the upper one if it has two); 0 where it has none."""
    to_lower: Floats
    """exp(lower - reference): 0 where the cell has no lower threshold."""
    to_upper: Floats
    """exp(upper - reference): a huge number where the cell has no upper threshold."""
    log_width: Floats
    """log(1 - exp(-(upper - lower))), the part of the log-likelihood that `eta` does not touch."""


def cell_edges(lower: Floats, upper: Floats) -> CellEdges:
    """Prepare thresholds for `smoothed_cell`."""
    reference = np.where(np.isfinite(upper), upper, np.where(np.isfinite(lower), lower, 0.0))
    with np.errstate(over="ignore"):
        to_upper = np.where(np.isfinite(upper), 1.0, _HUGE)
        to_lower = np.exp(lower - reference)
        log_width = np.log(-np.expm1(lower - upper))
    return CellEdges(reference, to_lower, to_upper, log_width)


class SmoothedCell(NamedTuple):
    """Means over eta ~ N(mean, variance): E[l'], -E[l''] and, when asked for, E[l] (else None)."""

    slope: Floats
    weight: Floats
    loglik: Floats | None


def smoothed_cell(
    mean: Floats, variance: Floats | None, edges: CellEdges, n_nodes: int, *, with_loglik: bool = False
) -> SmoothedCell:
    """Cell quantities averaged over a normal predictor by Gauss-Hermite; with `variance` None, at `mean` itself."""
    points, weights = hermite_nodes(n_nodes if variance is not None else 1)
    base = np.exp(edges.reference - mean)
    spread = None if variance is None else np.sqrt(variance)
    slope, weight = np.zeros_like(mean), np.zeros_like(mean)
    loglik = np.zeros_like(mean) if with_loglik else None
    with np.errstate(over="ignore", divide="ignore"):
        for point, share in zip(points, weights, strict=True):
            odds = base if spread is None or point == 0.0 else base * np.exp(-point * spread)
            below, beyond = odds * edges.to_lower, odds * edges.to_upper
            a, b = 1.0 / (1.0 + below), 1.0 / (1.0 + beyond)
            slope += share * (1.0 - a - b)
            weight += share * (a * (1.0 - a) + b * (1.0 - b))
            if loglik is not None:
                loglik -= share * (np.log1p(below) + np.log1p(1.0 / beyond))
    if loglik is not None:
        loglik += edges.log_width
    return SmoothedCell(slope, weight, loglik)


def higher_derivatives(eta: Floats, edges: CellEdges) -> tuple[Floats, Floats]:
    """Third and fourth derivative of the cells' log-likelihood at `eta`."""
    with np.errstate(over="ignore"):
        odds = np.exp(edges.reference - eta)
        a, b = 1.0 / (1.0 + odds * edges.to_lower), 1.0 / (1.0 + odds * edges.to_upper)
    var_a, var_b = a * (1.0 - a), b * (1.0 - b)
    third = -var_a * (1.0 - 2.0 * a) - var_b * (1.0 - 2.0 * b)
    return third, -var_a * (1.0 - 6.0 * var_a) - var_b * (1.0 - 6.0 * var_b)


def threshold_slopes(
    eta: Floats, variance: Floats, lower: Floats, upper: Floats, n_nodes: int
) -> tuple[Floats, Floats]:
    """Mean derivative of the log-likelihood in the lower and in the upper threshold; 0 where that is infinite."""
    points, weights = hermite_nodes(n_nodes)
    spread = np.sqrt(variance)
    with np.errstate(over="ignore", divide="ignore"):
        closeness = 1.0 / np.expm1(upper - lower)
    towards_lower = np.where(np.isfinite(lower), -closeness, 0.0)
    towards_upper = np.where(np.isfinite(upper), closeness, 0.0)
    for point, share in zip(points, weights, strict=True):
        at = eta + point * spread
        towards_lower -= share * expit(lower - at)
        towards_upper += share * expit(at - upper)
    return towards_lower, towards_upper

"""Gaps between thresholds learnt with their log-normal prior, and integrated: never plugged in, never on a grid.

The log gaps of one trainee get adaptive Gauss-Hermite quadrature around their posterior mode (Naylor & Smith 1982):
Newton on the log marginal likelihood, whose gradient needs no extra fit because the fit is stationary, then a few
fits around the mode, weighted by likelihood times prior. The answer is a mixture of Gaussians, one for each node.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.errors import NotSettledError
from evalkit.maths.ordinal import cell_bounds, hermite_nodes, threshold_slopes, thresholds_from_gaps
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.model import Batch, batch_of, cells_of, prior_of
from evalkit.maths.skill.posterior import GVB_NODES, Posterior, Start, State, posterior, predictor

Floats = NDArray[np.float64]

_PROBE = 0.1
_LARGEST_STEP = 1.0
_MOST_ROUNDS = 25
_TOLERANCE = 1e-3
# The mode only steers where the nodes are laid; their weights come from fits at full tolerance.
_ROUGH = 1e-2


@dataclass(frozen=True, slots=True)
class Mixture:
    """A posterior as a weighted sum of Gaussians: one component for each way the thresholds may lie."""

    weight: Floats
    """(G,), sums to 1."""
    thresholds: Floats
    """(G, K-1)."""
    fit: Posterior
    """A batch of G fits."""
    log_marginal: float
    """Log marginal likelihood, gaps integrated out when they were learnt."""
    log_gap: LogGaps | None
    """The learnt log gaps, None when the thresholds were given."""

    def skill_moments(self) -> tuple[Floats, Floats]:
        """Mean and SD of every skill at the pairs of each round, (R, C); a trend must be added by the caller."""
        mean = np.einsum("g,grc->rc", self.weight, self.fit.mean)
        own = np.diagonal(self.fit.cov, axis1=2, axis2=3)
        var = np.einsum("g,grc->rc", self.weight, own + (self.fit.mean - mean) ** 2)
        return mean, np.sqrt(var)


@dataclass(frozen=True, slots=True)
class LogGaps:
    """Normal approximation of the log gaps: where they lie and how far they are in doubt."""

    mean: Floats
    """(K-2,)."""
    cov: Floats
    """(K-2, K-2)."""


def single(fit: Posterior, thresholds: Floats) -> Mixture:
    """One fit as a mixture of one."""
    return Mixture(np.ones(1), thresholds, fit, float(fit.log_marginal[0]), None)


def _repeat(fit: Posterior, n_batch: int) -> Start:
    """The first fit of a batch as the place where all of another batch begin."""

    def first(part: Floats) -> Floats:
        return np.repeat(part[:1], n_batch, axis=0)

    state = fit.state
    return Start(State(first(state.skill), first(state.pair), first(state.effect)), first(fit.eta_var))


@dataclass(frozen=True, slots=True)
class _Probe:
    """The log posterior of the log gaps at several points: one fit for each."""

    value: Floats
    gradient: Floats
    fit: Posterior
    thresholds: Floats


@dataclass(frozen=True, slots=True)
class _Case:
    """One history and what is assumed about it."""

    batch: Batch
    hyper: Hyper
    n_levels: int
    required_level: int


def _probe(case: _Case, log_gap: Floats, start: Posterior | None, tolerance: float) -> _Probe:
    n_batch, n_gaps = log_gap.shape
    hyper, batch = case.hyper, case.batch.repeated(n_batch)
    thresholds = thresholds_from_gaps(np.exp(log_gap), case.required_level)
    cells, prior = cells_of(batch, thresholds), prior_of(batch, hyper)
    first = None if start is None else _repeat(start, n_batch)
    fit = posterior(cells, prior, tolerance=tolerance, start=first)
    away = (log_gap - np.log(hyper.gap_median)) / hyper.gap_log_sd
    log_sd = np.broadcast_to(hyper.gap_log_sd, (n_gaps,))
    log_prior = -0.5 * (away**2).sum(axis=1) - np.log(log_sd * np.sqrt(2 * np.pi)).sum()
    bounds = cell_bounds(batch.level, thresholds)
    slopes = threshold_slopes(predictor(fit.state, cells), fit.eta_var, *bounds, GVB_NODES)
    by_threshold = threshold_gradient(batch.level, slopes, case.n_levels)
    gradient = by_threshold @ gap_jacobian(case.n_levels, case.required_level) * np.exp(log_gap)
    gradient = gradient - away / hyper.gap_log_sd
    return _Probe(fit.log_marginal + log_prior, gradient, fit, thresholds)


def gap_jacobian(n_levels: int, required_level: int) -> Floats:
    """D kappa_k / d gap_j, (K-1, K-2), with kappa of the required level held at 0."""
    k, j = np.arange(1, n_levels)[:, None], np.arange(1, n_levels - 1)[None, :]
    return np.asarray((j < k).astype(float) - (j < required_level).astype(float))


def threshold_gradient(level: NDArray[np.int8], slopes: tuple[Floats, Floats], n_levels: int) -> Floats:
    """Sum the cells' threshold slopes by threshold: (B, K-1)."""
    towards_lower, towards_upper = slopes
    axes = tuple(range(1, level.ndim))

    def summed(slope: Floats, at_level: int) -> Floats:
        return np.asarray(np.where(level == at_level, slope, 0.0).sum(axis=axes))

    columns = [summed(towards_lower, k) + summed(towards_upper, k - 1) for k in range(1, n_levels)]
    return np.stack(columns, axis=1)


def _design(n_gaps: int, per_gap: int) -> tuple[Floats, Floats]:
    """Standard points and weights: a product rule for up to three gaps, a degree-three cubature rule beyond."""
    if n_gaps > 3:
        points = np.sqrt(n_gaps) * np.concatenate([np.eye(n_gaps), -np.eye(n_gaps)])
        return points, np.full(2 * n_gaps, 0.5 / n_gaps)
    z, w = hermite_nodes(per_gap if n_gaps < 3 else 3)
    points = np.array(list(itertools.product(z, repeat=n_gaps)))
    return points, np.array([np.prod(x) for x in itertools.product(w, repeat=n_gaps)])


def _mode(case: _Case, start: LogGaps | None) -> tuple[Floats, Floats, Posterior]:
    """Mode and covariance of the log gaps, and the fit there."""
    n_gaps = case.n_levels - 2
    at = np.log(np.broadcast_to(case.hyper.gap_median, (n_gaps,))) if start is None else start.mean
    least = 0.25 * np.min(case.hyper.gap_log_sd) ** -2.0
    near: Posterior | None = None
    size = np.inf
    for _ in range(_MOST_ROUNDS):
        points = np.concatenate([at[None], at + _PROBE * np.eye(n_gaps)])
        probe = _probe(case, points, near, _ROUGH)
        near = probe.fit
        curvature = -(probe.gradient[1:] - probe.gradient[0]) / _PROBE
        values, vectors = np.linalg.eigh(0.5 * (curvature + curvature.T))
        # Far from the mode the curvature may be negative; the prior's own keeps the step uphill.
        values = np.maximum(values, least)
        cov = (vectors / values) @ vectors.T
        step = cov @ probe.gradient[0]
        size = float(np.max(np.abs(step)))
        at = at + step * min(1.0, _LARGEST_STEP / max(size, _LARGEST_STEP))
        if np.all(np.abs(step) < 0.3 * np.sqrt(np.diagonal(cov))):
            return at, cov, near
    raise NotSettledError(_MOST_ROUNDS, step=size, what="The search for the gaps between levels")


def learn_gaps(seen: Seen, hyper: Hyper, *, per_gap: int = 3, start: LogGaps | None = None) -> Mixture:
    """Posterior with the gaps integrated out; with two levels there is no gap and one plain fit remains."""
    batch = batch_of([seen], hyper)
    if seen.n_levels == 2:
        thresholds = np.zeros((1, 1))
        fit = posterior(cells_of(batch, thresholds), prior_of(batch, hyper), tolerance=_TOLERANCE)
        return single(fit, thresholds)
    case = _Case(batch, hyper, seen.n_levels, seen.required_level)
    at, cov, near = _mode(case, start)
    points, weights = _design(len(at), per_gap)
    log_gap = at + points @ np.linalg.cholesky(cov).T
    probe = _probe(case, log_gap, near, _TOLERANCE)
    log_normal = -0.5 * (points**2).sum(axis=1) - 0.5 * np.linalg.slogdet(2 * np.pi * cov)[1]
    log_share = np.log(weights) + probe.value - log_normal
    top = log_share.max()
    share = np.exp(log_share - top)
    total = share.sum()
    share /= total
    centre = share @ log_gap
    spread = (log_gap - centre).T @ ((log_gap - centre) * share[:, None])
    return Mixture(share, probe.thresholds, probe.fit, float(top + np.log(total)), LogGaps(centre, spread))


def without_light_nodes(mixture: Mixture, least: float = 1e-4) -> Mixture:
    """Drop the nodes that carry almost no weight."""
    keep = mixture.weight >= least
    if keep.all():
        return mixture
    weight = mixture.weight[keep]
    return replace(
        mixture,
        weight=weight / weight.sum(),
        thresholds=mixture.thresholds[keep],
        fit=mixture.fit.chosen(keep),
    )

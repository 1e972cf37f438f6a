"""Gaps between thresholds learnt with their log-normal prior, and integrated: never plugged in, never on a grid.

The log gaps of one trainee get adaptive Gauss-Hermite quadrature around their posterior mode (Naylor & Smith 1982):
Newton on the log marginal likelihood, whose gradient needs no extra fit because the fit is stationary, then a few
fits around the mode, weighted by likelihood times prior. The answer is a mixture of Gaussians, one for each node.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
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


def _restart(fit: Posterior, n_histories: int, n_each: int) -> Start:
    """The first fit of each history as the place where all `n_each` of its next fits begin."""
    n_before = len(fit.log_marginal) // n_histories

    def first(part: Floats) -> Floats:
        return np.repeat(part[::n_before], n_each, axis=0)

    state = fit.state
    return Start(State(first(state.skill), first(state.pair), first(state.effect)), first(fit.eta_var))


@dataclass(frozen=True, slots=True)
class _Probe:
    """The log posterior of the log gaps of H histories at P points each: one fit for each point."""

    value: Floats
    """(H, P)."""
    gradient: Floats
    """(H, P, K-2)."""
    fit: Posterior
    """H x P fits, a history's own one after another."""
    thresholds: Floats
    """(H x P, K-1)."""


@dataclass(frozen=True, slots=True)
class _Case:
    """H histories on one ladder, and what is assumed about each."""

    batch: Batch
    hypers: tuple[Hyper, ...]
    n_levels: int
    required_level: int
    log_median: Floats
    """Prior of the log gaps, (H, K-2)."""
    log_sd: Floats

    @property
    def n(self) -> int:
        return len(self.hypers)


def _case_of(group: Sequence[Seen], hypers: Sequence[Hyper]) -> _Case:
    n_gaps = group[0].n_levels - 2

    def each(values: Sequence[float | tuple[float, ...]]) -> Floats:
        return np.array([np.broadcast_to(value, (n_gaps,)) for value in values])

    return _Case(
        batch_of(group, hypers),
        tuple(hypers),
        group[0].n_levels,
        group[0].required_level,
        np.log(each([hyper.gap_median for hyper in hypers])),
        each([hyper.gap_log_sd for hyper in hypers]),
    )


def _probe(case: _Case, log_gap: Floats, start: Posterior | None, tolerance: float) -> _Probe:
    """`log_gap` holds the points, (H, P, K-2)."""
    n_each = log_gap.shape[1]
    batch = case.batch.repeated(n_each)
    thresholds = thresholds_from_gaps(np.exp(log_gap).reshape(case.n * n_each, -1), case.required_level)
    hypers = [hyper for hyper in case.hypers for _ in range(n_each)]
    cells, prior = cells_of(batch, thresholds), prior_of(batch, hypers)
    first = None if start is None else _restart(start, case.n, n_each)
    fit = posterior(cells, prior, tolerance=tolerance, start=first)
    away = (log_gap - case.log_median[:, None]) / case.log_sd[:, None]
    log_prior = -0.5 * (away**2).sum(axis=2) - np.log(case.log_sd * np.sqrt(2 * np.pi)).sum(axis=1)[:, None]
    bounds = cell_bounds(batch.level, thresholds)
    slopes = threshold_slopes(predictor(fit.state, cells), fit.eta_var, *bounds, GVB_NODES)
    by_threshold = threshold_gradient(batch.level, slopes, case.n_levels)
    by_gap = by_threshold @ gap_jacobian(case.n_levels, case.required_level)
    gradient = by_gap.reshape(log_gap.shape) * np.exp(log_gap) - away / case.log_sd[:, None]
    return _Probe(fit.log_marginal.reshape(case.n, n_each) + log_prior, gradient, fit, thresholds)


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


def _mode(case: _Case, starts: Sequence[LogGaps | None]) -> tuple[Floats, Floats, Posterior]:
    """Modes (H, K-2) and covariances (H, K-2, K-2) of the log gaps, and the fits near there."""
    n_gaps = case.n_levels - 2
    at = np.array(
        [median if start is None else start.mean for median, start in zip(case.log_median, starts, strict=True)]
    )
    cov = np.zeros((case.n, n_gaps, n_gaps))
    least = 0.25 * case.log_sd.min(axis=1) ** -2.0
    is_settled = np.zeros(case.n, dtype=bool)
    near: Posterior | None = None
    size = np.full(case.n, np.inf)
    for _ in range(_MOST_ROUNDS):
        probe = _probe(
            case, at[:, None] + np.concatenate([np.zeros((1, n_gaps)), _PROBE * np.eye(n_gaps)]), near, _ROUGH
        )
        near = probe.fit
        curvature = -(probe.gradient[:, 1:] - probe.gradient[:, :1]) / _PROBE
        values, vectors = np.linalg.eigh(0.5 * (curvature + np.swapaxes(curvature, 1, 2)))
        # Far from the mode the curvature may be negative; the prior's own keeps the step uphill.
        values = np.maximum(values, least[:, None])
        cov = np.where(is_settled[:, None, None], cov, (vectors / values[:, None]) @ np.swapaxes(vectors, 1, 2))
        step = np.where(is_settled[:, None], 0.0, (cov @ probe.gradient[:, 0, :, None])[..., 0])
        size = np.abs(step).max(axis=1)
        at = at + step * np.minimum(1.0, _LARGEST_STEP / np.maximum(size, _LARGEST_STEP))[:, None]
        is_settled |= np.all(np.abs(step) < 0.3 * np.sqrt(np.diagonal(cov, axis1=1, axis2=2)), axis=1)
        if is_settled.all():
            return at, cov, near
    raise NotSettledError(_MOST_ROUNDS, step=float(size.max()), what="The search for the gaps between levels")


def learn_gaps(seen: Seen, hyper: Hyper, *, per_gap: int = 3, start: LogGaps | None = None) -> Mixture:
    """Posterior with the gaps integrated out; with two levels there is no gap and one plain fit remains."""
    return learn_gaps_together([seen], [hyper], per_gap=per_gap, starts=[start])[0]


def learn_gaps_together(
    group: Sequence[Seen],
    hypers: Sequence[Hyper],
    *,
    per_gap: int = 3,
    starts: Sequence[LogGaps | None] | None = None,
) -> list[Mixture]:
    """The same for several histories on one ladder at once, each with its own `hyper`: one pass serves all of them."""
    if group[0].n_levels == 2:
        batch, thresholds = batch_of(group, hypers), np.zeros((len(group), 1))
        fit = posterior(cells_of(batch, thresholds), prior_of(batch, hypers), tolerance=_TOLERANCE)
        return [single(_own(fit, b, 1, seen), thresholds[:1]) for b, seen in enumerate(group)]
    case = _case_of(group, hypers)
    at, cov, near = _mode(case, starts or [None] * len(group))
    points, weights = _design(at.shape[1], per_gap)
    log_gap = at[:, None] + points @ np.swapaxes(np.linalg.cholesky(cov), 1, 2)
    probe = _probe(case, log_gap, near, _TOLERANCE)
    log_normal = -0.5 * (points**2).sum(axis=1) - 0.5 * np.linalg.slogdet(2 * np.pi * cov)[1][:, None]
    log_share = np.log(weights) + probe.value - log_normal
    return [
        _mixture(probe, log_gap[b], log_share[b], _own(probe.fit, b, len(points), seen), b)
        for b, seen in enumerate(group)
    ]


def _own(fit: Posterior, at: int, n_each: int, seen: Seen) -> Posterior:
    """The fits of one history of the group, without the rounds that only fill it up."""
    return fit.chosen(np.arange(at * n_each, (at + 1) * n_each), seen.n_rounds)


def _mixture(probe: _Probe, log_gap: Floats, log_share: Floats, fit: Posterior, at: int) -> Mixture:
    top = log_share.max()
    share = np.exp(log_share - top)
    total = share.sum()
    share /= total
    centre = share @ log_gap
    spread = (log_gap - centre).T @ ((log_gap - centre) * share[:, None])
    n_each = len(share)
    thresholds = probe.thresholds[at * n_each : (at + 1) * n_each]
    return Mixture(share, thresholds, fit, float(top + np.log(total)), LogGaps(centre, spread))


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

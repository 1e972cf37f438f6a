"""The posterior of skills and pair effects: Newton for the mode, then a Gaussian that matches it on average.

The predictor of a cell is eta = theta_{r,c} + u_i + x_i'phi - offset. Pair effects u_i are eliminated inside their
round, skills theta by block elimination, shared effects phi as a border (skill_blocks). `n_nodes = 1` gives the
Laplace approximation at the mode (Tierney & Kadane 1986); more nodes give the Gaussian variational fit, where slopes
and weights are averaged over the cell's own uncertainty (Opper & Archambeau 2009).

Shapes: B fits, R rounds, N pairs a round, C criteria, P shared effects.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.errors import NotSettledError
from evalkit.maths.ordinal import CellEdges, smoothed_cell
from evalkit.maths.skill.blocks import Eliminated, SelectedInverse, eliminate, selected_inverse, solve
from evalkit.maths.skill.prior import (
    WalkPrior,
    inverse_share,
    inverse_share_parts,
    log_det_precision,
    precision_times,
    walk_diagonal,
)

Floats = NDArray[np.float64]

MOST_ROUNDS = 60
LARGEST_STEP = 3.0
GVB_NODES = 7


@dataclass(frozen=True, slots=True)
class Cells:
    """What was seen, ready for the engine."""

    edges: CellEdges
    """Thresholds of each cell, (B, R, N, C)."""
    offset: Floats
    """The known part that is taken from the predictor, (B, R, N, C)."""
    effect: Floats
    """Loading of each pair on the shared effects, (B, R, N, P)."""


@dataclass(frozen=True, slots=True)
class State:
    """A point in the space of everything unknown."""

    skill: Floats
    pair: Floats
    effect: Floats

    def stepped(self, step: State, size: Floats) -> State:
        """This point moved by `size` (B,) times `step`."""
        return State(
            self.skill + size[:, None, None] * step.skill,
            self.pair + size[:, None, None] * step.pair,
            self.effect + size[:, None] * step.effect,
        )


@dataclass(frozen=True, slots=True)
class Posterior:
    """A Gaussian posterior for each fit of the batch."""

    mean: Floats
    """Skills, (B, R, C)."""
    cov: Floats
    """Their covariance inside a round, (B, R, C, C)."""
    cross: Floats
    """Their covariance between a round and the next, (B, R-1, C, C)."""
    effect_mean: Floats
    effect_cov: Floats
    skill_effect_cov: Floats
    pair_mean: Floats
    """Pair effects, (B, R, N)."""
    pair_var: Floats
    eta_var: Floats
    """Variance of the predictor of each cell, (B, R, N, C)."""
    slope: Floats
    """l' of each cell, averaged: the gradient of the log marginal likelihood in that cell's predictor."""
    weight: Floats
    """-l'' of each cell, averaged."""
    log_marginal: Floats
    """Log marginal likelihood (Laplace) or its lower bound (variational), (B,)."""
    rounds: int
    """Rounds of calculation until it settled."""
    state: State

    def chosen(self, which: NDArray[Any], n_rounds: int | None = None) -> Posterior:
        """Some fits of the batch, up to round number `n_rounds`."""

        def taken(x: Floats, less: int = 0) -> Floats:
            chosen = x[which]
            return np.asarray(chosen if n_rounds is None else chosen[:, : n_rounds - less])

        state = State(taken(self.state.skill), taken(self.state.pair), self.state.effect[which])
        return Posterior(
            mean=taken(self.mean),
            cov=taken(self.cov),
            cross=taken(self.cross, 1),
            effect_mean=self.effect_mean[which],
            effect_cov=self.effect_cov[which],
            skill_effect_cov=taken(self.skill_effect_cov),
            pair_mean=taken(self.pair_mean),
            pair_var=taken(self.pair_var),
            eta_var=taken(self.eta_var),
            slope=taken(self.slope),
            weight=taken(self.weight),
            log_marginal=self.log_marginal[which],
            rounds=self.rounds,
            state=state,
        )


def predictor(state: State, cells: Cells) -> Floats:
    """Eta of every cell, (B, R, N, C)."""
    per_pair = state.pair + np.einsum("brnp,bp->brn", cells.effect, state.effect)
    return np.asarray(state.skill[:, :, None, :] + per_pair[..., None] - cells.offset)


@dataclass(frozen=True, slots=True)
class _System:
    """One linear system of a Newton round, with what is needed to carry its answer back to the pairs."""

    weight: Floats
    pair_precision: Floats
    weight_sum: Floats
    parts: Eliminated


def _system(weight: Floats, cells: Cells, prior: WalkPrior) -> _System:
    n_criteria = weight.shape[3]
    weight_sum = weight.sum(axis=3)
    pair_precision = prior.pair_sd[:, None, None] ** -2.0 + weight_sum
    scaled = weight / np.sqrt(pair_precision)[..., None]
    a, b = inverse_share_parts(prior.share, n_criteria)
    diagonal = walk_diagonal(prior.rate)[:, :, None, None] * inverse_share(a, b, n_criteria)[:, None]
    diagonal = diagonal - np.swapaxes(scaled, 2, 3) @ scaled
    index = np.arange(n_criteria)
    diagonal[:, :, index, index] += weight.sum(axis=2)
    kept = 1.0 - weight_sum / pair_precision
    border = np.einsum("brnc,brn,brnp->brcp", weight, kept, cells.effect)
    corner = np.einsum("brn,brnp,brnq->bpq", weight_sum * kept, cells.effect, cells.effect)
    diag_p = np.arange(cells.effect.shape[3])
    corner[:, diag_p, diag_p] += prior.effect_sd**-2.0
    return _System(weight, pair_precision, weight_sum, eliminate(diagonal, border, corner, prior))


def _newton_step(slope: Floats, state: State, system: _System, cells: Cells, prior: WalkPrior) -> State:
    slope_sum = slope.sum(axis=3)
    pair_slope = slope_sum - state.pair * prior.pair_sd[:, None, None] ** -2.0
    ratio = pair_slope / system.pair_precision
    right = slope.sum(axis=2) - np.einsum("brnc,brn->brc", system.weight, ratio)
    right -= precision_times(state.skill - prior.mean, prior)
    right_effect = np.einsum("brnp,brn->bp", cells.effect, slope_sum - system.weight_sum * ratio)
    right_effect -= (state.effect - prior.effect_mean) * prior.effect_sd**-2.0
    skill, effect = solve(system.parts, right, right_effect)
    moved = np.einsum("brnc,brc->brn", system.weight, skill)
    moved += system.weight_sum * np.einsum("brnp,bp->brn", cells.effect, effect)
    return State(skill, (pair_slope - moved) / system.pair_precision, effect)


def _spread(system: _System, inverse: SelectedInverse, cells: Cells) -> tuple[Floats, Floats]:
    """Variance of each cell's predictor (B, R, N, C) and of each pair effect (B, R, N)."""
    d = system.pair_precision[..., None]
    k = system.weight @ inverse.cov
    quadratic = np.einsum("brnc,brnc->brn", system.weight, k)[..., None]
    own = np.diagonal(inverse.cov, axis1=2, axis2=3)[:, :, None, :]
    eta_var = own - 2.0 * k / d + quadratic / d**2 + 1.0 / d
    pair_var = (quadratic / d**2 + 1.0 / d)[..., 0]
    if cells.effect.shape[3] == 0:
        return eta_var, pair_var
    kept = 1.0 - system.weight_sum[..., None] / d
    effect_var = np.einsum("brnp,bpq,brnq->brn", cells.effect, inverse.effect_cov, cells.effect)[..., None]
    skill_with = np.einsum("brcp,brnp->brnc", inverse.skill_effect_cov, cells.effect)
    weighted = np.einsum("brnc,brnc->brn", system.weight, skill_with)[..., None]
    eta_var = eta_var + kept**2 * effect_var + 2.0 * kept * (skill_with - weighted / d)
    s = system.weight_sum[..., None]
    pair_var = pair_var + ((s**2 * effect_var + 2.0 * s * weighted) / d**2)[..., 0]
    return eta_var, pair_var


def prior_state(cells: Cells, prior: WalkPrior) -> State:
    """The prior mean, where a fit starts."""
    return State(prior.mean.copy(), np.zeros(cells.offset.shape[:3]), prior.effect_mean.copy())


def _largest(step: State) -> Floats:
    n_batch = step.skill.shape[0]
    flat = [np.abs(part).reshape(n_batch, -1) for part in (step.skill, step.pair, step.effect) if part.size]
    return np.asarray(np.max([part.max(axis=1) for part in flat], axis=0))


def _step_size(largest: Floats, rounds: int) -> Floats:
    # Half steps late in the day break the rare two-point cycle of a full Newton step.
    full = 1.0 if rounds < MOST_ROUNDS // 3 else 0.5
    return np.asarray(full * np.minimum(1.0, LARGEST_STEP / np.maximum(largest, LARGEST_STEP)))


@dataclass(frozen=True, slots=True)
class Start:
    """Where a fit begins: an earlier, similar fit's point and, if it was averaged, its predictor variances."""

    state: State
    eta_var: Floats | None = None


def posterior(
    cells: Cells, prior: WalkPrior, *, n_nodes: int = GVB_NODES, tolerance: float = 1e-6, start: Start | None = None
) -> Posterior:
    """Fit the batch. Raises NotSettledError when any fit of it is still moving after MOST_ROUNDS rounds."""
    start = start or Start(prior_state(cells, prior))
    state, eta_var = start.state, start.eta_var if n_nodes > 1 else None
    rounds, largest = 0, np.array([np.inf])
    # The mode need only be near before the averaging starts.
    phases = ((1, 1e-2 if n_nodes > 1 else tolerance), (n_nodes, tolerance))
    for nodes, enough in phases if eta_var is None else phases[1:]:
        settled = False
        while not settled:
            if rounds >= MOST_ROUNDS or not np.all(np.isfinite(state.skill)):
                raise NotSettledError(rounds, step=float(largest.max()))
            slope, weight, _ = smoothed_cell(predictor(state, cells), eta_var, cells.edges, nodes)
            system = _system(weight, cells, prior)
            step = _newton_step(slope, state, system, cells, prior)
            largest = _largest(step)
            state = state.stepped(step, _step_size(largest, rounds))
            rounds += 1
            settled = bool(np.all(largest < enough))
            if n_nodes > 1:
                earlier = eta_var
                if nodes > 1 or settled:
                    eta_var, _ = _spread(system, selected_inverse(system.parts), cells)
                if nodes > 1 and earlier is not None and eta_var is not None:
                    settled = settled and bool(np.max(np.abs(eta_var - earlier), initial=0.0) < 10 * enough)
        if n_nodes == 1:
            break
    return _finish(state, eta_var, n_nodes, cells, prior, rounds)


def _finish(
    state: State, eta_var: Floats | None, n_nodes: int, cells: Cells, prior: WalkPrior, rounds: int
) -> Posterior:
    slope, weight, loglik = smoothed_cell(predictor(state, cells), eta_var, cells.edges, n_nodes, with_loglik=True)
    system = _system(weight, cells, prior)
    inverse = selected_inverse(system.parts)
    averaged = 0.0 if eta_var is None else 0.5 * (weight * eta_var).sum(axis=(1, 2, 3))
    final_var, pair_var = _spread(system, inverse, cells)
    fitted = (0.0 if loglik is None else loglik.sum(axis=(1, 2, 3))) + averaged
    return Posterior(
        mean=state.skill,
        cov=inverse.cov,
        cross=inverse.cross,
        effect_mean=state.effect,
        effect_cov=inverse.effect_cov,
        skill_effect_cov=inverse.skill_effect_cov,
        pair_mean=state.pair,
        pair_var=pair_var,
        eta_var=final_var,
        slope=slope,
        weight=weight,
        log_marginal=fitted + _log_prior_over_posterior(state, system, prior),
        rounds=rounds,
        state=state,
    )


def _log_prior_over_posterior(state: State, system: _System, prior: WalkPrior) -> Floats:
    """The part of the log marginal likelihood that is not the cells' own, (B,)."""
    away = state.skill - prior.mean
    quadratic = (away * precision_times(away, prior)).sum(axis=(1, 2))
    quadratic += (state.pair**2).sum(axis=(1, 2)) * prior.pair_sd**-2.0
    quadratic += (((state.effect - prior.effect_mean) / prior.effect_sd) ** 2).sum(axis=1)
    n_pairs = state.pair.shape[1] * state.pair.shape[2]
    log_dets = log_det_precision(prior) - 2.0 * n_pairs * np.log(prior.pair_sd)
    log_dets -= 2.0 * np.log(prior.effect_sd).sum(axis=1)
    log_dets -= system.parts.log_det() + np.log(system.pair_precision).sum(axis=(1, 2))
    return np.asarray(0.5 * (log_dets - quadratic))


def contrast_covariance(fit: Posterior, cells: Cells, prior: WalkPrior, contrast: Floats) -> Floats:
    """Covariance of every skill with a linear contrast of the skills; both of shape (B, R, C)."""
    system = _system(fit.weight, cells, prior)
    return solve(system.parts, contrast, np.zeros_like(fit.effect_mean))[0]

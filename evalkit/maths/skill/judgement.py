"""The trainee's own judgement: how far the self levels lie above or below the mentor's, freed from floor and ceiling.

Given the mentor's level y of the same cell, P(self >= k) = sig(slope (y - k + 1/2) + bias + pair effect). The engine
is that of skill: thresholds slope (k - 1/2), offset -slope y, and a bias that walks with a prior of its own. Bias
above 0 means over-rating.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from evalkit.maths.ordinal import NOT_SEEN, cell_bounds, cell_edges
from evalkit.maths.skill.hyper import Hyper, Method
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.posterior import GVB_NODES, Cells, Posterior, contrast_covariance, posterior
from evalkit.maths.skill.prior import WalkPrior, walk_rates
from evalkit.maths.skill.second_order import second_order

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Judgement:
    """Bias of the trainee's own levels, in logits."""

    mean: Floats
    """(R, C)."""
    sd: Floats
    n_cells: int
    """Cells in which both levels were seen."""
    drift_mean: float
    """Mean over criteria of the bias in the last round less that in the first."""
    drift_sd: float
    """0 with a single round, where there is no drift to speak of."""


def self_cells(seen: Seen, hyper: Hyper) -> Cells:
    """Cells of the judgement model, a batch of one."""
    both = (seen.level != NOT_SEEN) & (seen.self_level != NOT_SEEN)
    level = np.where(both, seen.self_level, NOT_SEEN).astype(np.int8)[None]
    thresholds = np.asarray(hyper.self_slope * (np.arange(1, seen.n_levels) - 0.5))[None]
    offset = np.where(both, -hyper.self_slope * seen.level, 0.0)[None]
    return Cells(cell_edges(*cell_bounds(level, thresholds)), offset, np.zeros((*level.shape[:3], 0)))


def self_prior(seen: Seen, hyper: Hyper) -> WalkPrior:
    """The prior of the bias, a batch of one."""
    sd, walk = np.array([hyper.bias_sd]), np.array([hyper.bias_rw_sd])
    return WalkPrior(
        mean=np.zeros((1, seen.n_rounds, len(seen.criteria))),
        rate=walk_rates(seen.months[None], sd, walk),
        share=np.array([hyper.bias_share]),
        pair_sd=np.array([hyper.bias_pair_sd]),
        effect_mean=np.zeros((1, 0)),
        effect_sd=np.ones((1, 0)),
    )


def judge_self(seen: Seen, hyper: Hyper) -> Judgement | None:
    """The bias over the rounds; None when no cell has both levels."""
    n_cells = int(np.sum((seen.level != NOT_SEEN) & (seen.self_level != NOT_SEEN)))
    if n_cells == 0:
        return None
    cells, prior = self_cells(seen, hyper), self_prior(seen, hyper)
    if hyper.method is Method.LAPLACE2:
        fit = second_order(posterior(cells, prior, n_nodes=1), cells, prior)
    else:
        fit = posterior(cells, prior, n_nodes=GVB_NODES)
    drift_mean, drift_sd = _drift(fit, cells, prior)
    sd = np.sqrt(np.diagonal(fit.cov[0], axis1=1, axis2=2))
    return Judgement(fit.mean[0], sd, n_cells, drift_mean, drift_sd)


def _drift(fit: Posterior, cells: Cells, prior: WalkPrior) -> tuple[float, float]:
    n_rounds, n_criteria = fit.mean.shape[1:]
    if n_rounds == 1:
        return 0.0, 0.0
    contrast = np.zeros_like(fit.mean)
    contrast[:, -1], contrast[:, 0] = 1.0 / n_criteria, -1.0 / n_criteria
    with_skills = contrast_covariance(fit, cells, prior, contrast)
    return float((contrast * fit.mean).sum()), float(np.sqrt((contrast * with_skills).sum()))


def let_through(bias: Floats, self_slope: float) -> Floats:
    """Share of near misses (the mentor one level below the standard) that the trainee would have let pass."""
    return np.asarray(expit(bias - 0.5 * self_slope))

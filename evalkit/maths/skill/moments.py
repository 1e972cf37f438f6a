"""How the log marginal likelihood changes with the prior's numbers, from a fit's own second moments.

At the fixed point of a variational fit its bound is stationary in the posterior, so the derivative in a hyper-parameter
is the mean of the log prior's own derivative (the envelope theorem): no further fit is needed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.skill.posterior import Posterior
from evalkit.maths.skill.prior import WalkPrior, inverse_share_parts, precision_times

Floats = NDArray[np.float64]


class PriorSlopes(NamedTuple):
    """Derivatives of the log marginal likelihood of each fit, (B,) each."""

    initial_mean: Floats
    log_initial_sd: Floats
    log_rw_sd: Floats
    logit_share: Floats
    log_pair_sd: Floats


def _step_moments(fit: Posterior, prior: WalkPrior) -> tuple[Floats, Floats]:
    """Trace of E[dd'] and E[(1'd)^2] of the first state's and each step's difference d, (B, R) each."""
    away = fit.mean - prior.mean
    step = np.concatenate([away[:, :1], np.diff(away, axis=1)], axis=1)
    cov = fit.cov.copy()
    cov[:, 1:] += fit.cov[:, :-1] - fit.cross - np.swapaxes(fit.cross, 2, 3)
    trace = (step**2).sum(axis=2) + np.trace(cov, axis1=2, axis2=3)
    return trace, step.sum(axis=2) ** 2 + cov.sum(axis=(2, 3))


def prior_slopes(fit: Posterior, prior: WalkPrior) -> PriorSlopes:
    """The derivatives for a batch of variational fits."""
    n_rounds, c = fit.mean.shape[1:]
    trace, total = _step_moments(fit, prior)
    a, b = inverse_share_parts(prior.share, c)
    scaled = prior.rate * (a[:, None] * trace - b[:, None] * total)
    rho = prior.share
    spread = 1.0 + rho * (c - 1)
    slope_log_det = (c - 1) / (1.0 - rho) - (c - 1) / spread
    slope_a = (1.0 - rho) ** -2.0
    slope_b = ((1.0 - rho) * spread - rho * ((1.0 - rho) * (c - 1) - spread)) / ((1.0 - rho) * spread) ** 2
    quadratic = (prior.rate * (slope_a[:, None] * trace - slope_b[:, None] * total)).sum(axis=1)
    pair_square = (fit.pair_mean**2 + fit.pair_var) * prior.pair_sd[:, None, None] ** -2.0
    return PriorSlopes(
        initial_mean=precision_times(fit.mean - prior.mean, prior).sum(axis=(1, 2)),
        log_initial_sd=scaled[:, 0] - c,
        log_rw_sd=(scaled[:, 1:] - c).sum(axis=1),
        logit_share=0.5 * (n_rounds * slope_log_det - quadratic) * rho * (1.0 - rho),
        log_pair_sd=(pair_square - 1.0).sum(axis=(1, 2)),
    )

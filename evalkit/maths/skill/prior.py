"""The random walk that many skills take together: a shared general part and one part for each criterion.

theta_1 ~ N(mean, initial_sd^2 S),  theta_r - theta_{r-1} ~ N(0, rw_sd^2 * months between * S),
S = (1 - share) I + share 11'. Precision: T (x) S^-1 with T tridiagonal, so that fits never build a full matrix
(Gaussian Markov random field, Rue & Held 2005). Every array carries a leading batch axis B.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.errors import UnusableInputError

Floats = NDArray[np.float64]

# Variances below this are held here: a walk that does not move, or two rounds of the same day, stay invertible.
LEAST_VARIANCE = 1e-8


@dataclass(frozen=True, slots=True)
class WalkPrior:
    """Prior of a batch of fits: B fits, R rounds, C criteria, P shared effects."""

    mean: Floats
    """Prior mean of every skill, (B, R, C)."""
    rate: Floats
    """Precisions of the steps of the walk, (B, R): of the first state, then of each difference."""
    share: Floats
    """Share of variance that is common to all criteria, (B,), in [0, 1)."""
    pair_sd: Floats
    """SD of the pair effect, (B,)."""
    effect_mean: Floats
    """Prior means of effects that are uncertain and common to the whole fit, (B, P)."""
    effect_sd: Floats
    """Their prior SDs, (B, P)."""

    @property
    def n_criteria(self) -> int:
        return int(self.mean.shape[2])


def walk_rates(months: Floats, initial_sd: Floats, rw_sd: Floats) -> Floats:
    """Step precisions (B, R) from the months of the rounds (B, R) and the SDs (B,)."""
    variance = np.empty_like(months)
    variance[:, 0] = initial_sd**2
    variance[:, 1:] = rw_sd[:, None] ** 2 * np.diff(months, axis=1)
    if np.any(np.diff(months, axis=1) < 0):
        raise UnusableInputError("Rounds are out of order: their months must not fall.")
    return np.asarray(1.0 / np.maximum(variance, LEAST_VARIANCE))


def inverse_share_parts(share: Floats, n_criteria: int) -> tuple[Floats, Floats]:
    """A and b, each (B,), of S^-1 = a I - b 11'."""
    a = 1.0 / (1.0 - share)
    return a, a * share / (1.0 - share + share * n_criteria)


def times_inverse_share(x: Floats, a: Floats, b: Floats) -> Floats:
    """S^-1 x for x (B, C, m), at the cost of a sum."""
    return np.asarray(a[:, None, None] * x - b[:, None, None] * x.sum(axis=1, keepdims=True))


def inverse_share(a: Floats, b: Floats, n_criteria: int) -> Floats:
    """S^-1 in full, (B, C, C)."""
    return np.asarray(a[:, None, None] * np.eye(n_criteria) - b[:, None, None])


def share_matrix(share: Floats, n_criteria: int) -> Floats:
    """S in full, (B, C, C)."""
    s = share[:, None, None]
    return np.asarray((1.0 - s) * np.eye(n_criteria) + s)


def walk_diagonal(rate: Floats) -> Floats:
    """Diagonal of T, (B, R); its off-diagonal is -rate[:, 1:]."""
    following = np.concatenate([rate[:, 1:], np.zeros_like(rate[:, :1])], axis=1)
    return np.asarray(rate + following)


def log_det_precision(prior: WalkPrior) -> Floats:
    """log|P| of the skills' prior precision, (B,)."""
    n_rounds, n_criteria = prior.mean.shape[1:]
    share = prior.share
    log_det_inverse_share = -(n_criteria - 1) * np.log1p(-share) - np.log1p(share * (n_criteria - 1))
    return np.asarray(n_criteria * np.log(prior.rate).sum(axis=1) + n_rounds * log_det_inverse_share)


def precision_times(x: Floats, prior: WalkPrior) -> Floats:
    """P x for x (B, R, C)."""
    a, b = inverse_share_parts(prior.share, prior.n_criteria)
    steps = np.concatenate([x[:, :1], np.diff(x, axis=1)], axis=1) * prior.rate[:, :, None]
    walked = steps.copy()
    walked[:, :-1] -= steps[:, 1:]
    return np.asarray(a[:, None, None] * walked - b[:, None, None] * walked.sum(axis=2, keepdims=True))


def dense_precision(prior: WalkPrior) -> Floats:
    """P in full, (B, R*C, R*C): for checks and for small fits."""
    n_batch, n_rounds, n_criteria = prior.mean.shape
    walk = np.zeros((n_batch, n_rounds, n_rounds))
    index = np.arange(n_rounds)
    walk[:, index, index] = walk_diagonal(prior.rate)
    walk[:, index[:-1], index[1:]] = walk[:, index[1:], index[:-1]] = -prior.rate[:, 1:]
    a, b = inverse_share_parts(prior.share, n_criteria)
    full = np.einsum("brs,bcd->brcsd", walk, inverse_share(a, b, n_criteria))
    return np.asarray(full.reshape(n_batch, n_rounds * n_criteria, n_rounds * n_criteria))

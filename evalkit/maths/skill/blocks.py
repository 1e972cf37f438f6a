"""Block elimination: solving, log-determinant and selected inverse for a bordered block-tridiagonal precision.

The precision has blocks H_rr (C x C) on the diagonal, -rate_{r+1} S^-1 beside it, and a border of P columns for the
shared effects. Costs are linear in the rounds (Rue, Martino & Chopin 2009, appendix; Takahashi et al. 1973 for the
selected inverse). Every array carries a leading batch axis B.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.skill.prior import WalkPrior, inverse_share_parts, times_inverse_share

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Eliminated:
    """The forward half of the elimination, kept for the way back."""

    inverse: Floats
    """M_r^-1, (B, R, C, C)."""
    carried: Floats
    """G_r = rate_{r+1} M_r^-1 S^-1, (B, R-1, C, C)."""
    border_solved: Floats
    """H^-1 times the border, (B, R, C, P)."""
    border_inverse: Floats
    """Inverse of the border's Schur complement, (B, P, P)."""
    border: Floats

    def log_det(self) -> Floats:
        """log|H| of the whole, (B,)."""
        total = -np.linalg.slogdet(self.inverse)[1].sum(axis=1)
        if self.border.shape[3]:
            total -= np.linalg.slogdet(self.border_inverse)[1]
        return np.asarray(total)


def symmetric(x: NDArray[np.floating[Any]]) -> Floats:
    """The symmetric part of each matrix: takes out what rounding put in."""
    return np.asarray(0.5 * (x + np.swapaxes(x, -1, -2)))


def eliminate(diagonal: Floats, border: Floats, corner: Floats, prior: WalkPrior) -> Eliminated:
    """Factor the precision. `diagonal` (B, R, C, C), `border` (B, R, C, P), `corner` (B, P, P)."""
    n_batch, n_rounds, n_criteria, _ = diagonal.shape
    a, b = inverse_share_parts(prior.share, n_criteria)
    inverse = np.empty_like(diagonal)
    carried = np.empty((n_batch, max(n_rounds - 1, 0), n_criteria, n_criteria))
    block = diagonal[:, 0]
    for r in range(n_rounds):
        inverse[:, r] = symmetric(np.linalg.inv(block))
        if r + 1 < n_rounds:
            rate = prior.rate[:, r + 1, None, None]
            left = rate * times_inverse_share(inverse[:, r], a, b)
            carried[:, r] = np.swapaxes(left, 1, 2)
            block = diagonal[:, r + 1] - symmetric(rate * times_inverse_share(carried[:, r], a, b))
    if border.shape[3] == 0:
        return Eliminated(inverse, carried, border, corner, border)
    solved = _solve_walk(inverse, carried, border)
    schur = symmetric(corner - np.einsum("brcp,brcq->bpq", border, solved))
    return Eliminated(inverse, carried, solved, symmetric(np.linalg.inv(schur)), border)


def _solve_walk(inverse: Floats, carried: Floats, right: Floats) -> Floats:
    """Solve without the border, for right-hand sides (B, R, C, m)."""
    n_rounds = inverse.shape[1]
    reduced = right.copy()
    for r in range(1, n_rounds):
        reduced[:, r] += np.swapaxes(carried[:, r - 1], 1, 2) @ reduced[:, r - 1]
    solution = inverse @ reduced
    for r in range(n_rounds - 2, -1, -1):
        solution[:, r] += carried[:, r] @ solution[:, r + 1]
    return solution


def solve(parts: Eliminated, right: Floats, right_effects: Floats) -> tuple[Floats, Floats]:
    """Solve for the skills (B, R, C) and the effects (B, P)."""
    plain = _solve_walk(parts.inverse, parts.carried, right[..., None])[..., 0]
    if right_effects.shape[1] == 0:
        return plain, right_effects
    remaining = right_effects - np.einsum("brcp,brc->bp", parts.border, plain)
    effects = np.einsum("bpq,bq->bp", parts.border_inverse, remaining)
    return plain - np.einsum("brcp,bp->brc", parts.border_solved, effects), effects


@dataclass(frozen=True, slots=True)
class SelectedInverse:
    """The blocks of the covariance that a fit needs."""

    cov: Floats
    """Covariance of the skills of one round, (B, R, C, C)."""
    cross: Floats
    """Covariance between the skills of a round and the next, (B, R-1, C, C)."""
    effect_cov: Floats
    """(B, P, P)."""
    skill_effect_cov: Floats
    """(B, R, C, P)."""


def selected_inverse(parts: Eliminated) -> SelectedInverse:
    """Covariance blocks from the factors, backwards from the last round."""
    cov = parts.inverse.copy()
    cross = np.empty_like(parts.carried)
    for r in range(cov.shape[1] - 2, -1, -1):
        cross[:, r] = parts.carried[:, r] @ cov[:, r + 1]
        cov[:, r] += symmetric(cross[:, r] @ np.swapaxes(parts.carried[:, r], 1, 2))
    if parts.border.shape[3] == 0:
        return SelectedInverse(cov, cross, parts.border_inverse, parts.border_solved)
    z = parts.border_solved
    spread = z @ parts.border_inverse[:, None]
    cov += spread @ np.swapaxes(z, 2, 3)
    cross += spread[:, :-1] @ np.swapaxes(z[:, 1:], 2, 3)
    return SelectedInverse(cov, cross, parts.border_inverse, -spread)

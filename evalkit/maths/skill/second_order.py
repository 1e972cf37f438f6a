"""The second-order correction of the Laplace approximation: mean and covariance nearer to the true posterior.

With A the design (eta = A x - offset), Sg the Laplace covariance, Q = A Sg A', v = diag Q and l3, l4 the third and
fourth derivatives of the cells at the mode (Tierney & Kadane 1986; Rue, Martino & Chopin 2009):

    mean = mode + 1/2 Sg A' (l3 v)
    cov  = Sg + Sg A' B A Sg,   B_ij = 1/2 l3_i l3_j Q_ij^2 + delta_ij [ 1/2 l4_i v_i + 1/2 l3_i (Q (l3 v))_i ]

It builds one square matrix over skills and pairs (never one over cells), so it is meant for one trainee at a time.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.ordinal import higher_derivatives
from evalkit.maths.skill.blocks import symmetric
from evalkit.maths.skill.posterior import Cells, Posterior, predictor
from evalkit.maths.skill.prior import WalkPrior, dense_precision

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Latent:
    """Positions of skills (R*C), shared effects (P) and pair effects (R*N) in one vector, and their covariance."""

    shape: tuple[int, int, int]
    n_effects: int
    cov: Floats

    @property
    def n_skills(self) -> int:
        return self.shape[0] * self.shape[2]

    @property
    def first_pair(self) -> int:
        return self.n_skills + self.n_effects


def dense_covariance(weight: Floats, effect: Floats, prior: WalkPrior) -> Floats:
    """Laplace covariance of (skills, effects, pairs) of one fit, in full; `weight` (R, N, C), `effect` (R, N, P)."""
    n_rounds, n_pairs, n_criteria = weight.shape
    n_effects = effect.shape[2]
    n_skills = n_rounds * n_criteria
    weight_sum = weight.sum(axis=2)
    precision = prior.pair_sd[0] ** -2.0 + weight_sum.ravel()
    loading = np.zeros((n_rounds, n_pairs, n_skills + n_effects))
    for r in range(n_rounds):
        loading[r, :, r * n_criteria : (r + 1) * n_criteria] = weight[r]
    loading[:, :, n_skills:] = weight_sum[..., None] * effect
    flat = loading.reshape(n_rounds * n_pairs, -1)
    reduced = np.zeros((n_skills + n_effects,) * 2)
    reduced[:n_skills, :n_skills] = dense_precision(prior)[0]
    index = np.arange(n_skills)
    reduced[index, index] += weight.sum(axis=1).ravel()
    if n_effects:
        crossing = np.einsum("rnc,rnp->rcp", weight, effect).reshape(n_skills, n_effects)
        reduced[:n_skills, n_skills:], reduced[n_skills:, :n_skills] = crossing, crossing.T
        own = np.einsum("rn,rnp,rnq->pq", weight_sum, effect, effect)
        reduced[n_skills:, n_skills:] = own + np.diag(prior.effect_sd[0] ** -2.0)
    reduced -= (flat / precision[:, None]).T @ flat
    inner = symmetric(np.linalg.inv(reduced))
    towards_pairs = -(inner @ flat.T) / precision
    pairs = -(flat @ towards_pairs) / precision[:, None] + np.diag(1.0 / precision)
    return np.block([[inner, towards_pairs], [towards_pairs.T, pairs]])


def _along_cells(rows: Floats, latent: _Latent, effect: Floats, n_rounds: int) -> Floats:
    """Turn covariances with latent values (m, n) into covariances with the cells of the first rounds (m, r, N, C)."""
    _, n_pairs, n_criteria = latent.shape
    skills = rows[:, : n_rounds * n_criteria].reshape(-1, n_rounds, 1, n_criteria)
    pairs = rows[:, latent.first_pair :][:, : n_rounds * n_pairs].reshape(-1, n_rounds, n_pairs)
    if latent.n_effects:
        shared = rows[:, latent.n_skills : latent.first_pair]
        pairs = pairs + np.einsum("mp,rnp->mrn", shared, effect[:n_rounds])
    return np.asarray(skills + pairs[..., None])


def _gather(cells: Floats, latent: _Latent, effect: Floats) -> Floats:
    """Sum values of the cells of the first rounds (m, r, N, C) onto the latent values they load on, (m, n)."""
    m, n_rounds, n_pairs, n_criteria = cells.shape
    per_pair = cells.sum(axis=3)
    onto = np.zeros((m, len(latent.cov)))
    onto[:, : n_rounds * n_criteria] = cells.sum(axis=2).reshape(m, -1)
    onto[:, latent.first_pair :][:, : n_rounds * n_pairs] = per_pair.reshape(m, -1)
    if latent.n_effects:
        onto[:, latent.n_skills : latent.first_pair] = np.einsum("mrn,rnp->mp", per_pair, effect[:n_rounds])
    return onto


def second_order(mode: Posterior, cells: Cells, prior: WalkPrior) -> Posterior:
    """Correct the Laplace posterior of ONE fit (a batch of one, `posterior(..., n_nodes=1)`)."""
    weight, effect = mode.weight[0], cells.effect[0]
    n_rounds, n_pairs, n_criteria = weight.shape
    latent = _Latent((n_rounds, n_pairs, n_criteria), effect.shape[2], dense_covariance(weight, effect, prior))
    third, fourth = (part[0] for part in higher_derivatives(predictor(mode.state, cells), cells.edges))
    v = mode.eta_var[0]
    pulled = _gather((third * v)[None], latent, effect)[0]
    shift = 0.5 * latent.cov @ pulled
    spread_pull = _along_cells((2.0 * shift)[None], latent, effect, n_rounds)[0]
    diagonal = 0.5 * fourth * v + 0.5 * third * spread_pull
    middle = np.zeros_like(latent.cov)
    for r in range(n_rounds):
        _add_half_of_round(middle, r, (third, diagonal), latent, effect)
    middle += middle.T
    outer = latent.cov[: latent.first_pair]
    extra = symmetric(outer @ middle @ outer.T)
    return _corrected(mode, latent, shift, latent.cov[: latent.first_pair, : latent.first_pair] + extra)


def _add_half_of_round(
    middle: Floats, r: int, derivatives: tuple[Floats, Floats], latent: _Latent, effect: Floats
) -> None:
    """Add to `middle` what round r and those before it give A'BA, in such a half that its transpose is the other."""
    third, diagonal = derivatives
    _, n_pairs, n_criteria = latent.shape
    skills = latent.cov[r * n_criteria : (r + 1) * n_criteria]
    start = latent.first_pair + r * n_pairs
    pairs = latent.cov[start : start + n_pairs]
    if latent.n_effects:
        pairs = pairs + effect[r] @ latent.cov[latent.n_skills : latent.first_pair]
    rows = (pairs[:, None, :] + skills[None]).reshape(n_pairs * n_criteria, -1)
    b = _along_cells(rows, latent, effect, r + 1)
    np.square(b, out=b)
    b *= third[: r + 1]
    b *= 0.5 * third[r].reshape(-1, 1, 1, 1)
    own = b.reshape(n_pairs, n_criteria, *b.shape[1:])
    i, c = np.meshgrid(np.arange(n_pairs), np.arange(n_criteria), indexing="ij")
    own[i, c, r, i, c] += diagonal[r]
    own[:, :, r] *= 0.5
    right = _gather(b, latent, effect).reshape(n_pairs, n_criteria, -1)
    per_pair = right.sum(axis=1)
    middle[r * n_criteria : (r + 1) * n_criteria] += right.sum(axis=0)
    middle[start : start + n_pairs] += per_pair
    if latent.n_effects:
        middle[latent.n_skills : latent.first_pair] += effect[r].T @ per_pair


def _corrected(mode: Posterior, latent: _Latent, shift: Floats, cov: Floats) -> Posterior:
    n_rounds, n_pairs, n_criteria = latent.shape
    n = latent.n_skills
    blocks = cov[:n, :n].reshape(n_rounds, n_criteria, n_rounds, n_criteria)
    index = np.arange(n_rounds)
    return replace(
        mode,
        mean=mode.mean + shift[:n].reshape(1, n_rounds, n_criteria),
        cov=blocks[index, :, index, :][None],
        cross=blocks[index[:-1], :, index[1:], :][None],
        effect_mean=mode.effect_mean + shift[n : latent.first_pair],
        effect_cov=cov[n:, n:][None],
        skill_effect_cov=cov[:n, n:].reshape(1, n_rounds, n_criteria, latent.n_effects),
        pair_mean=mode.pair_mean + shift[latent.first_pair :].reshape(1, n_rounds, n_pairs),
    )

"""Chances for the next ordinary pair: each criterion by itself, and all must-pass criteria of one pair together.

With one pair effect omega z for all criteria of a pair, and the required threshold at 0:

    pi_c(theta) = mean over z of sig(theta_c + omega z)
    pi_J(theta) = mean over z of prod_c sig(theta_c + omega z),   which is NOT the product of the pi_c
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, ndtr, ndtri

from evalkit.maths.ordinal import hermite_nodes
from evalkit.maths.skill.gaps import Mixture
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.prior import share_matrix

Floats = NDArray[np.float64]

_PAIR_NODES = 21
_WIDE_NODES = 41
# Digits below this no longer move a point.
_LEAST_DIGIT = 1e-12


@dataclass(frozen=True, slots=True)
class Chance:
    """What the next ordinary pair promises."""

    per_criterion: Floats
    """Chance that each criterion reaches the required level, (C,)."""
    per_criterion_lo80: Floats
    per_criterion_hi80: Floats
    joint: float
    """Chance that all must-pass criteria of one pair do."""
    joint_lo80: float
    joint_hi80: float
    prob_joint_at_least_target: float
    """How sure it is that the trainee's joint chance is at least the target."""


@lru_cache(maxsize=16)
def normal_draws(n_draws: int, n_dims: int) -> tuple[Floats, Floats]:
    """Uniforms (n,) and standard normals (n, d), evenly spread and the same at every call: scrambled Halton points.

    Every digit is permuted by itself (Owen 2017, A randomized Halton algorithm in R, arXiv:1706.02808). With the
    turned axes of `joint_draws` the chances err no more than with scrambled Sobol points, whose import takes longer
    than a fit.
    """
    rng, places = np.random.default_rng(1), np.arange(n_draws)
    points = np.stack([_halton(places, base, rng) for base in _primes(n_dims + 1)], axis=1)
    uniform, normal = points[:, 0].copy(), ndtri(points[:, 1:])
    uniform.flags.writeable = normal.flags.writeable = False
    return uniform, normal


def _halton(places: NDArray[np.int64], base: int, rng: np.random.Generator) -> Floats:
    """Each place's digits behind the point, the last first and permuted: between 0 and 1, never either."""
    points, left, worth = np.zeros(len(places)), places, 1.0
    while worth > _LEAST_DIGIT:
        worth /= base
        points += worth * rng.permutation(base)[left % base]
        left = left // base
    return points + 0.5 * worth


def _primes(n: int) -> list[int]:
    found: list[int] = []
    number = 2
    while len(found) < n:
        if all(number % prime for prime in found):
            found.append(number)
        number += 1
    return found


def joint_chance(skill: Floats, pair_sd: float) -> Floats:
    """pi_J for skills (..., m) of the must-pass criteria."""
    z, w = hermite_nodes(_PAIR_NODES)
    odds_against = np.moveaxis(np.exp(-np.asarray(skill, dtype=float)), -1, 0).copy()
    total = np.zeros(odds_against.shape[1:])
    for point, share in zip(z, w, strict=True):
        against = np.exp(-pair_sd * point)
        all_reach = np.full(total.shape, share)
        for odds in odds_against:
            all_reach = all_reach / (1.0 + against * odds)
        total = total + all_reach
    return np.asarray(total)


def single_chance(skill: Floats, pair_sd: float) -> Floats:
    """pi_c, elementwise."""
    return joint_chance(np.asarray(skill)[..., None], pair_sd)


@dataclass(frozen=True, slots=True)
class Ahead:
    """Skills at the time of the next pair: a mixture of Gaussians."""

    weight: Floats
    mean: Floats
    """(G, C)."""
    cov: Floats
    """(G, C, C)."""


def skills_ahead(seen: Seen, hyper: Hyper, mixture: Mixture) -> Ahead:
    """Skills `horizon_months` after the last round."""
    fit = mixture.fit
    mean, cov = fit.mean[:, -1].copy(), fit.cov[:, -1].copy()
    n_criteria = mean.shape[1]
    share = share_matrix(np.array([hyper.general_share]), n_criteria)[0]
    cov += hyper.rw_sd**2 * hyper.horizon_months * share
    mean += hyper.slope_mean * hyper.horizon_months
    if hyper.slope_sd > 0:
        months = seen.months[-1] - seen.months[0] + hyper.horizon_months
        mean += months * fit.effect_mean[:, -1:]
        across = months * fit.skill_effect_cov[:, -1, :, -1]
        cov += across[:, :, None] + across[:, None, :] + (months**2 * fit.effect_cov[:, -1, -1])[:, None, None]
    return Ahead(mixture.weight, mean, cov)


def joint_draws(ahead: Ahead, must_pass: tuple[int, ...], pair_sd: float, n_draws: int) -> Floats:
    """Draws of the joint chance, (n_draws,)."""
    index = np.array(must_pass)
    uniform, normal = normal_draws(n_draws, len(index))
    node = np.minimum(np.searchsorted(np.cumsum(ahead.weight), uniform), len(ahead.weight) - 1)
    root = _root(ahead.cov[:, index[:, None], index])
    skill = ahead.mean[:, index][node] + np.einsum("nij,nj->ni", root[node], normal)
    return joint_chance(skill, pair_sd)


def _root(cov: Floats) -> Floats:
    """Square roots of covariances (G, m, m) whose first axis is what all m have in common, where points lie evenest.

    A Cholesky root in axes turned by the reflection that takes the first onto the diagonal.
    """
    m = cov.shape[-1]
    across = np.full(m, -(m**-0.5))
    across[0] += 1.0
    length = float(across @ across)
    turn = np.eye(m) - (2.0 / length) * np.outer(across, across) if length > 0 else np.eye(m)
    return np.asarray(turn @ np.linalg.cholesky(turn @ cov @ turn))


def next_pair(ahead: Ahead, must_pass: tuple[int, ...], hyper: Hyper) -> Chance:
    """Chances for the next ordinary pair (difficulty 0, no fault tag, an average mentor)."""
    own = np.diagonal(ahead.cov, axis1=1, axis2=2)
    z, w = hermite_nodes(_WIDE_NODES)
    blurred = np.sqrt(own + hyper.pair_sd**2)
    per_node = sum(share * expit(ahead.mean + point * blurred) for point, share in zip(z, w, strict=True))
    low, high = (single_chance(_quantile(ahead, own, q), hyper.pair_sd) for q in (0.1, 0.9))
    joint = joint_draws(ahead, must_pass, hyper.pair_sd, hyper.draws) if must_pass else np.ones(1)
    lo80, hi80 = np.quantile(joint, (0.1, 0.9))
    return Chance(
        per_criterion=ahead.weight @ np.asarray(per_node),
        per_criterion_lo80=low,
        per_criterion_hi80=high,
        joint=float(joint.mean()),
        joint_lo80=float(lo80),
        joint_hi80=float(hi80),
        prob_joint_at_least_target=float((joint >= hyper.target).mean()),
    )


def _quantile(ahead: Ahead, own: Floats, q: float) -> Floats:
    """Quantile of each criterion's skill under the mixture, by bisection, (C,)."""
    sd = np.sqrt(own)
    if len(ahead.weight) == 1:
        return np.asarray(ahead.mean[0] + ndtri(q) * sd[0])
    low, high = (ahead.mean - 9 * sd).min(axis=0), (ahead.mean + 9 * sd).max(axis=0)
    for _ in range(50):
        middle = 0.5 * (low + high)
        below = ahead.weight @ ndtr((middle - ahead.mean) / sd) < q
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray(0.5 * (low + high))

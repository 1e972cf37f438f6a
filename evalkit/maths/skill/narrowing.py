"""What pairs that are not yet sent would tell of a trainee: how far they should narrow the must-pass chances.

A pair of difficulty d (steps from ordinary) is judged on some criteria. With everything known now as a Gaussian in
x = (skills, phi), phi the doubt about the worth of a step of difficulty, its cells have predictors

    eta_c = theta_c + u - (beta + phi) d,   u ~ N(0, pair_sd^2) common to the pair,

and each brings the expected information w_c = E[ sum_y p_y (-l''_y) ] of an ordered level (McCullagh 1980). With the
pair effect eliminated, one pair adds to the precision of x

    A = H' (diag(w) - w w' / (1 / pair_sd^2 + sum w)) H,   row c of H: 1 at theta_c, -d at phi,

and a box adds the sum over its pairs (Chaloner & Verdinelli 1995: the usual Gaussian stand-in for what is expected of
observations not yet made). Fault tags and severities are taken as average. Nothing is narrowed below what is seen: a
criterion that a pair is not judged on is learnt only through what the skills share.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from evalkit.maths.ordinal import cell_derivatives, hermite_nodes
from evalkit.maths.skill.chance import skills_ahead
from evalkit.maths.skill.gaps import Mixture
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen

Floats = NDArray[np.float64]

_NODES = 15


@dataclass(frozen=True, slots=True)
class PairKind:
    """What matters here of a pair not yet sent: steps from ordinary, and which criteria it is judged on (C,)."""

    difficulty: float
    is_judged: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is known at the time of the next box: one Gaussian for each way the thresholds may lie."""

    weight: Floats
    thresholds: Floats
    """(G, K-1)."""
    mean: Floats
    """Skills, (G, C)."""
    cov: Floats
    """Skills and, last, the worth of a step of difficulty less its mean: (G, C+1, C+1)."""
    step: Floats
    """The worth of a step of difficulty, (G,)."""
    pair_sd: float

    def whole(self) -> Floats:
        """Covariance of skills and step over all Gaussians together, (C+1, C+1)."""
        mean = np.concatenate([self.mean, self.step[:, None]], axis=1)
        away = mean - self.weight @ mean
        within = np.einsum("g,gij->ij", self.weight, self.cov)
        return np.asarray(within + np.einsum("g,gi,gj->ij", self.weight, away, away))

    def predictor(self, difficulty: float) -> tuple[Floats, Floats]:
        """Mean and variance of the predictor of each criterion on a pair of that difficulty, (G, C) each."""
        own = np.diagonal(self.cov, axis1=1, axis2=2)
        var = own[:, :-1] + difficulty**2 * own[:, -1:] - 2 * difficulty * self.cov[:, :-1, -1] + self.pair_sd**2
        return self.mean - difficulty * self.step[:, None], var


def outlook_of(seen: Seen, hyper: Hyper, mixture: Mixture) -> Outlook:
    """The posterior `hyper.horizon_months` after the last round."""
    ahead, fit = skills_ahead(seen, hyper, mixture), mixture.fit
    n, n_criteria = ahead.mean.shape
    cov = np.zeros((n, n_criteria + 1, n_criteria + 1))
    cov[:, :-1, :-1] = ahead.cov
    step = np.full(n, hyper.difficulty_effect)
    if hyper.difficulty_effect_sd > 0:
        cov[:, -1, -1] = fit.effect_cov[:, 0, 0]
        across = fit.skill_effect_cov[:, -1, :, 0].copy()
        if hyper.slope_sd > 0:
            months = seen.months[-1] - seen.months[0] + hyper.horizon_months
            across += months * fit.effect_cov[:, 0, -1][:, None]
        cov[:, :-1, -1] = cov[:, -1, :-1] = across
        step = step + fit.effect_mean[:, 0]
    return Outlook(ahead.weight, mixture.thresholds, ahead.mean, cov, step, hyper.pair_sd)


def chances_on(outlook: Outlook, difficulty: float) -> Floats:
    """Chance that each criterion reaches the required level on a pair of that difficulty, (C,)."""
    mean, var = outlook.predictor(difficulty)
    return np.asarray(outlook.weight @ _averaged(expit, mean, var))


def chance_sd(outlook: Outlook, cov: Floats) -> Floats:
    """SD of each criterion's chance on an ordinary pair, (C,): that of the skill times the mean slope of the chance.

    `cov` is that of skills and step, now or after a box.
    """
    slope = outlook.weight @ _averaged(_slope, *outlook.predictor(0.0))
    return np.asarray(slope * np.sqrt(np.diagonal(cov)[:-1]))


def _slope(eta: Floats) -> Floats:
    return np.asarray(expit(eta) * expit(-eta))


def information_of(outlook: Outlook, kind: PairKind) -> Floats:
    """What one pair of that kind adds to the precision of skills and step, (C+1, C+1)."""
    mean, var = outlook.predictor(kind.difficulty)
    by_node = _averaged(lambda eta: _cell_information(eta, outlook.thresholds), mean, var)
    w = np.where(kind.is_judged, outlook.weight @ by_node, 0.0)
    loading = np.concatenate([np.eye(len(w)), np.full((len(w), 1), -kind.difficulty)], axis=1)
    middle = np.diag(w) - np.outer(w, w) / (outlook.pair_sd**-2.0 + w.sum())
    return np.asarray(loading.T @ middle @ loading)


def _cell_information(eta: Floats, thresholds: Floats) -> Floats:
    """Fisher information of one ordered level about its predictor; `eta` (G, C), `thresholds` (G, K-1)."""
    end = np.full((len(thresholds), 1), np.inf)
    edges = np.concatenate([-end, thresholds, end], axis=1)
    total = np.zeros_like(eta)
    for k in range(edges.shape[1] - 1):
        cell = cell_derivatives(eta, edges[:, k, None], edges[:, k + 1, None])
        total -= np.exp(cell.loglik) * cell.second
    return total


def after(cov: Floats, information: Floats) -> Floats:
    """The covariance that is left when so much precision is added; `cov` may be singular."""
    return np.asarray(np.linalg.solve(np.eye(len(cov)) + cov @ information, cov))


def learnt_each(outlook: Outlook, kind: PairKind, n_pairs: int) -> Floats:
    """Precision of each skill that one of `n_pairs` pairs of that kind brings on average, (C,).

    Exact for a box of one kind; summed over a mixed box it leaves out only what the kinds teach about each other. The
    first pairs bring more than the last, because skills share what they learn: so the size of the box matters.
    """
    cov = outlook.whole()
    left = after(cov, n_pairs * information_of(outlook, kind))
    now, then = np.diagonal(cov)[:-1], np.diagonal(left)[:-1]
    return np.asarray((1.0 / then - 1.0 / now) / n_pairs)


def narrowed(outlook: Outlook, box: Sequence[PairKind]) -> tuple[Floats, Floats]:
    """Doubt about each criterion's chance on an ordinary pair, now and as expected after a box: SDs, (C,) each."""
    cov = outlook.whole()
    kinds = set(box)
    information = sum((box.count(kind) * information_of(outlook, kind) for kind in kinds), np.zeros_like(cov))
    return chance_sd(outlook, cov), chance_sd(outlook, after(cov, information))


def _averaged(function: Callable[[Floats], Floats], mean: Floats, var: Floats) -> Floats:
    """Mean of a function over normal predictors, elementwise."""
    z, w = hermite_nodes(_NODES)
    spread = np.sqrt(var)
    return np.asarray(sum(share * function(mean + point * spread) for point, share in zip(z, w, strict=True)))

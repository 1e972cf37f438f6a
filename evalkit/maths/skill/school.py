"""Hyper-parameters learnt from a whole school: empirical Bayes with weakly informative priors, and standard errors.

Maximises the sum of the trainees' log marginal likelihoods plus the log prior of the hyper-parameters over: mean of
the first skill for each home rater's trainees, SDs, general share, difficulty, tag effects, gaps between thresholds and
severities. Gradients come from the fits themselves (moments); the maximum is found by climbing and the standard
errors from the differenced gradient. Giving each home rater's trainees their own mean keeps weak trainees who are sent
to a severe rater from hiding that rater's severity.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from evalkit.maths.errors import NotSettledError, UnusableInputError
from evalkit.maths.ordinal import cell_bounds, threshold_slopes, thresholds_from_gaps
from evalkit.maths.skill.climbing import climb, covariance_at
from evalkit.maths.skill.gaps import gap_jacobian, threshold_gradient
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.many import BULK_NODES
from evalkit.maths.skill.mentor_graph import connected_parts
from evalkit.maths.skill.model import cells_of, prior_of
from evalkit.maths.skill.moments import prior_slopes
from evalkit.maths.skill.posterior import Posterior, Start, posterior, predictor
from evalkit.maths.skill.school_data import School, SchoolGroup, Unknown, school_of

Floats = NDArray[np.float64]

LEAST_TRAINEES = 5
_TOLERANCE = 1e-5
_PROBE = 0.02
_MOST_STEPS = 200
# In log posterior: the estimate then lies within 0.05 standard errors of the top.
_ENOUGH = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class LearntHyper:
    """What a school has taught about the hyper-parameters."""

    hyper: Hyper
    """For one trainee's decision: gaps and difficulty carry the doubt that is left."""
    plugged: Hyper
    """For many trainees at once: thresholds and difficulty taken as known."""
    unknowns: tuple[Unknown, ...]
    estimate: Floats
    """On the scale of learning, in the order of `unknowns`."""
    cov: Floats
    home_means: dict[str, float]
    """Mean of the first skill among the trainees of each home rater."""
    parts: tuple[frozenset[str], ...]
    """Connected parts of the graph rater - trainee."""
    log_posterior: float

    @property
    def se(self) -> Floats:
        """Standard errors, on the scale of learning."""
        return np.asarray(np.sqrt(np.diagonal(self.cov)))

    def severity_contrast(self, one: str, other: str) -> tuple[float, float] | None:
        """Severity of `one` less that of `other` with its standard error; None where nothing ties them."""
        if not any({one, other} <= part for part in self.parts):
            return None
        keys = [unknown.key if unknown.name == "severity" else None for unknown in self.unknowns]
        i, j = keys.index(one), keys.index(other)
        variance = self.cov[i, i] + self.cov[j, j] - 2 * self.cov[i, j]
        return float(self.estimate[i] - self.estimate[j]), float(np.sqrt(max(variance, 0.0)))


def _hyper_at(school: School, phi: Floats) -> Hyper:
    """Hyper-parameters without homes, tags and severities, which the offsets and means carry."""

    def at(name: str) -> float:
        return float(phi[school.where(name)][0])

    gaps = np.exp(phi[school.where("log_gap")])
    return replace(
        school.hyper,
        thresholds=tuple(thresholds_from_gaps(gaps, school.required_level).tolist()),
        initial_sd=float(np.exp(at("log_initial_sd"))),
        rw_sd=float(np.exp(at("log_rw_sd"))),
        general_share=float(np.clip(expit(at("logit_share")), 1e-6, 1 - 1e-6)),
        pair_sd=float(np.exp(at("log_pair_sd"))),
        difficulty_effect=at("difficulty_effect"),
        difficulty_effect_sd=0.0,
        slope_sd=0.0,
    )


def _tag_table(school: School, phi: Floats) -> Floats:
    table = np.zeros((len(school.tag_names), len(school.criteria)))
    for (tag, criterion), effect in zip(school.tag_cells, phi[school.where("tag_effect")], strict=True):
        table[tag, criterion] = effect
    return table


@dataclass(frozen=True, slots=True, eq=False)
class _Value:
    """Log marginal likelihood of each trainee of a group and its gradient."""

    value: Floats
    """(B,)."""
    gradient: Floats
    """(B, p)."""
    start: Start


def _group_value(school: School, group: SchoolGroup, phi: Floats, hyper: Hyper, start: Start | None) -> _Value:
    severity = np.append(phi[school.where("severity")], 0.0)
    per_pair = hyper.difficulty_effect * group.difficulty + severity[group.rater]
    batch = replace(group.batch, offset=per_pair[..., None] + group.tags @ _tag_table(school, phi))
    thresholds = np.tile(np.array(hyper.thresholds), (len(group.home), 1))
    cells, prior = cells_of(batch, thresholds), prior_of(batch, hyper)
    means = phi[school.where("initial_mean")][group.home]
    prior = replace(prior, mean=prior.mean - hyper.initial_mean + means[:, None, None])
    try:
        fit = posterior(cells, prior, n_nodes=BULK_NODES, tolerance=_TOLERANCE, start=start)
    except NotSettledError:
        # After a long step of the search the last fit is a poor place to begin.
        fit = posterior(cells, prior, n_nodes=BULK_NODES, tolerance=_TOLERANCE)
    gradient = _cell_gradient(school, group, fit)
    slopes = prior_slopes(fit, prior)
    home = np.arange(len(school.homes)) == group.home[:, None]
    gradient[:, school.where("initial_mean")] = slopes.initial_mean[:, None] * home
    for name in ("log_initial_sd", "log_rw_sd", "logit_share", "log_pair_sd"):
        gradient[:, school.where(name)] = getattr(slopes, name)[:, None]
    bounds = cell_bounds(batch.level, thresholds)
    by_cell = threshold_slopes(predictor(fit.state, cells), fit.eta_var, *bounds, BULK_NODES)
    by_threshold = threshold_gradient(batch.level, by_cell, school.n_levels)
    by_gap = by_threshold @ gap_jacobian(school.n_levels, school.required_level)
    gradient[:, school.where("log_gap")] = by_gap * np.exp(phi[school.where("log_gap")])
    return _Value(fit.log_marginal, gradient, Start(fit.state, fit.eta_var))


def _cell_gradient(school: School, group: SchoolGroup, fit: Posterior) -> Floats:
    """The part of the gradient that runs through the cells' offsets, (B, p)."""
    gradient = np.zeros((len(group.home), len(school.unknowns)))
    by_pair = fit.slope.sum(axis=3)
    gradient[:, school.where("difficulty_effect")] = -(group.difficulty * by_pair).sum(axis=(1, 2))[:, None]
    for i in range(len(school.raters)):
        gradient[:, school.where("severity").start + i] = -np.where(group.rater == i, by_pair, 0.0).sum(axis=(1, 2))
    by_tag = -np.einsum("brng,brnc->bgc", group.tags, fit.slope)
    for i, (tag, criterion) in enumerate(school.tag_cells):
        gradient[:, school.where("tag_effect").start + i] = by_tag[:, tag, criterion]
    return gradient


class _Objective:
    """The log posterior of the hyper-parameters; remembers where the fits ended, to begin there the next time."""

    def __init__(self, school: School, on_progress: Callable[[int], None] | None) -> None:
        self._school = school
        self._starts: list[Start | None] = [None] * len(school.groups)
        self._on_progress = on_progress
        self.prior_mean = np.array([unknown.prior_mean for unknown in school.unknowns])
        self.prior_sd = np.array([unknown.prior_sd for unknown in school.unknowns])
        self.calls = 0

    def by_trainee(self, phi: Floats) -> tuple[float, Floats]:
        """Log marginal likelihood of the school and the gradient of each trainee's, (n, p)."""
        hyper = _hyper_at(self._school, phi)
        value, gradients = 0.0, []
        for i, group in enumerate(self._school.groups):
            part = _group_value(self._school, group, phi, hyper, self._starts[i])
            self._starts[i] = part.start
            value += float(part.value.sum())
            gradients.append(part.gradient)
        self.calls += 1
        if self._on_progress:
            self._on_progress(self.calls)
        return value, np.concatenate(gradients)

    def __call__(self, phi: Floats) -> tuple[float, Floats]:
        """Log posterior and its gradient."""
        value, gradients = self.by_trainee(phi)
        away = (phi - self.prior_mean) / self.prior_sd
        return value - 0.5 * float(away @ away), gradients.sum(axis=0) - away / self.prior_sd

    def rough_variance(self, phi: Floats) -> Floats:
        """About the variance of each estimate by itself, from the spread of the trainees' gradients."""
        _, gradients = self.by_trainee(phi)
        return np.asarray(1.0 / (len(gradients) * gradients.var(axis=0) + self.prior_sd**-2.0))


def learn_hyper(
    trainees: Sequence[Seen], hyper: Hyper | None = None, *, on_progress: Callable[[int], None] | None = None
) -> LearntHyper:
    """Learn the hyper-parameters from at least LEAST_TRAINEES trainees; `hyper` gives the centres of their priors.

    `on_progress` hears how many passes over the school are done. Raises NotSettledError when the search does not end.
    """
    if len(trainees) < LEAST_TRAINEES:
        raise UnusableInputError(
            f"Learning the school's numbers takes at least {LEAST_TRAINEES} trainees, not {len(trainees)}; "
            "with fewer, the defaults and each trainee's own gaps are used."
        )
    school = school_of(trainees, hyper or Hyper())
    objective = _Objective(school, on_progress)
    begin = objective.prior_mean
    top = climb(
        objective,
        begin,
        np.diag(objective.rough_variance(begin)),
        reach=objective.prior_sd,
        enough=_ENOUGH,
        most_steps=_MOST_STEPS,
        what="Learning the school's numbers",
    )
    return _learnt(school, trainees, top.point, covariance_at(objective, top.point, probe=_PROBE), top.value)


def _learnt(school: School, trainees: Sequence[Seen], phi: Floats, cov: Floats, log_posterior: float) -> LearntHyper:
    plugged = _hyper_at(school, phi)
    means = phi[school.where("initial_mean")]
    severity = dict(zip(school.raters, phi[school.where("severity")].tolist(), strict=True))
    tag_effect = {tag: dict(effects) for tag, effects in school.hyper.tag_effect.items()}
    for (tag, criterion), effect in zip(school.tag_cells, phi[school.where("tag_effect")], strict=True):
        tag_effect[school.tag_names[tag]][school.criteria[criterion]] = float(effect)
    homes = np.concatenate([group.home for group in school.groups])
    plugged = replace(
        plugged,
        initial_mean=float(means[homes].mean()),
        severity=severity,
        tag_effect=tag_effect,
        slope_sd=school.hyper.slope_sd,
    )
    se = np.sqrt(np.diagonal(cov))
    doubtful = replace(
        plugged,
        thresholds=None,
        gap_median=tuple(np.exp(phi[school.where("log_gap")]).tolist()) or plugged.gap_median,
        gap_log_sd=tuple(se[school.where("log_gap")].tolist()) or plugged.gap_log_sd,
        difficulty_effect_sd=float(se[school.where("difficulty_effect")][0]),
    )
    parts = connected_parts(seen.mentors for seen in trainees)
    home_means = dict(zip(school.homes, means.tolist(), strict=True))
    return LearntHyper(doubtful, plugged, school.unknowns, phi, cov, home_means, parts, log_posterior)

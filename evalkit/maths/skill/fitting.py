"""A hidden skill for each criterion, moving through time, seen only through ordered levels of numbered pairs.

The model: predictor = skill of the round and criterion + effect of the pair - difficulty, tags and severity; a level
reaches k with chance sig(predictor - kappa_k), kappa of the required level 0. So skill 0 means: an ordinary pair has
an even chance to reach the required level. Skills walk together (skill_prior), the posterior is a Gaussian found by
block elimination (skill_posterior, skill_second_order), gaps between thresholds are integrated out (skill_gaps).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.skill.chance import Chance, next_pair, skills_ahead
from evalkit.maths.skill.gaps import LogGaps, Mixture, learn_gaps, learn_gaps_together, single, without_light_nodes
from evalkit.maths.skill.hyper import Hyper, Method, read_hyper
from evalkit.maths.skill.input import Seen, read_observations
from evalkit.maths.skill.judgement import Judgement, judge_self
from evalkit.maths.skill.model import batch_of, cells_of, fitting_thresholds, prior_of
from evalkit.maths.skill.posterior import GVB_NODES, posterior
from evalkit.maths.skill.second_order import second_order

Floats = NDArray[np.float64]

_TOGETHER = 8
"""Histories in one pass: the shorter ones are filled up to the longest, so more would be work for nothing."""
PRIOR_MOVE = 1.0
"""By how many logits the initial mean is moved, either way, to see whether the answer hangs on it."""


@dataclass(frozen=True, slots=True)
class SkillPath:
    """Skill of one trainee over the rounds, and what it promises."""

    mean: Floats
    """(R, C), logits."""
    sd: Floats
    chance: Chance
    mixture: Mixture
    """The posterior itself."""


def skill_mixture(seen: Seen, hyper: Hyper, start: LogGaps | None = None) -> Mixture:
    """The posterior: thresholds as given, or the gaps between them learnt and integrated out.

    `start`, the gaps of a similar fit, only saves time.
    """
    if hyper.thresholds is None:
        return without_light_nodes(learn_gaps(seen, hyper, start=start))
    thresholds, batch = fitting_thresholds(hyper.thresholds, seen.n_levels), batch_of([seen], hyper)
    cells, prior = cells_of(batch, thresholds), prior_of(batch, hyper)
    if hyper.method is Method.LAPLACE2:
        return single(second_order(posterior(cells, prior, n_nodes=1), cells, prior), thresholds)
    return single(posterior(cells, prior, n_nodes=GVB_NODES), thresholds)


def skill_mixtures(group: Sequence[Seen], hypers: Sequence[Hyper]) -> list[Mixture]:
    """The posteriors of several histories on one ladder, each with its own `hyper`; learning their gaps together.

    They are the same as one by one, to the accuracy of a fit, in about half the time.
    """
    if any(hyper.thresholds is not None for hyper in hypers):
        return [skill_mixture(seen, hyper) for seen, hyper in zip(group, hypers, strict=True)]
    chunks = [slice(at, at + _TOGETHER) for at in range(0, len(group), _TOGETHER)]
    found = [mixture for chunk in chunks for mixture in learn_gaps_together(group[chunk], hypers[chunk])]
    return [without_light_nodes(mixture) for mixture in found]


def skill_path(seen: Seen, hyper: Hyper, start: LogGaps | None = None) -> SkillPath:
    """Skill over the rounds with its doubt, and the chances of the next ordinary pair."""
    return path_of(seen, hyper, skill_mixture(seen, hyper, start))


def path_of(seen: Seen, hyper: Hyper, mixture: Mixture) -> SkillPath:
    """The same from a posterior at hand."""
    mean, sd = _with_trend(seen, hyper, mixture)
    return SkillPath(mean, sd, next_pair(skills_ahead(seen, hyper, mixture), seen.must_pass, hyper), mixture)


def _with_trend(seen: Seen, hyper: Hyper, mixture: Mixture) -> tuple[Floats, Floats]:
    """Moments of the skill itself: where a trend is in doubt, its part is an effect and is added here."""
    if hyper.slope_sd == 0:
        return mixture.skill_moments()
    fit = mixture.fit
    since = (seen.months - seen.months[0])[None, :, None]
    mean = fit.mean + since * fit.effect_mean[:, None, -1:]
    own = np.diagonal(fit.cov, axis1=2, axis2=3) + 2 * since * fit.skill_effect_cov[..., -1]
    own = own + since**2 * fit.effect_cov[:, None, None, -1, -1]
    middle = np.einsum("g,grc->rc", mixture.weight, mean)
    return middle, np.sqrt(np.einsum("g,grc->rc", mixture.weight, own + (mean - middle) ** 2))


def fit(observations: Mapping[str, Any], hyper: Mapping[str, Any]) -> dict[str, Any]:
    """Fit one trainee from two JSON objects and answer with a JSON object.

    `mean` and `sd` are rounds x criteria in logits; `next_pair` holds chances, with 80 % intervals; `self_bias` is
    None when no self level was given; `evidence` says what the numbers rest on and `prior_check` how far they move
    when the initial mean is moved by one logit either way. Raises UnusableInputError or NotSettledError.
    """
    seen, known = read_observations(observations), read_hyper(hyper)
    path = skill_path(seen, known)
    return {
        "rounds": list(seen.round_names),
        "criteria": list(seen.criteria),
        "mean": path.mean.tolist(),
        "sd": path.sd.tolist(),
        "next_pair": _next_pair_answer(seen, path.chance),
        "self_bias": _bias_answer(judge_self(seen, known)),
        "thresholds": _threshold_answer(known, path.mixture),
        "log_marginal": path.mixture.log_marginal,
        "prior_check": prior_check(seen, known, path.mixture.log_gap),
        "evidence": evidence(seen),
    }


def _next_pair_answer(seen: Seen, chance: Chance) -> dict[str, Any]:
    joint: dict[str, Any] = {"joint": None, "joint_lo80": None, "joint_hi80": None, "prob_joint_at_least_target": None}
    if seen.must_pass:
        joint = {name: getattr(chance, name) for name in joint}
    return {
        "per_criterion": chance.per_criterion.tolist(),
        "per_criterion_lo80": chance.per_criterion_lo80.tolist(),
        "per_criterion_hi80": chance.per_criterion_hi80.tolist(),
        **joint,
    }


def _bias_answer(judgement: Judgement | None) -> dict[str, Any] | None:
    if judgement is None:
        return None
    drift = {"mean": judgement.drift_mean, "sd": judgement.drift_sd} if judgement.mean.shape[0] > 1 else None
    return {
        "mean": judgement.mean.tolist(),
        "sd": judgement.sd.tolist(),
        "cells": judgement.n_cells,
        "drift": drift,
    }


def _threshold_answer(hyper: Hyper, mixture: Mixture) -> dict[str, Any]:
    learnt = mixture.log_gap
    return {
        "given": hyper.thresholds is not None,
        "mean": (mixture.weight @ mixture.thresholds).tolist(),
        "gap_median": None if learnt is None else np.exp(learnt.mean).tolist(),
        "gap_log_sd": None if learnt is None else np.sqrt(np.diagonal(learnt.cov)).tolist(),
    }


def prior_check(seen: Seen, hyper: Hyper, start: LogGaps | None = None) -> dict[str, Any] | None:
    """The joint chance with the initial mean one logit lower and one higher; None without must-pass criteria."""
    if not seen.must_pass:
        return None
    moved = [skill_path(seen, hyper.moved(initial_mean=move), start).chance for move in (-PRIOR_MOVE, PRIOR_MOVE)]
    return {
        "initial_mean_moved_by": [-PRIOR_MOVE, PRIOR_MOVE],
        "joint": [chance.joint for chance in moved],
        "prob_joint_at_least_target": [chance.prob_joint_at_least_target for chance in moved],
    }


def evidence(seen: Seen) -> dict[str, Any]:
    """Plain counts of what was seen, and what was never seen."""
    scored = seen.level != NOT_SEEN
    per_criterion = scored.sum(axis=(0, 1))
    used = np.bincount(seen.level[scored].astype(int), minlength=seen.n_levels)
    n_cells = int(scored.sum())
    return {
        "pairs": int(scored.any(axis=2).sum()),
        "cells": n_cells,
        "share_missing": 1.0 - n_cells / max(int(seen.present.sum()) * len(seen.criteria), 1),
        "cells_per_criterion": dict(zip(seen.criteria, per_criterion.tolist(), strict=True)),
        "criteria_never_scored": [name for name, n in zip(seen.criteria, per_criterion, strict=True) if n == 0],
        "levels_never_used": [k for k, n in enumerate(used) if n == 0],
        "rounds_without_levels": [
            name for name, any_seen in zip(seen.round_names, scored.any(axis=(1, 2)), strict=True) if not any_seen
        ],
    }

"""Several histories fitted in one pass are what they are one by one."""

from __future__ import annotations

import numpy as np
import pytest

from evalkit.maths.simulate import Setting, simulate_trainee
from evalkit.maths.skill import path_of, skill_mixture, skill_mixtures
from evalkit.maths.skill.hyper import Hyper

HYPER = Hyper(draws=512)


def simulated(seed: int, **setting: object):
    return simulate_trainee(np.random.default_rng(seed), Setting(n_pairs=6, n_criteria=5, **setting), HYPER).seen


@pytest.mark.parametrize(("n_levels", "gaps"), [(4, (1.8, 0.9)), (3, (1.2,)), (2, ()), (6, (1.0, 1.5, 0.8, 1.2))])
def test_round_ends_and_moved_starts_together_or_alone(n_levels, gaps):
    seen = simulated(n_levels, n_rounds=5, n_levels=n_levels, required_level=n_levels // 2, gaps=gaps)
    group = [*(seen.through(n) for n in range(1, 6)), seen, seen, seen]
    hypers = [HYPER] * 5 + [
        HYPER.moved(initial_mean=-1),
        HYPER.moved(initial_mean=1),
        HYPER.moved(difficulty_effect=0.2),
    ]
    for one, hyper, together in zip(group, hypers, skill_mixtures(group, hypers), strict=True):
        alone = skill_mixture(one, hyper)
        mean, sd = together.skill_moments()
        assert mean.shape == (one.n_rounds, 5)
        assert mean == pytest.approx(alone.skill_moments()[0], abs=2e-3)
        assert sd == pytest.approx(alone.skill_moments()[1], abs=2e-3)
        assert together.log_marginal == pytest.approx(alone.log_marginal, abs=1e-3)
        ours, theirs = (path_of(one, hyper, fit).chance for fit in (together, alone))
        assert ours.joint == pytest.approx(theirs.joint, abs=1e-3)
        assert ours.per_criterion == pytest.approx(theirs.per_criterion, abs=1e-3)


def test_more_than_fit_into_one_pass_and_none_at_all():
    seen = simulated(7, n_rounds=11)
    group = [seen.through(n) for n in range(1, 12)]
    assert [fit.fit.mean.shape[1] for fit in skill_mixtures(group, [HYPER] * 11)] == list(range(1, 12))
    assert skill_mixtures([], []) == []


def test_given_thresholds_are_fitted_as_given():
    hyper = Hyper(thresholds=(-1.8, 0.0, 1.8), draws=512)
    seen = simulated(3, n_rounds=2)
    (found,) = skill_mixtures([seen], [hyper])
    assert found.log_gap is None
    assert found.skill_moments()[0] == pytest.approx(skill_mixture(seen, hyper).skill_moments()[0])


def test_a_trend_in_doubt_is_carried_too():
    seen, hyper = simulated(5, n_rounds=4), Hyper(slope_sd=0.3, slope_mean=0.1, draws=512)
    for one, found in zip(
        (seen, seen.through(2)), skill_mixtures([seen, seen.through(2)], [hyper, hyper]), strict=True
    ):
        alone = path_of(one, hyper, skill_mixture(one, hyper))
        assert path_of(one, hyper, found).mean == pytest.approx(alone.mean, abs=2e-3)
        assert path_of(one, hyper, found).chance.joint == pytest.approx(alone.chance.joint, abs=1e-3)

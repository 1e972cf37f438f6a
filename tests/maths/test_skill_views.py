"""Views of a fitted skill: bands, steps and what all criteria need together, against plain arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from evalkit.maths.errors import UnusableInputError
from evalkit.maths.simulate import Course, Setting, simulate_trainee
from evalkit.maths.skill import skill_path
from evalkit.maths.skill.chance import joint_chance, single_chance
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.views import Z80, as_lists, chance_bands, chance_each_needs, round_steps

HYPER = Hyper()
SETTING = Setting(n_rounds=4, n_pairs=8, n_criteria=5, n_must_pass=3)
SEEN = simulate_trainee(np.random.default_rng(7), SETTING, HYPER, course=Course.RELAPSE).seen
PATH = skill_path(SEEN, HYPER)


def test_bands_are_the_skills_carried_over():
    middle, low, high = (np.array(part) for part in chance_bands(PATH, HYPER.pair_sd))
    assert middle.shape == PATH.mean.shape
    assert middle == pytest.approx(single_chance(PATH.mean, HYPER.pair_sd))
    assert np.all((low < middle) & (middle < high))
    assert low == pytest.approx(single_chance(PATH.mean - Z80 * PATH.sd, HYPER.pair_sd))


def test_steps_are_the_differences_of_the_means_and_their_spread_that_of_draws():
    """Against draws from the joint Gaussian of two rounds, node by node of the mixture."""
    must = (0, 1, 2)
    steps = round_steps(PATH.mixture, must)
    assert [mean for mean, _ in steps] == pytest.approx(np.diff(PATH.mean[:, :3].mean(axis=1)))
    rng, fit, n = np.random.default_rng(1), PATH.mixture.fit, 40_000
    c = PATH.mean.shape[1]
    for r, (mean, sd) in enumerate(steps):
        draws = []
        for g, share in enumerate(PATH.mixture.weight):
            cov = np.block([[fit.cov[g, r], fit.cross[g, r]], [fit.cross[g, r].T, fit.cov[g, r + 1]]])
            both = np.concatenate([fit.mean[g, r], fit.mean[g, r + 1]])
            sample = rng.multivariate_normal(both, cov, size=max(int(n * share), 1))
            draws.append(sample[:, c : c + 3].mean(axis=1) - sample[:, :3].mean(axis=1))
        told = np.concatenate(draws)
        assert told.mean() == pytest.approx(mean, abs=0.02)
        assert told.std() == pytest.approx(sd, rel=0.03)


def test_one_criterion_needs_the_target_itself_and_more_need_more():
    assert chance_each_needs(1, 0.8, 0.6) == pytest.approx(0.8)
    needs = [chance_each_needs(n, 0.8, 0.6) for n in (1, 2, 5, 9)]
    assert needs == sorted(needs)
    # Without a pair effect the criteria are independent: the n-th root.
    assert chance_each_needs(9, 0.8, 1e-6) == pytest.approx(0.8 ** (1 / 9), abs=1e-6)


def test_what_each_needs_gives_the_target_together():
    each = chance_each_needs(4, 0.8, 0.6)
    grid = np.linspace(0, 6, 4001)
    skill = float(np.interp(each, single_chance(grid, 0.6), grid))
    assert float(joint_chance(np.full(4, skill), 0.6)) == pytest.approx(0.8, abs=1e-4)


def test_impossible_questions_are_refused():
    with pytest.raises(UnusableInputError):
        chance_each_needs(0, 0.8, 0.6)
    with pytest.raises(UnusableInputError):
        chance_each_needs(3, 1.0, 0.6)
    with pytest.raises(UnusableInputError):
        round_steps(PATH.mixture, ())


def test_a_single_round_has_no_step():
    alone = skill_path(SEEN.through(1), HYPER)
    assert round_steps(alone.mixture, (0, 1)) == []
    assert as_lists(alone.mean) == alone.mean.tolist()

"""What the readiness rule will look at is fitted before, together: nothing of it twice, and it says the same."""

from __future__ import annotations

import numpy as np
import pytest

from evalkit.maths.simulate import Setting, simulate_trainee
from evalkit.maths.skill import skill_path
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.rounds import readiness
from evalkit.progress import fitting
from evalkit.progress.fitting import fits_of

HYPER = Hyper(draws=1024)


def simulated(seed: int, *, hard: bool = False):
    setting = Setting(n_rounds=5, n_pairs=6, n_criteria=5, n_must_pass=3)
    seen = simulate_trainee(np.random.default_rng(seed), setting, HYPER).seen
    if hard:
        seen.difficulty[:] = np.where(seen.present, 1.0, 0.0)
    return seen


@pytest.mark.parametrize("hard", [False, True])
def test_the_rule_asks_for_nothing_that_was_not_foreseen(monkeypatch: pytest.MonkeyPatch, hard: bool):
    fits = fits_of(simulated(3, hard=hard), HYPER)
    monkeypatch.setattr(fitting, "skill_mixture", lambda *_: pytest.fail("fitted a second time"))
    assert readiness(fits.seen, HYPER, mixture_of=fits.mixture_of).ends


@pytest.mark.parametrize("hard", [False, True])
def test_it_says_the_same_as_one_fit_after_another(hard: bool):
    fits = fits_of(simulated(4, hard=hard), HYPER)
    together = readiness(fits.seen, HYPER, mixture_of=fits.mixture_of)
    alone = readiness(fits.seen, HYPER)
    assert together.answer is alone.answer
    for ours, theirs in zip(together.ends, alone.ends, strict=True):
        assert ours.prob_at_target == pytest.approx(theirs.prob_at_target, abs=5e-3)
        assert (ours.difficulty_moved is None) == (theirs.difficulty_moved is None)
    assert together.ends[-1].prior_moved == pytest.approx(alone.ends[-1].prior_moved, abs=5e-3)
    assert fits.path.chance.joint == pytest.approx(skill_path(fits.seen, HYPER).chance.joint, abs=1e-3)


def test_every_round_end_is_what_was_known_then():
    fits = fits_of(simulated(5), HYPER)
    ends = fits.through([1, 2, 5])
    assert list(ends) == [1, 2, 5]
    for n, path in ends.items():
        assert path.mean.shape == (n, 5)
        assert path.mean == pytest.approx(skill_path(fits.seen.through(n), HYPER).mean, abs=2e-3)


def test_without_a_must_pass_one_fit_is_enough():
    seen = simulate_trainee(np.random.default_rng(6), Setting(n_rounds=2, n_criteria=4, n_must_pass=0), HYPER).seen
    assert len(fits_of(seen, HYPER).known) == 1

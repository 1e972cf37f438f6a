"""One further case against MCMC (NumPyro's NUTS): rounds, tags, severity, missing levels. Run with `-m mcmc`."""

import numpy as np
import pytest

from evalkit.maths.simulate import Course, Setting, simulate_trainee
from evalkit.maths.skill import skill_path
from evalkit.maths.skill.chance import joint_chance
from evalkit.maths.skill.hyper import Hyper, Method


@pytest.mark.mcmc
@pytest.mark.parametrize("method", list(Method))
def test_a_case_of_five_rounds_against_a_long_nuts_run(method):
    pytest.importorskip("numpyro")
    from tests.bench.nuts import sample

    hyper = Hyper(
        method=method, thresholds=(-1.5, 0.0, 2.0), difficulty_effect_sd=0.0, severity={"A": 0.3, "B": -0.3},
        tag_effect={"x": {"c0": 0.6, "c3": 0.6}},
    )  # fmt: skip
    rng = np.random.default_rng(21)
    setting = Setting(n_rounds=5, n_pairs=6, n_criteria=6, n_must_pass=3, gaps=(1.5, 2.0), share_missing=0.2)
    seats = rng.integers(0, 2, size=(5, 6))
    seen = simulate_trainee(rng, setting, hyper, course=Course.STEADY, mentors=("A", "B"), mentor=seats).seen
    draws = sample(seen, hyper, n_draws=5000, n_warmup=1000)
    assert draws.largest_r_hat < 1.01
    mean, sd = draws.skill.mean(axis=0), draws.skill.std(axis=0)
    path = skill_path(seen, hyper)
    assert np.abs((path.mean - mean) / sd).max() < 0.04
    assert np.abs(path.sd / sd - 1).max() < 0.04
    joint = joint_chance(draws.skill[:, -1, :3], hyper.pair_sd)
    assert path.chance.joint == pytest.approx(joint.mean(), abs=0.005)
    assert path.chance.prob_joint_at_least_target == pytest.approx((joint >= hyper.target).mean(), abs=0.01)
    assert path.chance.joint_lo80 == pytest.approx(np.quantile(joint, 0.1), abs=0.01)

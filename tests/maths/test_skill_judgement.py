"""The trainee's own judgement: bias recovered, floor and ceiling no longer mistaken for drift."""

from dataclasses import replace

import numpy as np
import pytest

from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.simulate import Course, Setting, simulate_trainee
from evalkit.maths.skill.hyper import Hyper, Method
from evalkit.maths.skill.judgement import judge_self, let_through


def test_bias_is_recovered_within_its_doubt():
    rng = np.random.default_rng(2)
    off = []
    for _ in range(20):
        simulated = simulate_trainee(rng, Setting(n_rounds=5, n_criteria=6), Hyper(), course=Course.STEADY)
        found = judge_self(simulated.seen, Hyper(method=Method.GVB))
        off.append((found.mean - simulated.bias) / found.sd)
    assert np.mean(off) == pytest.approx(0.0, abs=0.3)
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(1.0, abs=0.2)


def test_a_trainee_who_improves_with_an_unchanged_habit_shows_no_drift():
    """The plain mean of self less mentor falls as the top level is reached; the model's drift does not."""
    rng = np.random.default_rng(3)
    flagged, plain = 0, []
    for _ in range(25):
        hyper = Hyper(bias_rw_sd=1e-6)
        simulated = simulate_trainee(rng, Setting(n_rounds=8), hyper, course=Course.STEADY)
        seen = simulated.seen
        found = judge_self(seen, Hyper(method=Method.GVB))
        flagged += abs(found.drift_mean) > 1.96 * found.drift_sd
        both = (seen.level != NOT_SEEN) & (seen.self_level != NOT_SEEN)
        differ = np.where(both, seen.self_level - seen.level, np.nan)
        spread = [np.nanmean(differ[r]) for r in (0, -1)]
        plain.append(spread[1] - spread[0])
    assert flagged <= 3
    assert np.mean(plain) < -0.1


def test_drift_is_found_where_there_is_one():
    simulated = simulate_trainee(np.random.default_rng(4), Setting(n_rounds=6), Hyper(bias_sd=0.2, bias_rw_sd=1e-6))
    level = simulated.seen.level
    rising = np.where(level == NOT_SEEN, NOT_SEEN, np.minimum(level + (np.arange(6) > 2)[:, None, None], 3))
    found = judge_self(replace(simulated.seen, self_level=rising.astype(np.int8)), Hyper())
    assert found.drift_mean > 3 * found.drift_sd > 0


def test_no_self_level_means_no_judgement():
    seen = simulate_trainee(np.random.default_rng(5), Setting(n_rounds=1), Hyper()).seen
    assert judge_self(replace(seen, self_level=np.full_like(seen.level, NOT_SEEN)), Hyper()) is None


def test_one_round_has_no_drift():
    seen = simulate_trainee(np.random.default_rng(6), Setting(n_rounds=1), Hyper()).seen
    found = judge_self(seen, Hyper())
    assert (found.drift_mean, found.drift_sd) == (0.0, 0.0)


def test_let_through_is_the_share_of_near_misses_passed():
    assert let_through(np.array([0.8]), 1.6) == pytest.approx([0.5])

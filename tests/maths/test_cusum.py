"""CUSUM and Wald's test: properties, extremes, all rows of outcomes counted out, and simulation."""

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.maths.cusum import (
    ScoreWeights,
    choose_limit,
    cusum_path,
    drift_weights,
    first_signal,
    learning_weights,
    normal_cusum_run_length,
    signal_chance,
    signal_chances,
    sprt_performance,
    sprt_plan,
)

rates = st.tuples(st.floats(0.02, 0.45), st.floats(0.05, 0.5)).map(lambda pair: (pair[0], pair[0] + pair[1]))


@pytest.mark.parametrize("make", [learning_weights, drift_weights])
@pytest.mark.parametrize("limit", [0.3, 0.8, 1.5, 2.5])
def test_chances_equal_a_count_of_all_rows(make, limit):
    """Two roads: each of the 2^11 rows of outcomes walked by hand, its chance added where it signals."""
    n, p = 11, 0.3
    weights = make(0.15, 0.4)
    by_hand = [0.0] * n
    for row in product([False, True], repeat=n):
        signal = first_signal(cusum_path(row, weights), limit)
        if signal is not None:
            for t in range(signal - 1, n):
                by_hand[t] += p ** sum(row) * (1 - p) ** (n - sum(row))
    assert signal_chances(weights, limit, p, n) == pytest.approx(by_hand, abs=1e-12)


def test_ties_are_judged_alike_on_both_roads():
    """Weights of 0.1 and -0.3 meet a limit of 0.3 only up to rounding: path and enumeration must agree."""
    weights = ScoreWeights(0.1, -0.3)
    assert first_signal(cusum_path([False] * 3, weights), 0.3) == 3
    assert signal_chance(weights, 0.3, 0.5, 3) == 0.125


@settings(max_examples=30, deadline=None)
@given(pair=rates, limit=st.floats(0.2, 4), p=st.floats(0, 1))
def test_chances_rise_with_trials_and_fall_with_the_limit(pair, limit, p):
    weights = learning_weights(*pair)
    chances = signal_chances(weights, limit, p, 25)
    assert all(0 <= a <= b <= 1 for a, b in pairwise(chances))
    assert signal_chance(weights, limit * 1.3, p, 25) <= chances[-1] + 1e-12


@settings(max_examples=30, deadline=None)
@given(pair=rates, limit=st.floats(0.2, 3), p=st.floats(0, 0.9), more=st.floats(0, 0.1))
def test_failing_more_slows_learning_and_hastens_the_alarm(pair, limit, p, more):
    learning, drift = learning_weights(*pair), drift_weights(*pair)
    assert (drift.success, drift.failure) == pytest.approx((-learning.success, -learning.failure), rel=1e-9)
    assert signal_chance(learning, limit, p + more, 20) <= signal_chance(learning, limit, p, 20) + 1e-12
    assert signal_chance(drift, limit, p + more, 20) >= signal_chance(drift, limit, p, 20) - 1e-12


@settings(max_examples=15, deadline=None)
@given(pair=rates, n=st.integers(10, 40), chance=st.floats(0.02, 0.4), learn=st.booleans())
def test_chosen_limit_is_the_lowest_that_keeps_the_chance(pair, n, chance, learn):
    weights = learning_weights(*pair) if learn else drift_weights(*pair)
    p = pair[1] if learn else pair[0]
    if (1 - p if learn else p) ** n > chance:  # even an unbroken row comes too often
        with pytest.raises(ValueError, match="no limit"):
            choose_limit(weights, p, n, chance)
        return
    limit = choose_limit(weights, p, n, chance)
    assert signal_chance(weights, limit, p, n) <= chance
    step = max(weights.success, weights.failure)
    steps_below = np.linspace(max(limit - step, 1e-6), limit, 30)[:-1]
    exceeding = [signal_chance(weights, float(h), p, n) > chance for h in steps_below]
    # Below the limit comes first the rest of its own plateau, then only limits that are too low.
    assert exceeding == sorted(exceeding, reverse=True)
    if limit > step:
        assert exceeding[0]


def test_chosen_limit_for_a_mentor_sized_plan():
    """120 trials, at most 10 % false signals at a failure rate of .35, target rate .10: simulated 20,000 times."""
    weights = learning_weights(0.10, 0.35)
    limit = choose_limit(weights, 0.35, 120, 0.10)
    rng = np.random.default_rng(5)
    failed = rng.random((20_000, 120)) < 0.35
    score, signalled = np.zeros(20_000), np.zeros(20_000, dtype=bool)
    for t in range(120):
        score = np.maximum(0, score + np.where(failed[:, t], weights.failure, weights.success))
        signalled |= score >= limit
    exact = signal_chance(weights, limit, 0.35, 120)
    assert 0.08 < exact <= 0.10
    assert signalled.mean() == pytest.approx(exact, abs=4 * (0.1 * 0.9 / 20_000) ** 0.5)


def test_a_chance_that_cannot_be_kept_is_refused():
    with pytest.raises(ValueError, match="allow more trials"):
        choose_limit(learning_weights(0.1, 0.3), 0.3, 3, 0.01)


def test_no_trials_no_signal():
    weights = learning_weights(0.1, 0.3)
    assert cusum_path([], weights) == ()
    assert first_signal((), 1.0) is None
    assert signal_chances(weights, 1.0, 0.3, 0) == ()
    assert signal_chance(weights, 1.0, 0.3, 0) == 0


@given(failures=st.lists(st.booleans(), max_size=60), pair=rates)
def test_path_never_falls_below_zero_and_moves_by_its_weights(failures, pair):
    weights = learning_weights(*pair)
    path = (0.0, *cusum_path(failures, weights))
    for (before, after), failed in zip(pairwise(path), failures, strict=True):
        assert after == max(0.0, before + (weights.failure if failed else weights.success))


@pytest.mark.parametrize("make", [learning_weights, drift_weights])
@pytest.mark.parametrize(("low", "high"), [(0, 0.2), (0.2, 0.2), (0.3, 0.2), (0.2, 1), (-0.1, 0.2)])
def test_impossible_rates_are_refused(make, low, high):
    with pytest.raises(ValueError, match="good rate"):
        make(low, high)


def test_impossible_charts_are_refused():
    weights = learning_weights(0.1, 0.3)
    for limit, p, n in ((0, 0.1, 5), (1, -0.1, 5), (1, 1.1, 5), (1, 0.1, -1)):
        with pytest.raises(ValueError, match="use limit > 0"):
            signal_chances(weights, limit, p, n)
    for chance, n in ((0, 5), (1, 5), (0.1, 0)):
        with pytest.raises(ValueError, match="at least one trial"):
            choose_limit(weights, 0.3, n, chance)
    with pytest.raises(ValueError, match="positive"):
        ScoreWeights(0.1, 0.2)
    with pytest.raises(ValueError, match="h above 0"):
        normal_cusum_run_length(0, 0.5, 0)


def test_normal_run_length_meets_a_simulation():
    rng = np.random.default_rng(9)
    lengths, score, alive = np.zeros(20_000), np.zeros(20_000), np.ones(20_000, dtype=bool)
    while alive.any():
        lengths += alive
        score = np.maximum(0, score + rng.normal(0.7, 1, 20_000) - 0.4)
        alive &= score < 2.5
    exact = normal_cusum_run_length(0.7, 0.4, 2.5)
    assert lengths.mean() == pytest.approx(exact, abs=4 * lengths.std() / 20_000**0.5)


# --- Wald's test


def test_sprt_equals_a_count_of_all_rows():
    """Two roads: a plan that always decides within 14 trials or nearly so, its rows of outcomes walked one by one."""
    plan, p = sprt_plan(0.1, 0.7, 0.2, 0.2), 0.3
    accept = decided = trials = 0.0
    for row in product([0, 1], repeat=14):
        chance = p ** sum(row) * (1 - p) ** (14 - sum(row))
        failures = np.cumsum(row)
        for n, d in enumerate(failures, start=1):
            if d <= plan.accept_line(n) or d >= plan.reject_line(n):
                accept += chance * (d <= plan.accept_line(n))
                decided += chance
                trials += chance * n
                break
    found = sprt_performance(plan, p)
    assert decided > 0.9999
    assert found.accept == pytest.approx(accept, abs=abs(1 - decided) + 1e-12)
    assert found.mean_trials == pytest.approx(trials, abs=40 * abs(1 - decided) + 1e-12)


@settings(max_examples=25, deadline=None)
@given(pair=rates.filter(lambda pair: pair[1] - pair[0] > 0.1), alpha=st.floats(0.02, 0.3), beta=st.floats(0.02, 0.3))
def test_wald_bounds_hold(pair, alpha, beta):
    """Wald 1947: the true errors add up to at most alpha + beta, and each is at most alpha/(1-beta), beta/(1-alpha)."""
    plan = sprt_plan(*pair, alpha, beta)
    at_good, at_bad = sprt_performance(plan, pair[0]), sprt_performance(plan, pair[1])
    assert (1 - at_good.accept) + at_bad.accept <= alpha + beta + 1e-9
    assert 1 - at_good.accept <= alpha / (1 - beta) + 1e-9
    assert at_bad.accept <= beta / (1 - alpha) + 1e-9


def test_sprt_extremes():
    plan = sprt_plan(0.01, 0.1, 0.05, 0.1)
    never, always = sprt_performance(plan, 0), sprt_performance(plan, 1)
    assert (never.accept, never.mean_trials) == (1, 24)
    assert (always.accept, always.mean_trials) == (0, 2)


def test_sprt_refusals():
    with pytest.raises(ValueError, match="alpha"):
        sprt_plan(0.01, 0.1, 0.6, 0.5)
    with pytest.raises(ValueError, match="good rate"):
        sprt_plan(0.1, 0.01, 0.05, 0.1)
    plan = sprt_plan(0.01, 0.1, 0.05, 0.1)
    with pytest.raises(ValueError, match="out of range"):
        sprt_performance(plan, 1.2)
    with pytest.raises(ValueError, match="undecided"):
        sprt_performance(plan, 0.04, max_trials=30)

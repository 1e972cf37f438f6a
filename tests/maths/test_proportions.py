"""Intervals and plans: properties, extremes, and statsmodels and scipy as independent roads."""

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.maths.proportions import (
    acceptance_probability,
    agresti_coull_interval,
    clopper_pearson_interval,
    jeffreys_interval,
    lower_bound,
    mid_p_interval,
    proportion,
    wilson_corrected_interval,
    wilson_interval,
    zero_failure_lower_bound,
    zero_failure_pairs,
)

METHODS = [
    wilson_interval,
    wilson_corrected_interval,
    agresti_coull_interval,
    clopper_pearson_interval,
    jeffreys_interval,
    mid_p_interval,
]
STATSMODELS_NAMES = {
    wilson_interval: "wilson",
    agresti_coull_interval: "agresti_coull",
    clopper_pearson_interval: "beta",
    jeffreys_interval: "jeffreys",
}
counts = st.integers(1, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
confidences = st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99])


@pytest.mark.parametrize("method", METHODS)
@settings(deadline=None)
@given(count=counts, confidence=confidences)
def test_intervals_hold_the_share_and_turn_round_with_it(method, count, confidence):
    k, n = count
    found, turned = method(k, n, confidence), method(n - k, n, confidence)
    assert 0 <= found.low <= k / n <= found.high <= 1
    assert found.low < found.high
    assert found.low == pytest.approx(1 - turned.high, abs=1e-9)


@pytest.mark.parametrize("method", METHODS)
@settings(deadline=None)
@given(count=counts)
def test_more_confidence_is_wider(method, count):
    narrow, wide = method(*count, 0.8), method(*count, 0.99)
    assert wide.low <= narrow.low
    assert narrow.high <= wide.high


@pytest.mark.parametrize("method", STATSMODELS_NAMES)
@settings(max_examples=60, deadline=None)
@given(count=counts, confidence=confidences)
def test_intervals_equal_statsmodels(method, count, confidence):
    from statsmodels.stats.proportion import proportion_confint

    k, n = count
    low, high = proportion_confint(k, n, alpha=1 - confidence, method=STATSMODELS_NAMES[method])
    found = method(k, n, confidence)
    # Jeffreys' ends at 0 and n are set to 0 and 1 (Brown, Cai & DasGupta 2001); statsmodels leaves the quantile.
    if method is not jeffreys_interval or k > 0:
        assert found.low == pytest.approx(low, abs=1e-9)
    if method is not jeffreys_interval or k < n:
        assert found.high == pytest.approx(high, abs=1e-9)


@pytest.mark.parametrize("k", range(0, 21, 4))
def test_ends_solve_the_equation_that_defines_them(k):
    """Two roads: Clopper-Pearson and mid-p ends put back into binomial tails summed term by term."""
    n, tail = 20, 0.025

    def chance(i, p):
        return math.comb(n, i) * p**i * (1 - p) ** (n - i)

    exact, mid = clopper_pearson_interval(k, n), mid_p_interval(k, n)
    if k > 0:
        assert sum(chance(i, exact.low) for i in range(k, n + 1)) == pytest.approx(tail, rel=1e-9)
        above = sum(chance(i, mid.low) for i in range(k + 1, n + 1))
        assert above + chance(k, mid.low) / 2 == pytest.approx(tail, rel=1e-9)
    if k < n:
        assert sum(chance(i, exact.high) for i in range(k + 1)) == pytest.approx(tail, rel=1e-9)
        below = sum(chance(i, mid.high) for i in range(k))
        assert below + chance(k, mid.high) / 2 == pytest.approx(tail, rel=1e-9)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.37, 0.5, 0.9])
def test_clopper_pearson_covers_at_least_as_often_as_it_says(share):
    n = 25
    covered = math.fsum(
        math.comb(n, k) * share**k * (1 - share) ** (n - k)
        for k in range(n + 1)
        if (found := clopper_pearson_interval(k, n)).low <= share <= found.high
    )
    assert covered >= 0.95


@pytest.mark.parametrize("method", METHODS)
def test_nothing_tried_is_nothing_known(method):
    assert method(0, 0, 0.95) is None
    empty = proportion(0, 0, 0.95, method)
    assert (empty.value, empty.interval) == (None, None)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize(("k", "n", "confidence"), [(-1, 5, 0.95), (6, 5, 0.95), (1, 0, 0.95), (1, 5, 0), (1, 5, 95)])
def test_impossible_counts_are_refused(method, k, n, confidence):
    with pytest.raises(ValueError, match=r"not possible|out of range"):
        method(k, n, confidence)


def test_none_and_all_reach_the_ends_exactly():
    for method in (*METHODS[:2], *METHODS[3:]):
        assert method(0, 12, 0.95).low == 0
        assert method(12, 12, 0.95).high == 1


@given(count=counts, confidence=confidences)
def test_one_sided_bound_is_the_end_of_a_wider_interval(count, confidence):
    """Two roads: a one-sided bound at C is the low end of the two-sided interval at 2 C - 1."""
    k, n = count
    bound = lower_bound(k, n, confidence)
    assert 0 <= bound <= k / n
    if confidence > 0.5:
        assert bound == pytest.approx(clopper_pearson_interval(k, n, 2 * confidence - 1).low, abs=1e-9)


def test_bounds_of_nothing_are_unknown():
    assert lower_bound(0, 0) is None
    assert zero_failure_lower_bound(0) is None


@given(confidence=st.floats(0.01, 0.999), reliability=st.floats(0.01, 0.999))
def test_plan_is_the_smallest_that_shows_it(confidence, reliability):
    n = zero_failure_pairs(confidence, reliability)
    assert zero_failure_lower_bound(n, confidence) >= reliability - 1e-8
    if n > 1:
        assert zero_failure_lower_bound(n - 1, confidence) < reliability


@pytest.mark.parametrize(
    ("confidence", "reliability", "n"), [(0.75, 0.5, 2), (0.875, 0.5, 3), (0.19, 0.9, 2), (0.1, 0.1, 1)]
)
def test_plans_that_fit_exactly_get_no_trial_on_top(confidence, reliability, n):
    assert zero_failure_pairs(confidence, reliability) == n


@pytest.mark.parametrize(("confidence", "reliability"), [(0, 0.9), (1, 0.9), (0.9, 0), (0.9, 1), (90, 0.9)])
def test_plans_for_certainty_are_refused(confidence, reliability):
    with pytest.raises(ValueError, match="out of range"):
        zero_failure_pairs(confidence, reliability)


@settings(deadline=None)
@given(share=st.floats(0, 1), n=st.integers(1, 500), c=st.integers(0, 20))
def test_acceptance_equals_scipy(share, n, c):
    from scipy.stats import binom

    found = acceptance_probability(share, n, c)
    assert found == pytest.approx(float(binom.cdf(c, n, share)), abs=1e-10)


def test_acceptance_of_a_large_sample_neither_overflows_nor_falls_to_nothing():
    """Poisson's limit for 3 expected and 2 allowed: e^-3 (1 + 3 + 9/2)."""
    expected = math.exp(-3) * (1 + 3 + 4.5)
    assert acceptance_probability(3e-6, 1_000_000, 2) == pytest.approx(expected, rel=1e-5)


def test_acceptance_at_the_extremes():
    assert acceptance_probability(0, 5, 0) == 1
    assert acceptance_probability(1, 5, 4) == 0
    assert acceptance_probability(1, 5, 5) == 1


@pytest.mark.parametrize(("share", "n", "c"), [(-0.1, 5, 1), (1.1, 5, 1), (0.1, 0, 1), (0.1, 5, -1)])
def test_impossible_plans_are_refused(share, n, c):
    with pytest.raises(ValueError, match="use a share"):
        acceptance_probability(share, n, c)


def test_wilson_needs_no_heavy_import():
    code = (
        "import sys; from evalkit.maths.proportions import wilson_interval, zero_failure_pairs;"
        "wilson_interval(3, 10); zero_failure_pairs(0.9, 0.8);"
        "sys.exit(any(name in sys.modules for name in ('numpy', 'scipy')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0

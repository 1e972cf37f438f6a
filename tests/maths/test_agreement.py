"""Agreement: properties, extremes, and statsmodels as an independent road to the same figures."""

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.maths.agreement import (
    Weighting,
    bad_good_rates,
    cohen_kappa,
    disagreement_weights,
    effectiveness,
    marginal_homogeneity_test,
    symmetry_test,
)
from evalkit.maths.tables import paired_table

WEIGHTS = ["none", "linear", "quadratic"]
STATSMODELS_NAMES = {"none": None, "linear": "linear", "quadratic": "quadratic"}


def tables(smallest=2, largest=5, most=30):
    return st.integers(smallest, largest).flatmap(
        lambda k: st.lists(st.lists(st.integers(0, most), min_size=k, max_size=k), min_size=k, max_size=k)
    )


# --- kappa


@pytest.mark.filterwarnings("ignore::RuntimeWarning:statsmodels")  # it divides 0 by 0 where we say why not
@pytest.mark.parametrize("weights", WEIGHTS)
@settings(max_examples=60, deadline=None)
@given(table=tables())
def test_kappa_equals_statsmodels(weights, table):
    from statsmodels.stats.inter_rater import cohens_kappa

    ours = cohen_kappa(table, weights)
    if ours.undefined:
        return
    theirs = cohens_kappa(np.array(table), wt=STATSMODELS_NAMES[weights])
    assert ours.value == pytest.approx(theirs.kappa, abs=1e-12)
    if ours.se is not None:
        assert ours.se == pytest.approx(theirs.std_kappa, rel=1e-6)
        assert ours.se_h0 == pytest.approx(theirs.std_kappa0, rel=1e-6)
        assert ours.low == pytest.approx(max(-1, theirs.kappa_low), abs=1e-6)
        assert ours.high == pytest.approx(min(1, theirs.kappa_upp), abs=1e-6)


@pytest.mark.parametrize("weights", WEIGHTS)
@given(table=tables())
def test_kappa_is_a_number_in_range_or_says_why_not(weights, table):
    kappa = cohen_kappa(table, weights)
    levels_used = {i for i, row in enumerate(table) if any(row)} | {
        j for j, col in enumerate(zip(*table, strict=True)) if any(col)
    }
    assert (kappa.value is None) == (kappa.undefined is not None) == (len(levels_used) < 2)
    if kappa.value is None:
        assert kappa.low is kappa.high is kappa.se is kappa.se_h0 is None
        return
    assert -1 - 1e-12 <= kappa.value <= 1
    assert kappa.value == pytest.approx((kappa.observed - kappa.expected) / (1 - kappa.expected), abs=1e-9)
    assert (kappa.low is None) == (kappa.high is None) == (kappa.se is None) == (kappa.no_interval is not None)
    if kappa.low is not None:
        assert -1 <= kappa.low <= kappa.value <= kappa.high <= 1
        assert kappa.low < kappa.high


@pytest.mark.parametrize("weights", WEIGHTS)
@given(table=tables())
def test_kappa_does_not_care_who_is_first(weights, table):
    there, back = (
        cohen_kappa(table, weights),
        cohen_kappa([list(column) for column in zip(*table, strict=True)], weights),
    )
    assert there.value == (None if back.value is None else pytest.approx(back.value, abs=1e-12))
    assert there.se == (None if back.se is None else pytest.approx(back.se, rel=1e-9))


@given(table=tables(2, 2))
def test_all_weightings_are_one_on_two_levels(table):
    first, *others = [cohen_kappa(table, weights) for weights in WEIGHTS]
    assert all(other == first for other in others)


@given(table=tables(), factor=st.floats(0.1, 50))
def test_scaling_the_weights_changes_nothing(table, factor):
    weights = disagreement_weights(Weighting.QUADRATIC, len(table))
    scaled = cohen_kappa(table, [[factor * x for x in row] for row in weights])
    named = cohen_kappa(table, "quadratic")
    assert scaled.value == (None if named.value is None else pytest.approx(named.value, abs=1e-9))
    assert scaled.se == (None if named.se is None else pytest.approx(named.se, rel=1e-6))


def test_quadratic_kappa_meets_its_moments():
    """Two roads: quadratic kappa is 2 cov / (var a + var b + (mean a - mean b)^2), population moments."""
    rng = np.random.default_rng(7)
    a = rng.integers(0, 4, size=60).tolist()
    b = np.clip(a + rng.choice([-1, 0, 0, 1], size=60), 0, 3).tolist()
    cov = np.cov(a, b, bias=True)
    expected = 2 * cov[0, 1] / (cov[0, 0] + cov[1, 1] + (np.mean(a) - np.mean(b)) ** 2)
    assert cohen_kappa(paired_table(a, b, 4)).value == pytest.approx(expected, rel=1e-12)


def test_error_meets_the_bootstrap():
    """Two roads: the large-sample error against 2,000 resamples of the same 200 couples, within 10 %."""
    table = [[40, 12, 3, 0], [8, 45, 10, 1], [2, 9, 40, 6], [0, 1, 7, 16]]
    kappa = cohen_kappa(table)
    rng = np.random.default_rng(3)
    chances = np.array(table).ravel() / 200
    again = [cohen_kappa(cells.reshape(4, 4).tolist()).value for cells in rng.multinomial(200, chances, 2000)]
    assert np.std(again) == pytest.approx(kappa.se, rel=0.1)


def test_an_unused_level_keeps_its_place_on_the_scale():
    """Nobody used level 1 of 0..3: the full table is right, the squeezed one is another scale and another figure."""
    from statsmodels.stats.inter_rater import cohens_kappa

    full = [[8, 0, 1, 0], [0, 0, 0, 0], [0, 0, 5, 6], [0, 0, 5, 6]]
    squeezed = [[8, 1, 0], [0, 5, 6], [0, 5, 6]]
    for weights in ("linear", "quadratic"):
        ours = cohen_kappa(full, weights)
        assert ours.value == pytest.approx(cohens_kappa(np.array(full), wt=weights).kappa, rel=1e-12)
        assert abs(ours.value - cohen_kappa(squeezed, weights).value) > 0.1
    assert cohen_kappa(full, "none").value == pytest.approx(cohen_kappa(squeezed, "none").value, rel=1e-12)


@pytest.mark.parametrize(
    ("table", "word"),
    [([], "empty"), ([[0, 0], [0, 0]], "empty"), ([[7, 0], [0, 0]], "One level"), ([[7]], "One level")],
)
def test_undefined_kappa_says_so(table, word):
    kappa = cohen_kappa(table)
    assert kappa.value is None
    assert word in kappa.undefined


def test_perfect_agreement_is_one_without_a_claim_of_certainty():
    kappa = cohen_kappa([[3, 0], [0, 2]])
    assert kappa.value == 1
    assert (kappa.low, kappa.high, kappa.se) == (None, None, None)
    assert "doubt" in kappa.no_interval


def test_one_observer_on_one_level_gives_zero_with_its_reason():
    kappa = cohen_kappa([[5, 0], [3, 0]])
    assert kappa.value == 0
    assert kappa.low is None
    assert "single level" in kappa.no_interval


@pytest.mark.parametrize(
    ("table", "weights", "word"),
    [
        ([[1, 2]], "none", "square"),
        ([[1, -2], [0, 3]], "none", "not a count"),
        ([[1, 0.5], [0, 3]], "none", "not a count"),
        ([[1, 2], [3, 4]], "cubic", "cubic"),
        ([[1, 2], [3, 4]], [[0, 1]], "2 x 2"),
        ([[1, 2], [3, 4]], [[1, 1], [1, 0]], "diagonal"),
        ([[1, 2], [3, 4]], [[0, -1], [1, 0]], "negative"),
        ([[1, 2], [3, 4]], [[0, math.nan], [1, 0]], "finite"),
    ],
)
def test_bad_tables_and_weights_are_refused(table, weights, word):
    with pytest.raises(ValueError, match=word):
        cohen_kappa(table, weights)


@pytest.mark.parametrize("weighting", Weighting)
def test_each_weighting_has_a_zero_diagonal_and_rises_with_distance(weighting):
    v = disagreement_weights(weighting, 4)
    assert all(v[i][i] == 0 for i in range(4))
    assert v[0][1] <= v[0][2] <= v[0][3]


def test_paired_table_counts_couples_and_leaves_gaps_out():
    assert paired_table([0, 1, 2, None, 1], [0, 2, 2, 1, None], 3) == ((1, 0, 0), (0, 0, 1), (0, 0, 1))
    assert paired_table([], [], 2) == ((0, 0), (0, 0))


@pytest.mark.parametrize(("a", "b"), [([3], [0]), ([0], [-1]), ([0, 1], [0]), ([None], [3])])
def test_paired_table_refuses_what_is_not_on_the_scale_or_has_no_partner(a, b):
    with pytest.raises(ValueError, match="scale" if len(a) == len(b) else "shorter"):
        paired_table(a, b, 3)


# --- symmetry


@settings(max_examples=60, deadline=None)
@given(table=tables(2, 4).filter(lambda t: all(t[i][j] + t[j][i] for i in range(len(t)) for j in range(i))))
def test_symmetry_and_margins_equal_statsmodels(table):
    from statsmodels.stats.contingency_tables import SquareTable

    square = SquareTable(np.array(table, dtype=float), shift_zeros=False)
    for ours, theirs in (
        (symmetry_test(table), square.symmetry()),
        (marginal_homogeneity_test(table), square.homogeneity()),
    ):
        assert ours.statistic == pytest.approx(theirs.statistic, rel=1e-7, abs=1e-9)
        assert ours.df == theirs.df
        assert ours.p_value == pytest.approx(theirs.pvalue, abs=1e-9)


def test_an_unused_level_does_not_disturb_the_margins():
    squeezed, full = [[5, 2, 4], [1, 9, 3], [0, 2, 8]], [[5, 0, 2, 4], [0, 0, 0, 0], [1, 0, 9, 3], [0, 0, 2, 8]]
    for test in (symmetry_test, marginal_homogeneity_test):
        one, other = test(squeezed), test(full)
        assert (one.df, one.statistic) == (other.df, pytest.approx(other.statistic, rel=1e-9))


@pytest.mark.parametrize("test", [symmetry_test, marginal_homogeneity_test])
@pytest.mark.parametrize("table", [[], [[0, 0], [0, 0]], [[3, 0], [0, 4]]])
def test_no_disagreement_is_nothing_to_test(test, table):
    assert test(table).p_value is None
    assert test(table).undefined


# --- bad and good


def test_rates_count_out_of_the_truth():
    rates = bad_good_rates([[8, 1], [2, 19]])
    assert (rates.miss.k, rates.miss.n) == (2, 10)
    assert (rates.false_alarm.k, rates.false_alarm.n) == (1, 20)


def test_rates_of_nothing_are_unknown():
    rates = bad_good_rates([[0, 1], [0, 19]])
    assert (rates.miss.value, rates.miss.interval) == (None, None)
    assert rates.false_alarm.value == 0.05
    with pytest.raises(ValueError, match="bad, good"):
        bad_good_rates([[1, 0, 0], [0, 1, 0], [0, 0, 1]])


def test_effectiveness_wants_every_trial_right_and_leaves_the_unjudged_out():
    found = effectiveness([[1, 1], [1, 0], [], [0]], [1, 1, 1, 0])
    assert (found.k, found.n) == (2, 3)
    assert effectiveness([], []).value is None


def test_levels_need_no_heavy_import():
    code = (
        "import sys; from evalkit.maths.agreement import cohen_kappa;"
        "from evalkit.maths.many_raters import krippendorff_alpha;"
        "cohen_kappa([[3, 1], [1, 4]]); krippendorff_alpha([[1, 2], [1, 3]]);"
        "sys.exit(any(name in sys.modules for name in ('numpy', 'scipy')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0

"""The cumulative-logit cell against finite differences, many-digit arithmetic, exact limits and its own fast road."""

import numpy as np
import pytest

from evalkit.maths import ordinal
from evalkit.maths.errors import UnusableInputError

INF = np.inf
CELLS = [(-INF, -1.8), (-1.8, 0.0), (0.0, 1.8), (1.8, INF), (-0.01, 0.01), (-INF, INF)]


@pytest.mark.parametrize("cell", CELLS)
@pytest.mark.parametrize("eta", [-4.0, -0.7, 0.0, 0.3, 5.0])
def test_each_derivative_is_the_slope_of_the_one_before(cell, eta):
    step = 1e-5
    lower, upper = np.array(cell[0]), np.array(cell[1])
    here = ordinal.cell_derivatives(np.array(eta), lower, upper)
    above = ordinal.cell_derivatives(np.array(eta + step), lower, upper)
    below = ordinal.cell_derivatives(np.array(eta - step), lower, upper)
    for order in range(1, 5):
        slope = (above[order - 1] - below[order - 1]) / (2 * step)
        assert here[order] == pytest.approx(slope, abs=2e-8)


def test_levels_of_one_cell_exhaust_all_chances():
    thresholds = np.array([[-1.8, 0.0, 1.8]])
    level = np.arange(4, dtype=np.int8)[None]
    for eta in (-30.0, -2.0, 0.4, 30.0):
        lower, upper = ordinal.cell_bounds(level, thresholds)
        loglik = ordinal.cell_derivatives(np.full((1, 4), eta), lower, upper).loglik
        assert np.exp(loglik).sum() == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("eta", [-700.0, -40.0, 40.0, 700.0])
def test_extremes_stay_finite_and_say_the_linear_limit(eta):
    """Far out, log sig(z) is z: the exact value a calculation with 300 digits gives to the last place of a double."""
    top = ordinal.cell_derivatives(np.array(eta), np.array(1.8), np.array(INF))
    assert top.loglik == pytest.approx(min(0.0, eta - 1.8), abs=1e-15)
    assert top.first == pytest.approx(1.0 if eta < 0 else 0.0, abs=1e-15)
    middle = ordinal.cell_derivatives(np.array(eta), np.array(-1.8), np.array(1.8))
    assert np.isfinite(middle).all()
    assert abs(float(middle.first)) == pytest.approx(1.0)


def test_a_cell_not_seen_says_nothing():
    lower, upper = ordinal.cell_bounds(np.array([[ordinal.NOT_SEEN]], dtype=np.int8), np.array([[-1.8, 0.0, 1.8]]))
    assert (lower[0, 0], upper[0, 0]) == (-INF, INF)
    assert np.array(ordinal.cell_derivatives(np.array(0.7), lower, upper)).ravel() == pytest.approx(np.zeros(5))


@pytest.mark.parametrize("n_nodes", [1, 5, 7, 21, 41])
def test_quadrature_weights_sum_to_one_and_know_the_normal(n_nodes):
    points, weights = ordinal.hermite_nodes(n_nodes)
    assert weights.sum() == pytest.approx(1.0, abs=1e-15)
    assert weights @ points == pytest.approx(0.0, abs=1e-14)
    if n_nodes > 1:
        assert weights @ points**2 == pytest.approx(1.0, rel=1e-12)


def test_the_fast_road_meets_the_plain_one():
    rng = np.random.default_rng(2)
    thresholds = np.array([[-2.1, 0.0, 0.4]])
    level = rng.integers(-1, 4, size=(1, 200)).astype(np.int8)
    lower, upper = ordinal.cell_bounds(level, thresholds)
    mean, variance = 3 * rng.standard_normal((1, 200)), rng.uniform(0.01, 3, size=(1, 200))
    fast = ordinal.smoothed_cell(mean, variance, ordinal.cell_edges(lower, upper), 9, with_loglik=True)
    points, weights = ordinal.hermite_nodes(9)
    each = [ordinal.cell_derivatives(mean + z * np.sqrt(variance), lower, upper) for z in points]
    assert fast.loglik == pytest.approx(sum(w * e.loglik for w, e in zip(weights, each, strict=True)), abs=1e-10)
    assert fast.slope == pytest.approx(sum(w * e.first for w, e in zip(weights, each, strict=True)), abs=1e-10)
    assert fast.weight == pytest.approx(-sum(w * e.second for w, e in zip(weights, each, strict=True)), abs=1e-10)
    plain = ordinal.cell_derivatives(mean, lower, upper)
    third, fourth = ordinal.higher_derivatives(mean, ordinal.cell_edges(lower, upper))
    assert third == pytest.approx(plain.third, abs=1e-10)
    assert fourth == pytest.approx(plain.fourth, abs=1e-10)


def test_threshold_slopes_are_finite_differences_of_the_mean_likelihood():
    rng = np.random.default_rng(3)
    level = rng.integers(-1, 4, size=(1, 50)).astype(np.int8)
    thresholds = np.array([[-1.5, 0.0, 2.2]])
    mean, variance = rng.standard_normal((1, 50)), np.full((1, 50), 0.6)
    lower, upper = ordinal.cell_bounds(level, thresholds)
    slopes = ordinal.threshold_slopes(mean, variance, lower, upper, 7)

    def total(moved):
        edges = ordinal.cell_edges(*ordinal.cell_bounds(level, moved))
        return ordinal.smoothed_cell(mean, variance, edges, 7, with_loglik=True).loglik.sum()

    for k in range(1, 4):
        move = 1e-5 * (np.arange(1, 4) == k)
        numeric = (total(thresholds + move) - total(thresholds - move)) / 2e-5
        summed = slopes[0][level == k].sum() + slopes[1][level == k - 1].sum()
        assert summed == pytest.approx(numeric, abs=1e-6)


def test_thresholds_put_the_required_level_at_zero():
    assert ordinal.thresholds_from_gaps(np.array([1.0, 2.0]), 2).tolist() == [-1.0, 0.0, 2.0]
    assert ordinal.thresholds_from_gaps(np.array([1.0, 2.0]), 1).tolist() == [0.0, 1.0, 3.0]
    assert ordinal.thresholds_from_gaps(np.empty(0), 1).tolist() == [0.0]
    with pytest.raises(UnusableInputError, match="required level"):
        ordinal.thresholds_from_gaps(np.array([1.0, 2.0]), 4)


def test_derivatives_against_many_digits():
    """Mpmath with 60 digits: log(sig(x) - sig(y)) and its derivatives by its own differentiation."""
    mpmath = pytest.importorskip("mpmath")
    with mpmath.workdps(60):

        def loglik(x):
            return mpmath.log(1 / (1 + mpmath.exp(-1 - x)) - 1 / (1 + mpmath.exp(2 - x)))

        for eta in (-25.0, -1.0, 0.5, 20.0):
            ours = ordinal.cell_derivatives(np.array(eta), np.array(-1.0), np.array(2.0))
            theirs = [mpmath.diff(loglik, mpmath.mpf(eta), n) for n in range(5)]
            assert [float(x) for x in ours] == pytest.approx([float(x) for x in theirs], rel=1e-9)

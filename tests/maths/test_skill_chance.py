"""Chances over a skill in doubt: against integrals known on paper, by quadrature, and by scipy's Sobol points."""

import itertools

import numpy as np
import pytest
from scipy import stats

from evalkit.maths.ordinal import hermite_nodes
from evalkit.maths.skill.chance import Ahead, joint_chance, joint_draws, normal_draws, single_chance
from evalkit.maths.skill.hyper import Hyper

N = Hyper().draws
PAIR_SD = 0.6


def alone(mean, cov):
    mean, cov = np.atleast_1d(mean).astype(float), np.atleast_2d(cov).astype(float)
    return Ahead(np.ones(1), mean[None], cov[None])


def alike(m, var, share):
    return var * ((1 - share) * np.eye(m) + share)


def draws(ahead, n=N):
    return joint_draws(ahead, tuple(range(ahead.mean.shape[1])), PAIR_SD, n)


@pytest.mark.parametrize("n_dims", [1, 5, 20])
def test_points_are_spread_evenly_never_at_an_end_and_the_same_every_time(n_dims):
    uniform, normal = normal_draws(N, n_dims)
    assert normal.shape == (N, n_dims)
    assert 0 < uniform.min() < uniform.max() < 1
    assert np.isfinite(normal).all()
    assert uniform.mean() == pytest.approx(0.5, abs=1e-3)
    assert np.abs(normal.mean(axis=0)).max() < 5e-3
    assert np.abs(normal.std(axis=0) - 1).max() < 1e-2
    assert np.abs(np.corrcoef(normal.T) - np.eye(n_dims)).max() < 0.05
    normal_draws.cache_clear()
    assert np.array_equal(normal, normal_draws(N, n_dims)[1])


@pytest.mark.parametrize("n", [64, 1000, 1024])
def test_every_axis_holds_one_point_in_each_part_of_its_base_to_some_power(n):
    """The defining property of a Halton axis of base b: of b^k points in a row, one in each of b^k equal parts."""
    _, normal = normal_draws(n, 4)
    for axis, base in enumerate((3, 5, 7, 11)):
        for k in itertools.takewhile(lambda k: base**k <= n, itertools.count(1)):  # noqa: B023 - used at once
            parts = np.floor(stats.norm.cdf(normal[: base**k, axis]) * base**k + 1e-9).astype(int)
            assert sorted(parts) == list(range(base**k)), (base, k)


@pytest.mark.parametrize(("mean", "sd"), [(1.0, 0.4), (2.0, 0.8), (3.0, 1.2)])
def test_one_criterion_in_doubt_has_the_exact_chance_of_reaching_the_target(mean, sd):
    """The chance rises with skill, so P(chance >= target) is the normal tail above the skill that gives the target."""
    grid = np.linspace(-5, 8, 100_001)
    needed = np.interp(0.8, single_chance(grid, PAIR_SD), grid)
    found = draws(alone(mean, sd**2))
    assert (found >= 0.8).mean() == pytest.approx(stats.norm.sf(needed, mean, sd), abs=1e-3)


def test_three_criteria_in_doubt_have_the_mean_of_a_tensor_quadrature():
    mean, cov = np.array([1.5, 2.5, 2.0]), alike(3, 0.7, 0.6) + np.diag([0.0, 0.1, 0.3])
    z, w = hermite_nodes(31)
    points = np.array(list(itertools.product(z, repeat=3)))
    weights = np.prod(list(itertools.product(w, repeat=3)), axis=1)
    exact = weights @ joint_chance(mean + points @ np.linalg.cholesky(cov).T, PAIR_SD)
    assert weights.sum() == pytest.approx(1.0)
    assert draws(alone(mean, cov)).mean() == pytest.approx(float(exact), abs=5e-4)


@pytest.mark.parametrize("m", [2, 5, 12])
def test_the_chance_of_being_at_the_target_is_that_of_many_sobol_points(m):
    """Scipy's scrambled Sobol points, 32 times as many, as the outside reference."""
    rng = np.random.default_rng(m)
    mean, cov = rng.normal(2.0 + 0.5 * np.log(m), 0.6, m), alike(m, rng.uniform(0.3, 0.8), 0.6)
    points = stats.norm.ppf(stats.qmc.Sobol(m, rng=rng).random(32 * N))
    reference = joint_chance(mean + points @ np.linalg.cholesky(cov).T, PAIR_SD)
    found = draws(alone(mean, cov))
    assert (found >= 0.8).mean() == pytest.approx((reference >= 0.8).mean(), abs=0.005)
    assert found.mean() == pytest.approx(reference.mean(), abs=1e-3)
    assert np.quantile(found, (0.1, 0.9)) == pytest.approx(np.quantile(reference, (0.1, 0.9)), abs=0.005)


def test_a_mixture_is_drawn_in_the_proportion_of_its_weights():
    parts = np.array([[0.0, 0.0], [4.0, 4.0]])
    ahead = Ahead(np.array([0.3, 0.7]), parts, np.tile(0.01 * np.eye(2), (2, 1, 1)))
    low = joint_chance(parts[0], PAIR_SD)
    found = draws(ahead)
    assert (found < (low + 1) / 2).mean() == pytest.approx(0.3, abs=1e-3)

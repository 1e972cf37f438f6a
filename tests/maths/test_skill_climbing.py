"""Climbing: known tops are found, surfaces with holes are climbed around, and what is no top is refused."""

import itertools
import pickle

import numpy as np
import pytest

from evalkit.maths.errors import NotSettledError
from evalkit.maths.skill.climbing import climb, covariance_at


def ridge(x):
    """Rosenbrock's curved valley (1960, Computer Journal 3:175), turned over: its top is 0, at (1, 1)."""
    a, b = 1 - x[0], x[1] - x[0] ** 2
    return -(a**2) - 100 * b**2, np.array([2 * a + 400 * x[0] * b, -200 * b])


def with_a_hole(x):
    """A rounded hill with its top at 0 that has no value beyond 3."""
    if np.abs(x).max() > 3:
        raise NotSettledError(60, step=np.nan)
    return -float(np.sqrt(1 + x @ x)), -x / np.sqrt(1 + x @ x)


def climbed(surface, start, *, reach=1.0, cov=1.0, most_steps=200):
    n = len(start)
    return climb(surface, np.array(start), cov * np.eye(n), reach=np.full(n, reach), enough=1e-9, most_steps=most_steps)


def test_the_top_of_a_curved_ridge_is_found():
    top = climbed(ridge, [-1.2, 1.0])
    assert top.point == pytest.approx([1.0, 1.0], abs=1e-3)
    assert top.value == pytest.approx(0.0, abs=1e-6)


def test_a_place_without_a_value_is_climbed_around():
    """The first guess of the curvature sends the search far into the hole."""
    top = climbed(with_a_hole, [2.5, -2.0], reach=50.0, cov=100.0)
    assert top.point == pytest.approx([0.0, 0.0], abs=1e-3)


def test_no_step_is_longer_than_its_reach():
    seen = [np.array([8.0, 0.0])]

    def watched(x):
        seen.append(x)
        return -0.5 * float(x @ x), -x

    climbed(watched, seen[0], reach=0.5)
    assert max(np.abs(b - a).max() for a, b in itertools.pairwise(seen)) < 0.5 + 1e-12


def test_what_is_not_reached_is_not_settled_and_says_what_was_sought():
    with pytest.raises(NotSettledError, match="The search did not settle: after 3"):
        climbed(ridge, [-1.2, 1.0], most_steps=3)
    with pytest.raises(NotSettledError):
        climbed(with_a_hole, [9.0, 9.0])


def test_the_covariance_at_a_top_is_the_inverse_of_its_curvature():
    cov = np.array([[2.0, 0.6, 0.0], [0.6, 1.0, -0.3], [0.0, -0.3, 0.5]])
    curvature = np.linalg.inv(cov)
    found = covariance_at(lambda x: (-0.5 * x @ curvature @ x, -curvature @ x), np.zeros(3), probe=0.1)
    assert found == pytest.approx(cov)
    with pytest.raises(NotSettledError):
        covariance_at(lambda x: (x[0] ** 2 - x[1] ** 2, np.array([2 * x[0], -2 * x[1]])), np.zeros(2), probe=0.1)


def test_an_unsettled_calculation_says_the_same_when_it_comes_from_another_process():
    error = NotSettledError(60, step=0.25, what="The search")
    assert str(pickle.loads(pickle.dumps(error))) == str(error)  # noqa: S301 - our own bytes
    assert str(error) == "The search did not settle: after 60 rounds the last step was still 0.25."

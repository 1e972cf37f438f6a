"""Limits of agreement and repeatability: hand arithmetic, simulate and recover, and what is undefined."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.maths.differences import limits_of_agreement, repeatability


def test_limits_against_hand_arithmetic():
    """Differences 1, 2, 3: mean 2, SD 1; t for 2 degrees of freedom is 4.302653 (any table)."""
    found = limits_of_agreement([2, 4, 6, None, 1], [1, 2, 3, 9, None], k=2)
    assert (found.n, found.bias, found.sd, found.low, found.high) == (3, 2, 1, 0, 4)
    assert found.bias_interval == pytest.approx((2 - 4.302653 / math.sqrt(3), 2 + 4.302653 / math.sqrt(3)), abs=1e-6)
    assert found.low_interval == pytest.approx((-4.302653, 4.302653), abs=1e-6)


measured = st.floats(-1000, 1000).map(lambda x: round(x, 2))


@given(couples=st.lists(st.tuples(measured, measured), max_size=12))
def test_limits_turn_round_when_the_observers_do(couples):
    a, b = [x for x, _ in couples], [y for _, y in couples]
    there, back = limits_of_agreement(a, b), limits_of_agreement(b, a)
    assert there.undefined == back.undefined
    assert (there.bias is None) == (not couples)
    if there.low is not None:
        assert there.low == pytest.approx(-back.high)
        assert there.low_interval[0] == pytest.approx(-back.high_interval[1])
        assert there.low < there.bias < there.high
        assert there.low_interval[0] < there.low < there.low_interval[1]
    else:
        assert there.undefined


def test_few_or_equal_differences_have_no_limits():
    assert limits_of_agreement([], []).bias is None
    one = limits_of_agreement([3], [1])
    assert (one.bias, one.low) == (2, None)
    equal = limits_of_agreement([3, 4], [1, 2])
    assert (equal.bias, equal.sd, equal.low) == (2, 0, None)
    assert "equal" in equal.undefined


def test_repeatability_finds_the_spread_it_was_given():
    """Simulate and recover: spread 2 within, in uneven numbers of repeats; about 95 % of intervals hold it."""
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(300):
        found = repeatability([rng.normal(rng.uniform(0, 50), 2, size=n).tolist() for n in (2, 3, 2, 4, 1, 2)])
        assert (found.n_things, found.df) == (5, 8)
        assert found.sd_interval[0] < found.sd < found.sd_interval[1]
        held += found.sd_interval[0] <= 2 <= found.sd_interval[1]
    assert 0.91 <= held / 300 <= 0.985


def test_no_repeats_or_equal_repeats_say_so():
    assert repeatability([]).sd is None
    assert repeatability([[1], [2]]).undefined
    equal = repeatability([[1, 1], [2, 2]])
    assert (equal.sd, equal.coefficient, equal.sd_interval) == (0, None, None)
    assert "equal" in equal.undefined

"""Conformity: properties, extremes, and a normal prior worked out by a second road."""

import math
from itertools import pairwise
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.maths.conformity import (
    acceptance_band,
    conformance_probability,
    global_risks,
    guard_band_for_risk,
    guard_band_for_value,
    normal_prior,
)

values = st.floats(-50, 50)
doubts = st.floats(0.01, 20)


@given(value=values, doubt=doubts, low=values, width=st.floats(0, 30))
def test_inside_below_and_above_make_one(value, doubt, low, width):
    inside = conformance_probability(value, doubt, low, low + width)
    below = conformance_probability(value, doubt, None, low)
    above = conformance_probability(value, doubt, low + width, None)
    assert inside + below + above == pytest.approx(1, abs=1e-12)
    assert 0 <= inside <= 1


@given(value=values, doubt=doubts, low=values, width=st.floats(0, 30))
def test_chance_is_the_same_in_the_mirror(value, doubt, low, width):
    there = conformance_probability(value, doubt, low, low + width)
    assert there == pytest.approx(conformance_probability(-value, doubt, -low - width, -low), rel=1e-9, abs=1e-300)


@given(doubt=doubts, low=values, width=st.floats(0.1, 30), step=st.floats(0, 10))
def test_the_middle_of_the_band_is_safest(doubt, low, width, step):
    middle = low + width / 2
    assert (
        conformance_probability(middle, doubt, low, low + width)
        >= conformance_probability(middle + step, doubt, low, low + width) - 1e-12
    )


def test_open_band_and_no_doubt():
    assert conformance_probability(3.0, 1.0, None, None) == 1
    assert [conformance_probability(x, 0.0, 1.0, 2.0) for x in (0.9, 1.0, 1.5, 2.0, 2.1)] == [0, 1, 1, 1, 0]


def test_a_value_on_the_limit_is_an_even_bet_and_far_tails_keep_their_digits():
    """The chance beyond ten standard deviations is 7.61985e-24 (tables of the normal tail)."""
    assert conformance_probability(5.0, 0.4, None, 5.0) == 0.5
    for value, low, high in ((0.0, 10.0, None), (0.0, None, -10.0)):
        assert conformance_probability(value, 2.0, low, high) == pytest.approx(7.61985302416e-24, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "doubt", "low", "high"),
    [(1.0, -0.1, 0.0, 2.0), (math.nan, 0.1, 0.0, 2.0), (1.0, math.nan, 0.0, 2.0), (1.0, math.inf, 0, 2), (1, 1, 3, 2)],
)
def test_impossible_input_is_refused(value, doubt, low, high):
    with pytest.raises(ValueError, match=r"both must be finite|low end"):
        conformance_probability(value, doubt, low, high)


@given(doubt=doubts, chance=st.floats(0.5, 0.999), limit=values)
def test_guarded_value_conforms_with_the_chance_asked(doubt, chance, limit):
    guard = guard_band_for_value(doubt, chance)
    found = conformance_probability(limit - guard, doubt, None, limit)
    assert found == pytest.approx(chance, abs=1e-9)


def test_acceptance_band_is_drawn_in_at_closed_ends():
    assert acceptance_band((1.0, 5.0), 0.5) == (1.5, 4.5)
    assert acceptance_band((None, 5.0), 0.5) == (None, 4.5)
    assert acceptance_band((1.0, 5.0), 2.0) == (3.0, 3.0)
    assert acceptance_band((1.0, 5.0), 2.5) is None


@pytest.mark.parametrize("band", [(9.0, 11.0), (None, 11.0), (9.5, None)])
@pytest.mark.parametrize("guard", [0.0, 0.3])
def test_risks_of_a_normal_prior_meet_the_other_order_of_integration(band, guard):
    """Two roads: integrate over what is measured instead, where the truth given the value is normal too (6.2)."""
    mean, sd, u = 10.2, 0.7, 0.25
    risks = global_risks(normal_prior(mean, sd), 2 * u, band, accepted := acceptance_band(band, guard))
    measured = NormalDist(mean, math.hypot(sd, u))
    pull = sd**2 / (sd**2 + u**2)
    reach = (mean - 10 * measured.stdev, mean + 10 * measured.stdev)
    edges = sorted([*reach, *(end for end in accepted if end is not None)])
    consumer = producer = 0.0
    for start, end in pairwise(edges):
        step = (end - start) / 4000
        for y in (start + (i + 0.5) * step for i in range(4000)):
            conforms = conformance_probability(mean + pull * (y - mean), 2 * u * math.sqrt(pull), *band)
            if conformance_probability(y, 0.0, *accepted):
                consumer += measured.pdf(y) * (1 - conforms) * step
            else:
                producer += measured.pdf(y) * conforms * step
    assert risks.consumer == pytest.approx(consumer, abs=1e-6)
    assert risks.producer == pytest.approx(producer, abs=1e-6)
    assert risks.nonconforming == pytest.approx(1 - conformance_probability(mean, 2 * sd, *band), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(guards=st.tuples(st.floats(0, 1.2), st.floats(0, 1.2)).map(sorted), doubt=st.floats(0.05, 2))
def test_a_wider_guard_moves_risk_from_consumer_to_producer(guards, doubt):
    narrow, wide = (
        global_risks(normal_prior(10, 1), doubt, (8.5, 11.5), acceptance_band((8.5, 11.5), guard)) for guard in guards
    )
    assert wide.consumer <= narrow.consumer + 1e-10
    assert wide.producer >= narrow.producer - 1e-10


def test_accepting_nothing_has_one_risk_only():
    risks = global_risks(normal_prior(10, 1), 0.5, (9.0, 11.0), None)
    assert risks.consumer == 0
    assert risks.producer + risks.nonconforming == pytest.approx(1, abs=1e-9)


@pytest.mark.parametrize("band", [(9.0, 11.0), (None, 11.0)])
@pytest.mark.parametrize("target", [0.005, 1e-6])
def test_guard_band_meets_its_target_and_is_none_where_none_is_needed(band, target):
    prior = normal_prior(10, 0.8)
    guard = guard_band_for_risk(prior, 0.5, band, target)
    assert guard > 0
    found = global_risks(prior, 0.5, band, acceptance_band(band, guard))
    assert found.consumer == pytest.approx(target, rel=1e-5)
    assert guard_band_for_risk(prior, 0.5, band, 0.2) == 0


def test_risks_refuse_what_they_cannot_work_with():
    with pytest.raises(ValueError, match="doubt"):
        global_risks(normal_prior(10, 1), 0.0, (9, 11), (9, 11))
    with pytest.raises(ValueError, match="risk"):
        guard_band_for_risk(normal_prior(10, 1), 0.5, (9, 11), 0.0)

"""Forecast scores: properties, extremes and two roads."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.maths.scoring import (
    ForecastGroup,
    brier_parts,
    brier_score,
    forecast_groups,
    mean_ranked_probability_score,
    ranked_probability_score,
)

rows = st.lists(st.tuples(st.sampled_from([0, 0.1, 0.25, 0.5, 0.8, 1]), st.booleans()), min_size=1, max_size=40)
shares = st.lists(st.floats(0.001, 1), min_size=1, max_size=6).map(lambda xs: [x / sum(xs) for x in xs])


@given(rows=rows)
def test_parts_add_up_to_the_score(rows):
    forecasts, happened = zip(*rows, strict=True)
    parts = brier_parts(forecast_groups(forecasts, happened))
    assert parts.score == pytest.approx(brier_score(forecasts, happened), abs=1e-12)
    assert min(parts.reliability, parts.resolution, parts.uncertainty) >= 0
    assert parts.uncertainty <= 0.25


@given(rows=rows)
def test_order_of_the_forecasts_is_nothing(rows):
    forwards, backwards = forecast_groups(*zip(*rows, strict=True)), forecast_groups(*zip(*rows[::-1], strict=True))
    assert forwards == backwards


def test_known_scores():
    assert brier_score([1, 0], [True, False]) == 0
    assert brier_score([0, 1], [True, False]) == 1
    assert brier_score([0.5] * 4, [True, False, True, True]) == 0.25


def test_always_saying_the_base_rate_has_no_skill():
    parts = brier_parts(forecast_groups([0.25] * 4, [True, False, False, False]))
    assert (parts.reliability, parts.resolution, parts.skill) == (0, 0, 0)


def test_nothing_forecast_is_nothing_known():
    assert brier_score([], []) is None
    assert brier_parts([]) is None
    assert brier_parts([ForecastGroup(0.5, 0.5, 0)]) is None
    assert mean_ranked_probability_score([], []) is None


def test_skill_is_unknown_when_only_one_thing_ever_happened():
    parts = brier_parts(forecast_groups([0.9, 0.8], [True, True]))
    assert parts.skill is None


@given(chance=st.floats(0, 1), happened=st.booleans())
def test_ranked_score_on_two_levels_is_the_brier_score(chance, happened):
    ranked = ranked_probability_score([1 - chance, chance], int(happened))
    assert ranked == pytest.approx(brier_score([chance], [happened]), abs=1e-9)


@given(chances=shares, data=st.data())
def test_ranked_score_equals_the_sum_of_brier_scores_at_each_step(chances, data):
    """Two roads: a Brier score for 'at most level j', added over the levels below the top."""
    level = data.draw(st.integers(0, len(chances) - 1))
    steps = [brier_score([min(1.0, sum(chances[: j + 1]))], [level <= j]) for j in range(len(chances) - 1)]
    found = ranked_probability_score(chances, level)
    assert found == pytest.approx(sum(steps), abs=1e-9)
    assert 0 <= found <= max(0, len(chances) - 1) + 1e-9
    assert ranked_probability_score(chances, level, normalised=True) <= 1 + 1e-9


def test_a_near_miss_costs_less_than_a_far_one():
    sure = [1.0, 0.0, 0.0, 0.0]
    assert [ranked_probability_score(sure, level) for level in range(4)] == [0, 1, 2, 3]
    assert mean_ranked_probability_score([sure, sure], [1, 3], normalised=True) == pytest.approx(2 / 3)


@given(truth=shares.filter(lambda p: len(p) > 1), guess=shares)
def test_the_honest_forecast_scores_best_on_average(truth, guess):
    if len(guess) != len(truth):
        guess = [1 / len(truth)] * len(truth)
    mean = [sum(p * ranked_probability_score(f, y) for y, p in enumerate(truth)) for f in (truth, guess)]
    assert mean[0] <= mean[1] + 1e-9


def test_impossible_forecasts_are_refused():
    with pytest.raises(ValueError, match="not a chance"):
        brier_score([1.2], [True])
    with pytest.raises(ValueError, match="not a chance"):
        brier_score([float("nan")], [True])
    with pytest.raises(ValueError, match="add up"):
        ranked_probability_score([0.5, 0.4], 0)
    for level in (-1, 2):
        with pytest.raises(ValueError, match="scale"):
            ranked_probability_score([0.5, 0.5], level)
    with pytest.raises(ValueError, match="shorter"):
        brier_score([0.5], [])

"""Rounding never makes a claim: what is shown is never better, surer or rounder than what was reckoned."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.domain.grading import CriterionGrade, Score
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType
from evalkit.domain.reading import CutResult, NotSeen, Reading, SeenLevel, SeenMeasure, Stage, Unseen
from evalkit.domain.tally import MeanScore
from evalkit.maths.proportions import proportion
from evalkit.reports.figures import (
    band_words,
    chance_words,
    kappa_range_words,
    kappa_words,
    level_words,
    list_words,
    measure_words,
    number_words,
    percent_words,
    range_words,
    reading_words,
    score_words,
    share_words,
    signed_words,
)
from tests.reports.values import RUBRIC, cut, mm

SCORES = st.floats(0, 100)
SLACK = 1e-7


def shown(words: str) -> list[float]:
    """The numbers in `words`, a typographer's minus taken for what it is."""
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", words.replace("−", "-"))]


@given(SCORES)
def test_a_score_is_shown_at_most_a_tenth_low_and_never_high(score: float):
    (number,) = shown(score_words(score))
    assert number - SLACK <= score < number + 0.1 + SLACK


@pytest.mark.parametrize(("score", "words"), [(74.97, "74.9"), (74.999999, "74.9"), (75.0, "75.0"), (99.99, "99.9")])
def test_a_score_under_the_mark_never_looks_like_the_mark(score: float, words: str):
    assert score_words(score) == words


def test_a_score_that_floats_put_a_hair_below_its_tenth_is_not_robbed_of_it():
    assert score_words(100 * 87 / 150) == "58.0"
    assert score_words(0.1 * 3 * 10) == "3.0"
    assert score_words(None) == "not seen"


@given(SCORES, SCORES)
def test_a_range_is_shown_no_narrower_than_it_is(one: float, other: float):
    low, high = sorted((one, other))
    words = range_words(Score(seen=low, lo=low, hi=high))
    if low == high:
        assert words == ""
    else:
        first, last = shown(words)
        assert first <= low + SLACK
        assert last >= high - SLACK


def test_the_mean_of_a_round_keeps_the_same_rule():
    assert range_words(MeanScore(seen=50.0, lo=40.05, hi=60.01, n_pairs=2, n_seen=2)) == "40.0 to 60.1"


@given(st.integers(0, 3000), st.integers(0, 3000))
def test_none_and_all_are_said_only_when_exact(k: int, extra: int):
    n = k + extra
    words = share_words(proportion(k, n))
    if n == 0:
        assert words == "nothing to count"
        return
    counted, of, percent, low, high = shown(words)
    assert (counted, of) == (k, n)
    assert (percent == 0) == (k == 0)
    assert (percent == 100) == (k == n)
    interval = proportion(k, n).interval
    assert interval is not None
    assert low <= interval.low * 100 + SLACK
    assert high >= interval.high * 100 - SLACK
    assert 0 <= low <= percent <= high <= 100


@given(st.floats(0, 1))
def test_a_chance_from_a_model_is_never_nought_and_never_sure(chance: float):
    (percent,) = shown(chance_words(chance))
    assert 1 <= percent <= 99
    assert abs(percent - chance * 100) <= 1


def test_a_share_of_nothing_is_not_known():
    assert percent_words(None) == "not known"
    assert percent_words(0) == "0 %"
    assert percent_words(1) == "100 %"
    assert percent_words(0.9999) == "99 %"
    assert percent_words(0.0001) == "1 %"


@given(st.floats(-1, 1))
def test_a_coefficient_is_one_only_when_exact(value: float):
    (number,) = shown(kappa_words(value))
    assert (abs(number) == 1) == (abs(value) == 1)
    assert abs(number - value) <= 0.01 + SLACK


@given(st.floats(-1, 1), st.floats(-1, 1))
def test_the_interval_of_a_coefficient_is_shown_no_narrower(one: float, other: float):
    low, high = sorted((one, other))
    first, last = shown(kappa_range_words(low, high))
    assert first <= low + SLACK
    assert last >= high - SLACK


@given(st.floats(-50, 50))
def test_a_difference_keeps_its_sign_however_small(difference: float):
    words = signed_words(difference)
    assert words[0] == ("0" if difference == 0 else "+" if difference > 0 else "−")
    assert "-" not in words


def test_a_difference_in_plain_cases():
    assert signed_words(0.0) == "0.0"
    assert signed_words(-0.01) == "−0.0"
    assert signed_words(0.3, 2) == "+0.30"
    assert signed_words(None) == "not known"


@given(st.floats(0, 1000))
def test_a_measured_number_is_never_rounded_to_nought(number: float):
    words = number_words(number)
    assert (float(words) == 0) == (number == 0)
    assert abs(float(words) - number) <= 0.0005 + SLACK
    assert not words.endswith(".")
    assert "e" not in words


@pytest.mark.parametrize(
    ("number", "words"),
    [(0, "0"), (100, "100"), (0.40, "0.4"), (6.35, "6.35"), (0.1234, "0.123"), (0.0004, "0.0004"), (1200, "1200")],
)
def test_a_measured_number_reads_as_written_by_hand(number: float, words: str):
    assert number_words(number) == words


def test_no_bound_is_told_as_such():
    assert number_words(math.inf) == "∞"


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        (mm(0.4), "0.4 mm"),
        (mm(0.4, 0.05), "0.4 ± 0.05 mm"),
        (SeenMeasure(number=0.25, unit=Unit.INCH), "0.25 in"),
        (SeenMeasure(number=45, unit=Unit.DEG_INCLUDED), "45° included"),
        (SeenMeasure(number=35, unit=Unit.DEG_DIAL, doubt=2), "35 ± 2° on the dial"),
        (SeenMeasure(number=3, unit=Unit.COUNT), "3 counted"),
        (
            SeenMeasure(number=30, unit=Unit.DEG_OPEN, ring=Blade.FINGER, start_deg=90),
            "30° open (finger ring held, from 90°)",
        ),
    ],
)
def test_a_measure_carries_unit_convention_and_doubt(seen: SeenMeasure, words: str):
    assert measure_words(seen) == words


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        (SeenLevel(level=2), "level 2"),
        (cut(), "clean"),
        (cut(CutResult.PUSH, 3), "push 3 mm"),
        (cut(CutResult.PUSH), "push"),
        (NotSeen(why=Unseen.COULD_NOT), "could not"),
        (mm(1), "1 mm"),
    ],
)
def test_every_kind_of_reading_has_words(seen, words: str):
    assert reading_words(Reading(number=1, stage=Stage.AS_RETURNED, criterion="hair", seen=seen)) == words


def test_a_reading_that_is_not_there_was_not_tested():
    assert reading_words(None) == "not tested"


@pytest.mark.parametrize(
    ("reachable", "seen", "is_transit", "words"),
    [
        ((2,), 2, False, "2"),
        ((0, 1, 2, 3), 3, False, "0 to 3"),
        ((0, 1, 2, 3), None, False, "not tested"),
        ((0, 1, 2, 3), None, True, "in transit"),
        ((3,), None, False, "not tested"),
    ],
)
def test_a_level_is_a_range_while_it_is_open(reachable, seen, is_transit, words: str):
    on = RUBRIC.by_key["tips"].on(EdgeType.CONVEX)
    assert level_words(CriterionGrade(on, (), reachable, seen, {}, is_transit)) == words
    assert level_words(None) == "–"


def test_a_band_is_said_in_the_unit_of_its_criterion():
    on = RUBRIC.by_key["ride-line"].on(EdgeType.CONVEX)
    assert band_words(on, 0.05, 1.0) == "0.05 to 1 mm"
    assert band_words(on, -math.inf, 1.0) == "up to 1 mm"
    assert band_words(on, 0.05, math.inf) == "0.05 mm or more"


def test_a_list_is_said_as_a_person_says_it():
    assert [list_words(words) for words in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "", "a", "a and b", "a, b and c",
    ]  # fmt: skip

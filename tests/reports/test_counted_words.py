"""Counts beside the model: plain words, and a sentence where the two are apart."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evalkit.domain.triage import Decision
from evalkit.maths.proportions import proportion
from evalkit.progress.counting import LatestPairs
from evalkit.progress.history import history_of
from evalkit.progress.learning import Signal, Trial
from evalkit.reports.counted_words import apart_words, latest_words, learning_method, learning_words, run_words
from evalkit.reports.progress_rows import progress_row
from tests.progress.boxes import FIRST_DAY, NIA, alike, box

LATEST = LatestPairs(proportion(13, 20), 3, 0.4641, 1, 20, 39, proportion(17, 23))
FOUND = history_of(NIA, [box("nia-0", alike(6))]).readiness


@pytest.mark.parametrize(
    ("joint", "says"),
    [
        (0.88, "The model's 88 % lies above the count of 13 of 20 (65 %; 43 to 82 %): the model weighs how hard"),
        (0.82, "lies above the count"),  # 81.9 % is the upper end
        (0.81, ""),
        (0.65, ""),
        (0.44, ""),
        (0.42, "The model's 42 % lies below the count of 13 of 20 (65 %; 43 to 82 %)"),
        (None, ""),
    ],
)
def test_it_is_told_why_count_and_model_differ_only_where_they_surely_do(joint: float | None, says: str):
    said = apart_words(replace(FOUND, joint=joint), LATEST)
    assert (len(said) == 1) == bool(says)
    assert all(says in one for one in said)


def test_nothing_counted_differs_from_nothing():
    assert apart_words(replace(FOUND, joint=0.9), replace(LATEST, share=proportion(0, 0))) == ()


def test_a_bound_is_told_in_whole_per_cent_and_never_rounded_up():
    assert "at least 46 % would pass" in run_words(LATEST)
    assert "at least 46 % would pass" in run_words(replace(LATEST, run_bound=0.46999))
    assert not any("." in one.replace(". ", " ").rstrip(".") for one in latest_words(LATEST))


def test_the_points_are_told_without_the_words_of_statistics():
    trials = (Trial("nia-1", 1, True, 0.6), Trial("nia-1", 2, True, 1.25))
    assert learning_words(Signal((), 4.9, None, 0)) == "Pair by pair, easy and hard alike: no pair to count yet."
    assert learning_words(Signal(trials, 4.9, None, 0)) == (
        "Pair by pair, easy and hard alike, 'learnt' is not said so far: 1.2 of the 4.9 points it takes."
    )
    assert "'learnt' was said at pair 1 of round nia-1; now 1.2 of the" in learning_words(Signal(trials, 0.5, 1, 0))
    assert "CUSUM" in learning_method()


def test_a_count_that_is_not_the_box_says_so_beside_it():
    decisions = {2: Decision.LEAVE, 4: Decision.ADJUST_ONLY}
    rounds = [
        box("nia-0", alike(6), decisions=decisions, called_for=decisions),
        box("nia-1", alike(6), months=1.5),
    ]
    row = progress_row(history_of(NIA, rounds), made_on=FIRST_DAY)
    first, second = row.rounds
    assert (first.n_pairs, second.n_pairs) == ("4 of 6", "6")
    assert (first.kinds, first.aside) == ("4 ordinary", "no. 2 rightly left alone; no. 4 rightly only adjusted")
    assert (second.kinds, second.aside) == ("6 ordinary", "")
    assert row.span.startswith("2 rounds, 10 marked pairs of 12 sent, from ")
    assert progress_row(history_of(NIA, rounds[1:]), made_on=FIRST_DAY).span.startswith("1 round, 6 marked pairs, on ")

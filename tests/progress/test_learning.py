"""The running scores: what they count, when they signal, what their limits were set for."""

from __future__ import annotations

import math

import pytest

from evalkit.domain.pair import EdgeType
from evalkit.domain.signoff import SignOff
from evalkit.maths.cusum import drift_weights, learning_weights, signal_chance
from evalkit.progress.learning import (
    ADEQUATE_FAILURES,
    FALSE_SIGNAL_CHANCE,
    INADEQUATE_FAILURES,
    WITHIN_PAIRS,
    drift_watch,
    learning_signal,
)
from evalkit.progress.lining_up import line_up
from tests.progress.boxes import box, days_later

PASS = {"burr": 2, "tips": 3}
MISS = {"burr": 1, "tips": 3}


def signed(months: float, kind: EdgeType = EdgeType.BEVEL) -> SignOff:
    return SignOff(
        trainee_key="nia",
        mentor_key="oda",
        edge_types=(kind,),
        signed_on=days_later(months),
        answers={kind: "ready"},
        evidence="{}",
    )


def test_nobody_starts_as_learnt():
    found = learning_signal(line_up([], "nia"))
    assert (found.trials, found.at, found.score) == ((), None, 0.0)


def test_the_path_by_hand():
    found = learning_signal(line_up([box("nia-1", [PASS, PASS, MISS, {"burr": 2}, PASS])], "nia"))
    up = math.log(0.9 / 0.65)
    assert [trial.score for trial in found.trials] == pytest.approx([up, 2 * up, 0.0, up])
    assert found.n_not_shown == 1
    assert found.at is None


def test_it_signals_after_enough_clean_pairs_and_names_the_pair():
    found = learning_signal(line_up([box("nia-1", [MISS] + [PASS] * 19)], "nia"))
    up = math.log(0.9 / 0.65)
    assert found.signalled_by.number == 1 + math.ceil(found.limit / up)


def test_the_limits_keep_their_promise():
    line = line_up([box("nia-1", [PASS])], "nia")
    rates = ADEQUATE_FAILURES, INADEQUATE_FAILURES
    limit = learning_signal(line).limit
    assert signal_chance(learning_weights(*rates), limit, INADEQUATE_FAILURES, WITHIN_PAIRS) <= FALSE_SIGNAL_CHANCE
    limit = drift_watch(line, signed(0)).signal.limit
    assert signal_chance(drift_weights(*rates), limit, ADEQUATE_FAILURES, WITHIN_PAIRS) <= FALSE_SIGNAL_CHANCE


def test_the_alarm_counts_only_what_came_after_the_sign_off():
    rounds = [box("nia-1", [MISS] * 12), box("nia-2", [PASS] * 4, months=2)]
    watch = drift_watch(line_up(rounds, "nia"), signed(1))
    assert len(watch.signal.trials) == 4
    assert watch.signal.at is None


def test_the_alarm_rings_when_failures_come():
    rounds = [box("nia-1", [PASS] * 12), box("nia-2", [MISS] * 8, months=2)]
    watch = drift_watch(line_up(rounds, "nia"), signed(1))
    assert watch.signal.signalled_by.round_key == "nia-2"
    assert watch.signal.at < 8


def test_another_edge_type_does_not_ring_it():
    rounds = [box("nia-1", [PASS]), box("nia-2", [MISS] * 8, months=2, edge_type=EdgeType.SWORD)]
    assert drift_watch(line_up(rounds, "nia"), signed(1)).signal.trials == ()

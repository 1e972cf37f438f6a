"""Plain counts by hand; the reading of a row without a failure against published plans."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.pair import EdgeType
from evalkit.domain.verdict import Verdict
from evalkit.progress.counting import Passed, count_rounds, latest_pairs, passed_of
from evalkit.progress.lining_up import line_up
from tests.progress.boxes import alike, box, criterion, rubric

PLANS = Path(__file__).parent.parent / "published" / "data" / "zero_failure_plans.json"

PASS = {"burr": 2, "tips": 3, "finish": 2}
MISS = {"burr": 1, "tips": 3, "finish": 2}
OPEN = {"burr": 2, "finish": 2}


def counts(*rounds, kinds=None):
    return count_rounds(line_up(rounds, "nia"), kinds)


def latest(*rounds):
    return latest_pairs(line_up(rounds, "nia"))


@pytest.mark.parametrize(("row", "said"), [(PASS, Passed.YES), (MISS, Passed.NO), (OPEN, Passed.NOT_SHOWN)])
def test_passed_is_shown_or_it_is_not(row, said):
    (pair,) = box("nia-1", [row]).pairs
    assert passed_of(pair) is said


def test_without_a_must_pass_nothing_is_shown():
    (pair,) = box("nia-1", [{"burr": 3}], by=rubric(criterion("burr", must_pass=None))).pairs
    assert passed_of(pair) is Passed.NOT_SHOWN


def test_a_round_by_hand():
    rows = [PASS, MISS, OPEN, PASS]
    own = [PASS, {"burr": 2, "tips": 2, "finish": 2}, PASS, {"burr": 1, "tips": 2, "finish": 2}]
    received = [{"burr": 1, "tips": 3, "finish": 3}, {"burr": 2, "tips": 3}, {}, {}]
    (one,) = counts(box("nia-1", rows, own=own, received=received, difficulty=[2, 3, 1, 2], minutes=40))
    assert (one.n_pairs, one.n_ordinary, one.n_harder, one.n_easier) == (4, 2, 1, 1)
    assert (one.accepted.k, one.accepted.n, one.n_rework, one.n_not_shown) == (2, 4, 1, 1)
    assert (one.passed.k, one.passed.n) == (2, 3)  # the open pair shows neither
    # The trainee accepts pairs 1, 2 and 3; the mentor sends 2 back and cannot judge 3.
    assert (one.gone_out.k, one.gone_out.n, one.n_accepted_unjudged) == (1, 2, 1)
    # Faults seen by the mentor: the burr of pair 2, which the trainee passed. False alarm: the burr of pair 4.
    assert (one.catch.k, one.catch.n) == (0, 1)
    assert (one.false_alarm.k, one.false_alarm.n) == (1, 10)
    # Pair 1: burr improved, tips kept, finish harmed; pair 2: burr harmed, tips kept.
    assert (one.harmed.k, one.harmed.n) == (2, 5)
    # Both by the trainee's eyes. Pair 1: burr improved, tips kept, finish lower; pair 2: burr kept, tips lower.
    assert (one.worse_own_eyes.k, one.worse_own_eyes.n) == (2, 5)
    assert (one.minutes.n, one.minutes.median) == (4, 40)
    assert (one.removed_mm.n, one.removed_mm.median) == (0, None)
    assert one.catch.interval.low == 0


def test_what_only_the_mentor_finds_worse_is_not_worse_by_own_eyes():
    fair = {"burr": 2, "tips": 2, "finish": 2}
    kind = {"burr": 3, "tips": 3, "finish": 3}
    (one,) = counts(box("nia-1", [fair], own=[kind], received=[kind]))
    assert (one.harmed.k, one.harmed.n) == (3, 3)
    assert (one.worse_own_eyes.k, one.worse_own_eyes.n) == (0, 3)


def test_nothing_to_count_is_none_and_not_nought():
    (one,) = counts(box("nia-1", [{}]))
    for share in (one.passed, one.gone_out, one.catch, one.false_alarm, one.harmed):
        assert share.n == 0
        assert share.value is None


def test_own_verdict_decides_what_would_have_gone_out():
    (one,) = counts(box("nia-1", [MISS, MISS], verdicts={1: Verdict.ACCEPTED, 2: Verdict.REWORK}))
    assert (one.gone_out.k, one.gone_out.n) == (1, 1)


def test_edge_types_apart():
    result = box("nia-1", [PASS, MISS], edge_type=[EdgeType.BEVEL, EdgeType.SWORD])
    (one,) = counts(result, kinds=(EdgeType.SWORD,))
    assert (one.n_pairs, one.passed.k) == (1, 0)
    assert counts(result, kinds=(EdgeType.CONVEX,)) == ()


def test_the_row_counts_back_from_the_newest_ordinary_pair():
    found = latest(
        box("nia-1", [PASS, MISS, PASS]), box("nia-2", [PASS, OPEN, MISS, PASS], months=1, difficulty=[2, 2, 4, 2])
    )
    # Ordinary and shown: pass, miss, pass, pass, pass. The hard miss is not ordinary; the open pair shows nothing.
    assert (found.run, found.n_not_shown) == (3, 1)
    assert (found.share.k, found.share.n) == (4, 5)
    assert (found.last_rounds.k, found.last_rounds.n) == (4, 6)


def test_the_latest_twenty_only():
    found = latest(box("nia-1", [MISS] * 5), box("nia-2", [PASS] * 20, months=1))
    assert (found.share.k, found.share.n, found.run) == (20, 20, 20)
    assert (found.n_passed, found.n_shown) == (20, 25)


def test_no_clean_pair_gives_no_reading():
    assert latest(box("nia-1", [MISS])).run_bound is None
    assert latest().run_bound is None


def test_the_reading_of_a_clean_row_agrees_with_published_plans():
    """Zero-failure plans (Hanley & Lippman-Hand 1983): n clean trials show the reliability that needs n trials."""
    plans = json.loads(PLANS.read_text(encoding="utf-8"))["n_zero_failures"]
    told = {float(name.removeprefix("R=")): row["C=0.90"] for name, row in plans.items()}
    assert told[0.9] == 22
    for reliability, n in told.items():
        if n <= 60:
            assert latest(box("nia-1", [PASS] * n)).run_bound >= reliability
            assert latest(box("nia-1", [PASS] * (n - 1))).run_bound < reliability


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from([PASS, MISS, OPEN]), max_size=12), st.integers(0, 12))
def test_every_pair_is_counted_once(rows, cut):
    rounds = [box(f"nia-{at}", part, months=at) for at, part in enumerate((rows[:cut], rows[cut:])) if part]
    found = counts(*rounds)
    assert sum(one.n_pairs for one in found) == len(rows)
    assert sum(one.accepted.k + one.n_rework + one.n_not_shown for one in found) == len(rows)
    shown = [row for row in rows if row is not OPEN]
    read = latest(*rounds)
    assert (read.n_passed, read.n_shown) == (shown.count(PASS), len(shown))
    assert read.run == next((at for at, row in enumerate(reversed(shown)) if row is MISS), len(shown))
    assert read.n_not_shown == len(rows) - len(shown)


def test_alike_is_what_it_says():
    assert alike(2, 1) == [{"burr": 1, "tips": 1, "finish": 1}] * 2

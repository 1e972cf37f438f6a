"""What the mentor saw before posting, in the trainee's eyes as received; and what the work did, by her own eyes."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.comparing import Catches, Sight
from evalkit.domain.harm import Change
from evalkit.domain.intake import Intake, IntakePair
from evalkit.domain.reading import Stage
from evalkit.domain.round import LegKind
from evalkit.domain.triage import Decision
from evalkit.progress.counting import count_rounds
from evalkit.progress.lining_up import line_up
from evalkit.progress.results import RoundResult, answer_round
from tests.progress.boxes import PLAIN, Levels, box, readings

KEYS = ("burr", "tips", "finish")


def intake_of(result: RoundResult, rows: Sequence[Levels]) -> Intake:
    round_ = result.round
    pairs = tuple(
        IntakePair(number=number, readings=readings(number, row, Stage.AS_RECEIVED))
        for number, row in enumerate(rows, 1)
    )
    return Intake(round_key=round_.key, mentor_key=round_.mentor.key, rubric_digest=round_.rubric_digest, pairs=pairs)


def read_before(result: RoundResult, rows: Sequence[Levels], *, said: str = "") -> RoundResult:
    """The same round with intake readings; `said` is what was written down when the trainee opened the box."""
    legs = tuple(
        leg.model_copy(update={"condition": said}) if leg.kind is LegKind.RECEIVED else leg for leg in result.round.legs
    )
    round_ = result.round.model_copy(update={"legs": legs})
    return answer_round(round_, result.rubric, result.assessment, result.marking, intake=intake_of(result, rows))


BOX = box(
    "nia-1",
    [{"burr": 3, "tips": 1, "finish": 3}, {"burr": 2}],
    received=[{"burr": 0, "tips": 3, "finish": 1}, {"burr": 3}],
)
BEFORE = [{"burr": 1, "tips": 1, "finish": 2}, {"burr": 1, "tips": 0}]


def test_found_missed_not_looked_for_and_imagined():
    found = read_before(BOX, BEFORE)
    assert [
        {one.on.key: one.sight for one in pair.found.criteria} for pair in found.pairs if pair.found
    ] == [
        {"burr": Sight.CAUGHT, "tips": Sight.MISSED, "finish": Sight.FALSE_ALARM},
        {"burr": Sight.MISSED, "tips": Sight.NOT_LOOKED, "finish": Sight.UNKNOWN},
    ]  # fmt: skip
    assert found.found == Catches(caught=1, missed=2, not_looked=1, false_alarm=1)
    assert (found.found_share.k, found.found_share.n) == (1, 4)
    assert (found.imagined_share.k, found.imagined_share.n) == (1, 1)


def test_report_and_progress_count_alike_though_a_pair_stands_aside():
    """Pair 2 was left alone: it makes no average, but what was there to find on it was there all the same."""
    left = box(
        "nia-1",
        [{"burr": 3, "tips": 1, "finish": 3}, {"burr": 2}],
        received=[{"burr": 0, "tips": 3, "finish": 1}, {"burr": 3}],
        decisions={2: Decision.LEAVE},
    )
    result = read_before(left, BEFORE)
    (counts,) = count_rounds(line_up([result], "nia"))
    assert (counts.n_pairs, counts.n_in_box) == (1, 2)
    assert counts.found == result.found_share
    assert (counts.found.k, counts.found.n, counts.n_found_not_looked) == (1, 4, 1)
    assert counts.imagined == result.imagined_share
    (of_convex,) = count_rounds(line_up([result], "nia"), [result.pairs[0].numbered.pair.edge_type])
    assert of_convex.found == counts.found


def test_without_intake_nothing_is_said_of_it():
    assert (BOX.intake, BOX.found) == (None, Catches())
    assert BOX.found_share.interval is None
    assert all(pair.posted is None and pair.found is None and not pair.is_change_by_mentor for pair in BOX.pairs)


def test_what_the_work_did_is_by_the_mentors_own_eyes_where_she_read_the_pair():
    found = read_before(BOX, [BEFORE[0], {}])
    first, second = found.pairs
    assert {one.on.key: one.change for one in BOX.pairs[0].changes} == {
        "burr": Change.IMPROVED, "tips": Change.HARMED, "finish": Change.IMPROVED,
    }  # fmt: skip
    assert {one.on.key: one.change for one in first.changes} == {
        "burr": Change.IMPROVED, "tips": Change.KEPT, "finish": Change.IMPROVED,
    }  # fmt: skip
    assert first.is_change_by_mentor
    assert (second.posted, second.found, second.is_change_by_mentor) == (None, None, False)
    assert second.changes == BOX.pairs[1].changes


@pytest.mark.parametrize("said", ["Missing: pair 1.", "Damaged in transit: pair 1. Pair 1: tip chipped. Box wet"])
def test_what_the_way_out_spoiled_is_held_against_nobody(said: str):
    found = read_before(BOX, BEFORE, said=said)
    assert (found.pairs[0].posted, found.pairs[0].found) == (None, None)
    assert found.pairs[0].changes == BOX.pairs[0].changes
    assert found.found == Catches(missed=1, not_looked=1)


def test_a_pair_nobody_assessed_is_not_set_beside_it():
    alone = answer_round(BOX.round, BOX.rubric, None, None, intake=intake_of(BOX, BEFORE))
    assert alone.found == Catches()
    assert [pair.posted is not None for pair in alone.pairs] == [True, True]
    assert all(one.change is Change.CANNOT_TELL for pair in alone.pairs for one in pair.changes)


level = st.none() | st.integers(0, 3)
rows = st.lists(st.fixed_dictionaries(dict.fromkeys(KEYS, level)), min_size=3, max_size=3)


@settings(max_examples=200, deadline=None)
@given(rows, rows)
def test_the_counts_are_those_of_counting_one_by_one(before: list[Levels], received: list[Levels]):
    found = read_before(box("nia-1", [{}, {}, {}], received=received), before)
    counts = {"found": 0, "missed": 0, "not looked": 0, "imagined": 0, "clean": 0}
    for hers, theirs in zip(before, received, strict=True):
        for key in KEYS:
            mine, own = hers[key], theirs[key]
            if mine is None:
                continue
            if mine < PLAIN.fit:
                counts["not looked" if own is None else "found" if own < PLAIN.fit else "missed"] += 1
            elif own is not None:
                counts["imagined" if own < PLAIN.fit else "clean"] += 1
    assert found.found == Catches(*counts.values())


@pytest.mark.parametrize(("k", "n", "low", "high"), [(0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)])
def test_the_interval_of_the_found_share_is_the_published_one(k: int, n: int, low: float, high: float):
    # Newcombe 1998, Statistics in Medicine 17:857-872, Table I, method 3 (Wilson), 4 decimals.
    received = [{"burr": 0 if at < k else 2} for at in range(n)]
    share = read_before(box("nia-1", [{}] * n, received=received), [{"burr": 1}] * n).found_share
    assert (share.k, share.n) == (k, n)
    assert share.interval is not None
    assert [share.interval.low, share.interval.high] == pytest.approx([low, high], abs=5.1e-5)


def test_over_the_months_each_round_tells_its_own():
    later = box("nia-2", [{"burr": 3}], received=[{"burr": 1}], months=2)
    first, second = count_rounds(line_up([read_before(BOX, BEFORE), later], "nia"))
    assert [(one.found.k, one.found.n) for one in (first, second)] == [(1, 4), (0, 0)]
    assert [(one.imagined.k, one.imagined.n, one.n_found_not_looked) for one in (first, second)] == [
        (1, 1, 1), (0, 0, 0),
    ]  # fmt: skip
    plain, _ = count_rounds(line_up([BOX, later], "nia"))
    assert (first.harmed, first.worse_own_eyes) == (plain.harmed, plain.worse_own_eyes), "two pairs of eyes stay two"
    assert (first.worse_mentor_eyes.k, first.worse_mentor_eyes.n) == (0, 4)
    assert plain.worse_mentor_eyes.n == 0

"""From rounds to the model's observations: what appears, what does not, and that the model reads it."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.criterion import OnType, Use
from evalkit.domain.pair import EdgeType, Station
from evalkit.domain.triage import Decision
from evalkit.maths.skill.input import read_observations
from evalkit.progress.lining_up import line_up
from evalkit.progress.observing import observe
from tests.progress.boxes import PLAIN, alike, box, criterion, rubric


def observed(*rounds, kinds=None):
    return observe(line_up(rounds, "nia"), kinds)


def test_a_round_by_hand():
    found = observed(
        box(
            "nia-1",
            [{"burr": 2, "tips": 1, "finish": 3}, {"burr": 3, "tips": None}],
            own=[{"burr": 3, "tips": 2}, {"burr": 3, "tips": 3}],
            difficulty=[2, 4],
            tags={2: ("nick", "nick", "dull")},
        )
    )
    assert found.observations == {
        "levels": 4,
        "required_level": 2,
        "criteria": ["burr", "tips", "finish"],
        "must_pass": ["burr", "tips"],
        "rounds": [{"round": "nia-1", "months": 0.0}],
        "pairs": [
            {
                "round": "nia-1", "pair": 1, "difficulty": 0.0, "tags": [], "mentor": "oda",
                "scores": {"burr": 2, "tips": 1, "finish": 3}, "self": {"burr": 3, "tips": 2, "finish": None},
            },
            {
                "round": "nia-1", "pair": 2, "difficulty": 2.0, "tags": ["dull", "nick"], "mentor": "oda",
                "scores": {"burr": 3, "tips": None, "finish": None}, "self": {"burr": 3, "tips": None, "finish": None},
            },
        ],
    }  # fmt: skip
    assert found.left_out.not_seen == 2
    seen = read_observations(found.observations)
    assert seen.level.tolist() == [[[2, 1, 3], [3, -1, -1]]]
    assert seen.self_level.tolist() == [[[3, 2, -1], [3, -1, -1]]]


def test_advisory_and_not_applicable_do_not_appear():
    special = rubric(
        criterion("burr"),
        criterion("wet", types={EdgeType.SWORD: OnType(use=Use.ADVISORY)}),
        criterion("comb", types={EdgeType.SWORD: OnType(use=Use.NOT_APPLICABLE)}),
        criterion("shine", must_pass=None, weight=0),
    )
    found = observed(box("nia-1", [{"burr": 2, "wet": 3, "shine": 1}], by=special, edge_type=EdgeType.SWORD))
    assert found.observations["criteria"] == ["burr"]
    assert found.observations["must_pass"] == ["burr"]
    assert found.observations["pairs"][0]["scores"] == {"burr": 2}


def test_what_the_post_spoiled_does_not_appear():
    found = observed(box("nia-1", alike(2, 0), transit={1: ("tips",)}))
    assert [pair["scores"]["tips"] for pair in found.observations["pairs"]] == [None, 0]
    assert found.left_out.in_transit == 1


def test_an_unsettled_level_does_not_appear_and_is_counted():
    split = rubric(criterion("edge", stations=tuple(Station)), criterion("tips"))
    # Two of three stations are not seen. The worst place counts: 3 leaves 0 to 3 open, 1 leaves 0 to 1 and is short
    # either way, 0 is settled.
    found = observed(box("nia-1", [{"edge": 3}, {"edge": 1}, {"edge": 0}], by=split, station=Station.TIP))
    assert [pair["scores"]["edge"] for pair in found.observations["pairs"]] == [None, None, 0]
    assert (found.left_out.unsettled, found.left_out.surely_short) == (2, 1)


def test_pairs_outside_the_average_do_not_appear():
    found = observed(box("nia-1", alike(3), decisions={2: Decision.LEAVE}, called_for={2: Decision.LEAVE}))
    assert [pair["pair"] for pair in found.observations["pairs"]] == [1, 3]
    assert found.n_outside == 1


def test_unmarked_pairs_do_not_appear():
    assert observed(box("nia-1", alike(2), is_marked=False)).n_pairs == 0


def test_edge_types_apart():
    kinds = [EdgeType.BEVEL, EdgeType.CONVEX, EdgeType.CONVEX]
    rounds = [box("nia-1", alike(3), edge_type=kinds), box("nia-2", alike(1), months=1)]
    found = observed(*rounds, kinds=(EdgeType.CONVEX,))
    assert found.edge_types == (EdgeType.CONVEX,)
    assert [pair["pair"] for pair in found.observations["pairs"]] == [2, 3]
    assert [one["round"] for one in found.observations["rounds"]] == ["nia-1"]


def test_a_criterion_added_or_dropped_is_matched_by_key():
    wide = rubric(criterion("tips"), criterion("set"), key="wide")
    found = observed(box("nia-1", alike(1)), box("nia-2", [{"tips": 2, "set": 1}], by=wide, months=1))
    assert found.observations["criteria"] == ["tips", "set", "burr", "finish"]
    assert found.observations["must_pass"] == ["tips", "set"]  # the newest rubric says what must be passed
    assert {one.key: one.n_levels for one in found.criteria} == {"tips": 2, "set": 1, "burr": 1, "finish": 1}
    assert read_observations(found.observations).level.shape == (2, 1, 4)


def test_a_must_pass_at_another_level_than_fit_is_shifted():
    strict = rubric(criterion("burr", must_pass=3), criterion("tips", must_pass=1), criterion("finish", must_pass=None))
    rows = [dict.fromkeys(("burr", "tips", "finish"), level) for level in range(4)]
    found = observed(box("nia-1", rows, by=strict))
    scores = [pair["scores"] for pair in found.observations["pairs"]]
    assert [row["burr"] for row in scores] == [0, 0, 1, 2]
    assert [row["tips"] for row in scores] == [1, 2, 3, 3]
    assert [row["finish"] for row in scores] == [0, 1, 2, 3]
    assert found.shifted == ("Burr", "Tips")
    assert {one.key: one.n_reached for one in found.criteria} == {"burr": 1, "tips": 3, "finish": 2}


LEVELS = st.one_of(st.none(), st.integers(0, 3))
ROWS = st.lists(st.fixed_dictionaries({"burr": LEVELS, "tips": LEVELS, "finish": LEVELS}), min_size=1, max_size=5)


@settings(max_examples=60, deadline=None)
@given(ROWS, st.integers(1, 5))
def test_what_the_mentor_saw_is_what_the_model_gets(rows, difficulty):
    found = observed(box("nia-1", rows, difficulty=difficulty))
    assert [pair["scores"] for pair in found.observations["pairs"]] == rows
    assert {pair["difficulty"] for pair in found.observations["pairs"]} == {difficulty - 2.0}
    n_seen = sum(level is not None for row in rows for level in row.values())
    assert sum(one.n_levels for one in found.criteria) == n_seen
    assert found.left_out.not_seen == 3 * len(rows) - n_seen
    assert PLAIN.top == found.observations["levels"] - 1

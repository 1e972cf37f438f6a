"""A whole history: what the model says, what a thin one may not say, and that a relapse shows in its round."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.pair import EdgeType
from evalkit.maths.skill import fit
from evalkit.progress.deciding import Answer, Lack, NoFigure
from evalkit.progress.history import history_of
from evalkit.progress.lining_up import Aside, line_up
from evalkit.progress.moves import Move
from evalkit.progress.observing import observe
from tests.progress.boxes import NIA, PLAIN, alike, box, criterion, rubric

KEYS = ("burr", "tips", "finish")


def history(*rounds, **more):
    return history_of(NIA, rounds, **more)


def drawn(key: str, mean: float, *, n: int = 10, months: float, seed: int, **more):
    """A round whose levels are drawn around `mean`."""
    luck = random.Random(f"{key}{seed}")
    rows = [{name: min(max(round(luck.gauss(mean, 0.6)), 0), 3) for name in KEYS} for _ in range(n)]
    return box(
        key, rows, months=months, own=[{name: min(level + 1, 3) for name, level in row.items()} for row in rows], **more
    )


RELAPSE = [drawn(f"nia-{at}", mean, months=1.5 * at, seed=4) for at, mean in enumerate((1.2, 2.2, 2.4, 1.0, 1.7))]


# --- thin and odd histories: an answer that says what is missing ---------------------------------------------------


def test_no_rounds():
    found = history()
    assert found.readiness.answer is Answer.NOT_ENOUGH_EVIDENCE
    assert found.readiness.no_figure is NoFigure.NO_ROUNDS
    assert found.readiness.joint is None
    assert found.modelled is None
    assert found.counts == ()


def test_only_an_unmarked_round():
    found = history(box("nia-1", alike(6), is_marked=False))
    assert found.readiness.no_figure is NoFigure.NO_ROUNDS
    assert [one.why for one in found.line.set_aside] == [Aside.NOT_MARKED]


@pytest.mark.parametrize("n", [1, 4])
def test_under_five_pairs_dots_only(n):
    found = history(box("nia-1", alike(n, 3)))
    assert found.readiness.no_figure is NoFigure.FEW_PAIRS
    assert found.readiness.answer is Answer.NOT_ENOUGH_EVIDENCE
    assert found.modelled is None
    assert found.counts[0].n_pairs == n
    lacks = {one.lack: (one.have, one.need) for one in found.readiness.needs}
    assert lacks[Lack.PAIRS] == (n, 20)


def test_nothing_scored_is_not_a_zero():
    found = history(box("nia-1", [{}] * 6))
    assert found.readiness.no_figure is NoFigure.NO_LEVELS
    assert found.readiness.joint is None
    assert found.counts[0].passed.n == 0


def test_no_must_pass():
    free = rubric(*(criterion(key, must_pass=None) for key in KEYS))
    found = history(box("nia-1", alike(6), by=free))
    assert found.readiness.no_figure is NoFigure.NO_MUST_PASS
    assert found.readiness.answer is Answer.NOT_ENOUGH_EVIDENCE
    assert found.modelled is not None  # skill is told, readiness is not
    assert all(end.joint is None for end in found.modelled.ends)


def test_all_levels_equal_still_needs_pairs_and_says_which_levels_never_came():
    found = history(box("nia-1", alike(12, 3)))
    assert found.readiness.answer is Answer.NOT_ENOUGH_EVIDENCE
    assert found.modelled.levels_never_used == (0, 1, 2)


def test_one_level_never_used():
    rows = [dict.fromkeys(KEYS, level) for level in (0, 2, 3, 2, 3, 0, 2)]
    assert history(box("nia-1", rows)).modelled.levels_never_used == (1,)


def test_almost_everything_missing_is_not_enough():
    rows = [{"burr": 3} if at in (0, 3, 9) else {} for at in range(34)]
    found = history(box("nia-1", rows[:17]), box("nia-2", [*rows[17:], {"tips": 3}, {"tips": 2}], months=1))
    assert (found.readiness.n_marked, found.readiness.n_pairs) == (36, 5)
    assert found.readiness.answer is Answer.NOT_ENOUGH_EVIDENCE
    lacking = {one.criterion for one in found.readiness.needs if one.lack is Lack.CELLS}
    assert lacking == {"Burr", "Tips"}
    assert not any(one.is_trend for one in found.modelled.criteria)
    assert found.modelled.never_scored == ("Finish",)


def test_pairs_without_a_level_do_not_count_towards_five():
    found = history(box("nia-1", [{"burr": 3}] + [{}] * 24))
    assert found.readiness.no_figure is NoFigure.FEW_PAIRS
    assert (found.readiness.n_marked, found.readiness.n_pairs, found.readiness.n_ordinary) == (25, 1, 1)
    assert found.modelled is None


def test_a_criterion_added_between_versions_is_thin_and_said():
    wide = rubric(*PLAIN.criteria, criterion("set"), key="wide")
    rounds = [box("nia-1", alike(12)), box("nia-2", [{**dict.fromkeys(KEYS, 3), "set": 3}] * 12, by=wide, months=1)]
    found = history(*rounds)
    (change,) = found.line.changes
    assert change.added == {"set": "Set"}
    skills = {one.key: one for one in found.modelled.criteria}
    assert skills["set"].n_seen == (0, 12)
    assert skills["set"].skill_sd[0] > skills["burr"].skill_sd[0]


def test_a_round_marked_twice_does_not_count_twice():
    once = history(box("nia-1", alike(6)), box("nia-2", alike(6), months=1))
    twice = history(box("nia-1", alike(6)), box("nia-1", alike(6, 0)), box("nia-2", alike(6), months=1))
    assert once.readiness == twice.readiness


# --- what the model says -------------------------------------------------------------------------------------------


def test_the_answers_are_those_of_the_skill_model():
    found = history(*RELAPSE)
    told = fit(observe(line_up(RELAPSE, "nia")).observations, {})
    for c, one in enumerate(found.modelled.criteria):
        assert list(one.skill) == pytest.approx([row[c] for row in told["mean"]])
        assert list(one.skill_sd) == pytest.approx([row[c] for row in told["sd"]])
        assert one.next_pair[0] == pytest.approx(told["next_pair"]["per_criterion"][c])
    assert found.readiness.joint == pytest.approx(told["next_pair"]["joint"])
    assert found.readiness.prob_at_target == pytest.approx(told["next_pair"]["prob_joint_at_least_target"])
    assert found.modelled.ends[-1].joint == pytest.approx(found.readiness.joint)
    bias = told["self_bias"]
    assert found.modelled.judgement.rounds[-1].bias == pytest.approx(sum(bias["mean"][-1]) / len(KEYS))


def test_a_relapse_is_visible_in_the_round_it_happens():
    """As it was known at the time: the line-up ends with the round of the relapse."""
    found = history(*RELAPSE[:4])
    assert [step.move for step in found.modelled.steps][-1] is Move.DOWN
    before, after = found.modelled.ends[-2:]
    assert after.joint_hi < before.joint_lo
    # And it stays visible when a better round follows.
    later = history(*RELAPSE)
    assert later.modelled.steps[2].move is Move.DOWN


def test_bands_hold_their_middle_and_lie_inside_chance():
    for one in history(*RELAPSE).modelled.criteria:
        for low, middle, high in zip(one.chance_lo, one.chance, one.chance_hi, strict=True):
            assert 0 < low < middle < high < 1


def test_what_all_need_together_is_more_than_the_target():
    found = history(*RELAPSE)
    assert 0.8 < found.modelled.each_needs < 1
    single = rubric(criterion("burr"))
    alone = history(box("nia-1", [{"burr": 2}] * 6, by=single))
    assert alone.modelled.each_needs == pytest.approx(0.8)


def test_a_kind_eye_is_told_and_no_drift_invented():
    judgement = history(*RELAPSE).modelled.judgement
    assert judgement.rounds[-1].bias > 0
    assert judgement.drift.move is Move.NOT_SHOWN  # the habit never changed, the levels did
    assert set(judgement.too_kind) == {"Burr", "Tips", "Finish"}


def test_without_own_levels_the_judgement_is_not_known():
    assert history(box("nia-1", alike(8))).modelled.judgement is None


def good_boxes(difficulty: int):
    rows = [dict.fromkeys(KEYS, (3, 2, 3, 2, 2, 3)[i % 6]) for i in range(11)] + [{"burr": 1, "tips": 2, "finish": 2}]
    return [box(f"nia-{at}", rows, months=at, difficulty=difficulty) for at in range(5)]


def test_a_steady_trainee_gets_ready():
    found = history(*good_boxes(2), is_brief=True)
    assert found.readiness.answer is Answer.READY
    assert found.readiness.needs == ()
    assert not found.readiness.hangs_on_prior


def test_the_same_levels_on_easy_pairs_say_less():
    easy, ordinary = (history(*good_boxes(difficulty), is_brief=True).readiness for difficulty in (1, 2))
    assert easy.answer is not Answer.READY
    assert easy.prob_at_target < ordinary.prob_at_target
    assert easy.n_ordinary == 0


def test_edge_types_get_their_own_answer():
    kinds = [EdgeType.BEVEL] * 9 + [EdgeType.CONVEX] * 3
    found = history(box("nia-1", alike(12), edge_type=kinds), box("nia-2", alike(12), edge_type=kinds, months=1))
    assert {one.edge_type: one.n_pairs for one in found.by_edge_type} == {EdgeType.CONVEX: 6, EdgeType.BEVEL: 18}
    alone = history(
        box("nia-1", alike(12), edge_type=kinds),
        box("nia-2", alike(12), edge_type=kinds, months=1),
        edge_types=(EdgeType.CONVEX,),
    )
    (convex,) = (one for one in found.by_edge_type if one.edge_type is EdgeType.CONVEX)
    assert alone.readiness == convex.readiness
    assert alone.by_edge_type == ()


def test_the_answers_by_edge_type_weighted_by_hand():
    kinds = [EdgeType.BEVEL] * 9 + [EdgeType.CONVEX] * 6 + [EdgeType.SWORD]
    rows = alike(9, 3) + alike(6, 1) + alike(1, 3)
    found = history(box("nia-1", rows, edge_type=kinds), box("nia-2", rows, edge_type=kinds, months=1))
    chance = {one.edge_type: one.readiness.joint for one in found.by_edge_type}
    assert chance[EdgeType.SWORD] is None  # two pairs: no figure, so no weight
    assert found.is_pooled
    assert found.edges_together.n_pairs == 30
    by_hand = (18 * chance[EdgeType.BEVEL] + 12 * chance[EdgeType.CONVEX]) / 30
    assert found.edges_together.chance == pytest.approx(by_hand)
    low, high = found.readiness.joint_lo, found.readiness.joint_hi
    assert found.edges_together.is_apart == (not low <= by_hand <= high)


def test_one_edge_type_is_not_set_against_itself():
    found = history(box("nia-1", alike(8)))
    assert (found.is_pooled, found.edges_together) == (False, None)


def test_every_step_is_told():
    told = []
    history(*RELAPSE[:2], on_step=lambda done, of: told.append((done, of)))
    assert [done for done, _ in told] == list(range(1, len(told) + 1))
    assert {of for _, of in told} == {len(told)}


@settings(max_examples=6, deadline=None)
@given(st.permutations(RELAPSE))
def test_the_order_in_which_rounds_are_given_changes_nothing(rounds):
    found = history(*rounds, is_brief=True)
    assert [one.key for one in found.counts] == [one.round.key for one in RELAPSE]
    assert found.readiness == BRIEF.readiness


BRIEF = history_of(NIA, RELAPSE, is_brief=True)

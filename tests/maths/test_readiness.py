"""The readiness rule: every condition alone can hold an answer back, and says so."""

from dataclasses import replace

import numpy as np
import pytest

from evalkit.maths.errors import UnusableInputError
from evalkit.maths.readiness import Answer, Lack, RoundEnd, Rule, decide
from evalkit.maths.simulate import Boxes, Course, Setting, simulate_trainee
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.rounds import readiness

GOOD = RoundEnd(
    prob_at_target=0.96,
    n_pairs=30,
    n_ordinary_pairs=14,
    n_cells=(28, 27),
    prior_moved=(0.93, 0.98),
    difficulty_moved=None,
)
ENDS = [replace(GOOD, n_pairs=10, prior_moved=None), replace(GOOD, n_pairs=20, prior_moved=None), GOOD]


def with_last(**changes):
    return [*ENDS[:-1], replace(GOOD, **changes)]


def lacks(found):
    return [need.lack for need in found.needs]


def test_ready_when_everything_holds_and_nothing_is_needed():
    found = decide(ENDS)
    assert (found.answer, found.needs, found.ends_at_limit) == (Answer.READY, (), 3)
    assert found.settled_against_prior is True
    assert found.settled_against_difficulty is None
    assert found.ends == tuple(ENDS)


@pytest.mark.parametrize(
    ("changes", "answer", "lack"),
    [
        ({"n_pairs": 19}, Answer.NOT_ENOUGH_EVIDENCE, Lack.PAIRS),
        ({"n_cells": (28, 9)}, Answer.NOT_ENOUGH_EVIDENCE, Lack.CELLS),
        ({"n_cells": ()}, Answer.NOT_ENOUGH_EVIDENCE, Lack.CELLS),
        ({"n_ordinary_pairs": 4}, Answer.NOT_ENOUGH_EVIDENCE, Lack.ORDINARY_PAIRS),
        ({"n_ordinary_pairs": 0, "difficulty_moved": (0.99, 0.8)}, Answer.NOT_ENOUGH_EVIDENCE, Lack.ORDINARY_PAIRS),
        ({"prob_at_target": 0.899}, Answer.UNDECIDED, Lack.CHANCE),
        ({"prob_at_target": 0.101}, Answer.UNDECIDED, Lack.CHANCE),
        ({"prior_moved": (0.89, 0.97)}, Answer.UNDECIDED, Lack.PRIOR),
        ({"prior_moved": None}, Answer.UNDECIDED, Lack.PRIOR),
        ({"prob_at_target": 0.05, "prior_moved": (0.03, 0.2)}, Answer.UNDECIDED, Lack.PRIOR),
        ({"prob_at_target": 0.05, "prior_moved": (0.03, 0.08)}, Answer.NOT_YET, Lack.CHANCE),
    ],
)
def test_each_condition_alone_changes_the_answer_and_is_named(changes, answer, lack):
    found = decide(with_last(**changes))
    assert found.answer is answer
    assert lack in lacks(found)


def test_a_need_says_how_much_there_is_and_how_much_it_takes():
    needs = {need.lack: need for need in decide(with_last(n_pairs=12, n_cells=(28, 4))).needs}
    assert (needs[Lack.PAIRS].have, needs[Lack.PAIRS].need) == (12, 20)
    assert (needs[Lack.CELLS].have, needs[Lack.CELLS].need, needs[Lack.CELLS].criterion) == (4, 10, 1)


def test_a_run_of_round_ends_is_broken_by_one_below():
    broken = [ENDS[0], replace(ENDS[1], prob_at_target=0.87), GOOD]
    found = decide(broken)
    assert (found.answer, found.ends_at_limit) == (Answer.UNDECIDED, 1)
    assert lacks(found) == [Lack.ROUND_ENDS]
    assert (found.needs[0].have, found.needs[0].need) == (1, 3)
    assert decide(broken, Rule(ends_in_a_row=1)).answer is Answer.READY


def test_two_round_ends_need_a_lead_in():
    jump = [replace(ENDS[0], prob_at_target=0.84), *ENDS[1:]]
    assert lacks(decide(jump)) == lacks(decide(ENDS[1:])) == [Lack.ROUND_ENDS]
    assert decide([replace(ENDS[0], prob_at_target=0.85), *ENDS[1:]]).answer is Answer.READY
    assert decide(jump, Rule(lead_in=None)).answer is Answer.READY


def test_boxes_without_ordinary_pairs_are_enough_when_the_worth_of_difficulty_does_not_matter():
    found = decide(with_last(n_ordinary_pairs=0, difficulty_moved=(0.99, 0.92)))
    assert found.answer is Answer.READY
    assert found.settled_against_difficulty is True


def test_nothing_at_all_is_not_enough_evidence():
    found = decide([])
    assert found.answer is Answer.NOT_ENOUGH_EVIDENCE
    assert lacks(found) == [Lack.PAIRS]


def test_impossible_chances_and_rules_are_refused():
    with pytest.raises(UnusableInputError):
        decide(with_last(prob_at_target=1.2))
    with pytest.raises(UnusableInputError):
        Rule(confidence=0.4)
    with pytest.raises(UnusableInputError):
        Rule(ends_in_a_row=0)
    with pytest.raises(UnusableInputError):
        Rule(lead_in=0.95)


@pytest.mark.parametrize(
    ("joint", "n_rounds", "answer"),
    [(0.97, 5, Answer.READY), (0.97, 1, Answer.NOT_ENOUGH_EVIDENCE), (0.5, 5, Answer.NOT_YET)],
)
def test_from_levels_to_answer(joint, n_rounds, answer):
    hyper = Hyper(draws=1024)
    simulated = simulate_trainee(
        np.random.default_rng(3), Setting(n_rounds=n_rounds), hyper, course=Course.CONSTANT, joint=joint
    )
    found = readiness(simulated.seen, hyper)
    assert found.answer is answer
    assert found.settled_against_prior is not None
    assert found.ends[-1].n_pairs == 10 * n_rounds


def test_only_hard_boxes_ask_what_a_step_of_difficulty_is_worth():
    hyper = Hyper(draws=1024)
    simulated = simulate_trainee(
        np.random.default_rng(4), Setting(n_rounds=3, boxes=Boxes.HARD), hyper, course=Course.CONSTANT, joint=0.9
    )
    last = readiness(simulated.seen, hyper).ends[-1]
    assert last.n_ordinary_pairs == 0
    easier, harder = last.difficulty_moved
    assert easier < last.prob_at_target < harder


def test_without_must_pass_criteria_there_is_not_enough_evidence():
    simulated = simulate_trainee(np.random.default_rng(5), Setting(n_rounds=2), Hyper())
    assert readiness(replace(simulated.seen, must_pass=()), Hyper()).answer is Answer.NOT_ENOUGH_EVIDENCE

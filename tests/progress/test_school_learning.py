"""The whole school teaches: recovered from a school made by the model's own formula; honest where it is too small."""

from __future__ import annotations

import math
import random
from datetime import date

import pytest

from evalkit.maths.skill.hyper import Hyper
from evalkit.progress.assuming import hyper_of
from evalkit.progress.history import history_of
from evalkit.progress.lining_up import line_up
from evalkit.progress.observing import observe
from evalkit.progress.school_learning import NotLearnt, NoValues, learn_school, told_by
from tests.progress.boxes import BERIT, NIA, ODA, Person, alike, box, criterion, rubric
from tests.progress.learnt import VALUES

SIV = Person(key="siv", name="Siv Moe")
KEYS = ("burr", "tips", "set")
NICKED = rubric(*(criterion(key) for key in KEYS), key="nicked", harder_with={"nick": ["burr"]})
STEP, NICK, STRICTER, GAPS = 1.3, 1.6, 0.9, (1.2, 2.4)
ON = date(2026, 9, 1)


def person(at: int) -> Person:
    return Person(key=f"t{at}", name=f"Trainee {at}")


def level_at(eta: float, luck: random.Random) -> int:
    """P(y >= k) = sig(eta - kappa_k) with kappa_2 = 0, drawn by one logistic error."""
    u = luck.random()
    seen = eta + math.log(u / (1 - u))
    return sum(seen > threshold for threshold in (-GAPS[0], 0.0, GAPS[1]))


def drawn(key: str, skill: float, luck: random.Random, *, mentor: Person, **more):
    """Twelve pairs: difficulties 1 to 4 in turn, every second pair with a nick."""
    difficulty = [1 + at % 4 for at in range(12)]
    tags = dict.fromkeys(range(1, 13, 2), ("nick", "dull"))
    rows = []
    for at in range(12):
        shared = skill + luck.gauss(0, 0.5) - STEP * (difficulty[at] - 2) - (STRICTER if mentor is BERIT else 0)
        rows.append({k: level_at(shared - (NICK if k == "burr" and at + 1 in tags else 0), luck) for k in KEYS})
    return box(key, rows, by=NICKED, difficulty=difficulty, tags=tags, mentor=mentor, **more)


def school(n: int, *, others: bool = True):
    lines = []
    for at in range(n):
        luck, who = random.Random(at), person(at)
        start = luck.gauss(0.3, 1.0)
        rounds = [
            drawn(
                f"t{at}-{r}", start + 0.3 * r, luck, mentor=BERIT if r == 1 and others else ODA, months=r, trainee=who
            )
            for r in range(3)
        ]
        lines.append(line_up(rounds, who.key))
    if others:
        alone = drawn("t99-1", 0.5, random.Random(99), mentor=SIV, months=0, trainee=person(99))
        lines.append(line_up([alone], "t99"))
    return lines


@pytest.fixture(scope="module")
def learnt():
    passes: list[int] = []
    found = learn_school(school(12), on=ON, on_pass=passes.append)
    assert passes == sorted(passes)
    assert len(passes) > 10
    return found


def test_what_was_put_in_is_found_again(learnt):
    assert learnt.step == pytest.approx(STEP, abs=3 * learnt.step_error)
    assert 0.02 < learnt.step_error < 0.2
    assert learnt.faults.keys() == {"nick"}
    assert learnt.faults["nick"]["burr"] == pytest.approx(NICK, abs=0.5)
    assert learnt.gaps == pytest.approx(GAPS, rel=0.25)
    assert learnt.first_skill == pytest.approx(0.3, abs=1.0)


def test_what_it_rests_on_is_counted(learnt):
    assert (learnt.learnt_on, learnt.top, learnt.fit) == (ON, 3, 2)
    assert (learnt.n_trainees, learnt.n_rounds, learnt.n_pairs, learnt.n_levels) == (13, 37, 37 * 12, 37 * 12 * 3)


def test_mentors_are_compared_and_reckoned_with_only_where_a_trainee_ties_them(learnt):
    (contrast,) = learnt.contrasts
    assert (contrast.one, contrast.other) == ("berit", "oda")
    assert contrast.by == pytest.approx(STRICTER, abs=3 * contrast.error)
    assert learnt.parts == (("berit", "oda"), ("siv",))
    assert learnt.strictness.keys() == {"berit", "oda"}


def test_fewer_than_five_trainees_teach_nothing_and_say_how_many_there_are():
    assert learn_school([], on=ON) == NotLearnt(NoValues.FEW_TRAINEES, 0)
    few = learn_school(school(4, others=False), on=ON)
    assert few == NotLearnt(NoValues.FEW_TRAINEES, 4)
    assert "there are 4" in few.words


def test_a_trainee_with_four_pairs_is_not_one_of_the_five():
    thin = line_up([box("t50-1", alike(4, keys=KEYS), by=NICKED, trainee=person(50))], "t50")
    assert learn_school([*school(4, others=False), thin], on=ON) == NotLearnt(NoValues.FEW_TRAINEES, 4)


def test_only_faults_that_a_rubric_speaks_of_are_handed_on():
    told = told_by(line_up([box("nia-1", alike(2), tags={1: ("nick", "dull")})], "nia"))
    assert [pair["tags"] for pair in told.pairs] == [[], []]
    weighed = told_by(line_up([box("nia-1", alike(2, keys=KEYS), by=NICKED, tags={1: ("nick", "dull")})], "nia"))
    assert [pair["tags"] for pair in weighed.pairs] == [["nick"], []]


# --- what was learnt, used ------------------------------------------------------------------------------------------


def test_the_doubt_that_is_left_takes_the_place_of_the_assumed_one(learnt):
    observed = observe(line_up([box("nia-1", alike(2))], "nia"))
    assert hyper_of(observed, None) == Hyper()
    used = hyper_of(observed, learnt)
    assert (used.difficulty_effect, used.difficulty_effect_sd) == (learnt.step, learnt.step_error)
    assert used.thresholds is None
    assert (used.gap_median, used.gap_log_sd) == (learnt.gaps, learnt.gap_doubts)
    assert used.severity == learnt.strictness
    assert used.target == Hyper().target


def test_values_of_another_ladder_are_not_used():
    other = rubric(criterion("burr", n_levels=3), key="short", levels=("bad", "fit", "new"), fit=1)
    rounds = [box("nia-1", [{"burr": 1}] * 3, by=other)]
    assert hyper_of(observe(line_up(rounds, "nia")), VALUES) == Hyper()
    assert history_of(NIA, rounds, values=VALUES).values is None
    assert history_of(NIA, [box("nia-1", alike(3))], values=VALUES).values == VALUES


def test_the_answer_follows_what_was_learnt():
    """Two steps harder than ordinary: the more a step costs, the more such a pair says for ordinary ones."""
    rounds = [box(f"nia-{at}", alike(12, 2), months=at, difficulty=4) for at in range(2)]
    cheap, dear = (VALUES.model_copy(update={"step": step}) for step in (0.3, 1.3))
    answers = [history_of(NIA, rounds, values=values, is_brief=True).readiness.joint for values in (cheap, dear)]
    assert answers[1] > answers[0] + 0.1


def test_a_stricter_mentor_s_levels_say_more():
    kind, strict = (VALUES.model_copy(update={"strictness": {"oda": by}}) for by in (-0.8, 0.8))
    answers = [
        history_of(NIA, [box("nia-1", alike(12, 2))], values=values, is_brief=True).readiness.joint
        for values in (kind, strict)
    ]
    assert answers[1] > answers[0] + 0.1

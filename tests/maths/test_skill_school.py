"""Many trainees: padding changes nothing, the kept stay unfitted, hyper-parameters and severities are recovered."""

from dataclasses import replace

import numpy as np
import pytest

from evalkit.maths.errors import UnusableInputError
from evalkit.maths.simulate import Boxes, Course, Setting, simulate_trainee
from evalkit.maths.skill import skill_path
from evalkit.maths.skill.hyper import Hyper, Method
from evalkit.maths.skill.many import fingerprint, fit_many
from evalkit.maths.skill.mentor_graph import connected_parts
from evalkit.maths.skill.school import _Objective, learn_hyper
from evalkit.maths.skill.school_data import school_of

PLUGGED = Hyper(thresholds=(-1.8, 0.0, 1.8), method=Method.GVB, draws=512)


def trainees(n, seed=1, hyper=PLUGGED, **setting):
    rng = np.random.default_rng(seed)
    return [simulate_trainee(rng, Setting(**setting), hyper).seen for _ in range(n)]


def test_together_or_alone_is_the_same():
    ragged = [
        *trainees(2, 1, n_rounds=4, n_pairs=3, n_criteria=6),
        *trainees(1, 2, n_rounds=1, n_pairs=7, n_criteria=6),
        *trainees(2, 3, n_rounds=6, n_pairs=5, n_criteria=6),
    ]
    together = list(fit_many(ragged, PLUGGED, n_threads=2))
    for seen, standing in zip(ragged, together, strict=True):
        alone = skill_path(seen, PLUGGED)
        assert standing.mean.shape == alone.mean.shape
        assert standing.mean == pytest.approx(alone.mean, abs=0.01)
        assert standing.sd == pytest.approx(alone.sd, abs=0.01)
        assert standing.chance.joint == pytest.approx(alone.chance.joint, abs=0.003)


def test_other_criteria_or_levels_start_another_chunk():
    mixed = [*trainees(1, 1, n_rounds=2, n_criteria=4, n_must_pass=2), *trainees(1, 1, n_rounds=2, n_criteria=6)]
    shapes = [standing.mean.shape for standing in fit_many(mixed, PLUGGED, n_threads=1)]
    assert shapes == [(2, 4), (2, 6)]


def test_only_the_changed_are_fitted_again(monkeypatch):
    school = trainees(5, n_rounds=2, n_criteria=5)
    first = list(fit_many(school, PLUGGED, n_threads=1))
    kept = {standing.fingerprint: standing for standing in first}
    changed = school[2].level.copy()
    changed[0, 0, 0] = 3 - max(changed[0, 0, 0], 0)
    school[2] = replace(school[2], level=changed)
    seen_by_engine = []
    from evalkit.maths.skill import many as skill_many

    real = skill_many._fit_fresh
    monkeypatch.setattr(skill_many, "_fit_fresh", lambda g, k, h: seen_by_engine.append(len(g)) or real(g, k, h))
    told = []
    again = list(fit_many(school, PLUGGED, kept=kept, n_threads=1, on_progress=told.append))
    assert seen_by_engine == [1]
    assert told[-1] == 5
    assert [a is b for a, b in zip(first, again, strict=True)] == [True, True, False, True, True]


def test_a_fingerprint_follows_evidence_and_assumptions():
    seen = trainees(1, n_rounds=1)[0]
    same = fingerprint(seen, PLUGGED)
    assert fingerprint(replace(seen, months=seen.months.copy()), PLUGGED) == same
    assert fingerprint(replace(seen, months=seen.months + 1), PLUGGED) != same
    assert fingerprint(seen, replace(PLUGGED, target=0.85)) != same


def test_without_given_thresholds_each_trainee_learns_its_own_gaps():
    seen = trainees(1, n_rounds=3, n_criteria=5)[0]
    hyper = Hyper(draws=512)
    standing = next(fit_many([seen], hyper, n_threads=1))
    assert standing.chance.joint == pytest.approx(skill_path(seen, hyper).chance.joint)


TRUTH = Hyper(
    initial_mean=-0.2, initial_sd=1.1, rw_sd=0.45, general_share=0.5, pair_sd=0.8,
    tag_effect={"x": {"c0": 1.0, "c1": 0.3}}, severity={"A": 0.5, "B": -0.5},
)  # fmt: skip
SETTING = Setting(n_rounds=4, n_pairs=8, n_criteria=6, gaps=(1.3, 2.3), difficulty_effect=1.1)


def mentored(rng, names, hyper=TRUTH):
    """One trainee whose pairs are marked in turn by the named raters."""
    seats = rng.integers(0, len(names), size=(SETTING.n_rounds, SETTING.n_pairs))
    return simulate_trainee(rng, SETTING, hyper, mentors=names, mentor=seats).seen


@pytest.fixture(scope="module")
def learnt():
    rng = np.random.default_rng(5)
    school = [mentored(rng, ("A", "B") if i % 4 == 0 else (("A",), ("B",))[i % 2]) for i in range(36)]
    school += [mentored(rng, ("C",)) for _ in range(4)]
    return learn_hyper(school, Hyper(tag_effect={"x": {"c0": 0.6, "c1": 0.6}}))


def test_hyper_parameters_are_recovered_within_their_errors(learnt):
    truth = {
        "log_initial_sd": np.log(1.1),
        "log_rw_sd": np.log(0.45),
        "logit_share": 0.0,
        "log_pair_sd": np.log(0.8),
        "difficulty_effect": 1.1,
    }
    for unknown, estimate, se in zip(learnt.unknowns, learnt.estimate, learnt.se, strict=True):
        if unknown.name in truth:
            assert abs(estimate - truth[unknown.name]) < 3.2 * se + 0.02, unknown
    gaps = [e for u, e in zip(learnt.unknowns, learnt.estimate, strict=True) if u.name == "log_gap"]
    assert np.exp(gaps) == pytest.approx([1.3, 2.3], rel=0.1)
    assert learnt.plugged.tag_effect["x"]["c0"] > learnt.plugged.tag_effect["x"]["c1"]


def test_severity_is_contrasted_inside_a_connected_part_only(learnt):
    contrast, se = learnt.severity_contrast("A", "B")
    assert contrast == pytest.approx(1.0, abs=3 * se)
    assert se < 0.15
    assert learnt.severity_contrast("A", "C") is None
    assert learnt.parts == (frozenset("AB"), frozenset("C"))


def test_what_was_learnt_serves_one_trainee_and_many(learnt):
    assert learnt.plugged.thresholds == pytest.approx((-1.3, 0.0, 2.3), rel=0.1)
    assert learnt.hyper.thresholds is None
    assert learnt.hyper.difficulty_effect_sd > 0
    seen = mentored(np.random.default_rng(9), ("A",))
    both = [skill_path(seen, hyper).mean for hyper in (learnt.hyper, learnt.plugged)]
    assert both[0] == pytest.approx(both[1], abs=0.1)


def test_the_gradient_is_that_of_the_objective():
    rng = np.random.default_rng(7)
    school = [mentored(rng, names) for names in (("A", "B"), ("A",), ("B",), ("A", "B"), ("C",))]
    objective = _Objective(school_of(school, Hyper(tag_effect={"x": {"c0": 0.6, "c1": 0.6}})), None)
    phi = objective.prior_mean + 0.1 * rng.standard_normal(len(objective.prior_mean))
    _, gradient = objective(phi)
    for i, move in enumerate(1e-3 * np.eye(len(phi))):
        numeric = (objective(phi + move)[0] - objective(phi - move)[0]) / 2e-3
        assert gradient[i] == pytest.approx(numeric, abs=0.02, rel=1e-4)


def test_too_few_trainees_are_refused():
    with pytest.raises(UnusableInputError, match="at least 5"):
        learn_hyper(trainees(3, n_rounds=1))


def test_parts_of_the_mentor_graph():
    assert connected_parts([("A", "B"), ("C",), ("B", "D"), ()]) == (frozenset("ABD"), frozenset("C"))
    assert connected_parts([]) == ()


@pytest.mark.parametrize("course", list(Course))
def test_every_course_can_be_simulated(course):
    simulated = simulate_trainee(
        np.random.default_rng(1),
        Setting(n_rounds=6),
        Hyper(),
        course=course,
        joint=0.8 if course is Course.CONSTANT else None,
    )
    assert simulated.seen.level.shape == (6, 10, 10)
    if course is Course.CONSTANT:
        assert simulated.joint == pytest.approx(0.8)
    if course is Course.RELAPSE:
        assert np.diff(simulated.joint).min() < 0 < np.diff(simulated.joint).max()


@pytest.mark.parametrize("seed", [2, 10, 12])
def test_the_smallest_school_settles_far_from_where_it_begins(seed):
    """Five trainees on a narrow scale: a search that leaps tries pair effects of e^7 and finds no fit there."""
    rng = np.random.default_rng(seed)
    setting = Setting(n_rounds=6, gaps=(0.9, 0.9))
    learnt = learn_hyper([simulate_trainee(rng, setting, Hyper()).seen for _ in range(5)])
    assert learnt.hyper.gap_median == pytest.approx((0.9, 0.9), rel=0.2)
    assert 0.3 < learnt.plugged.pair_sd < 1.0


def test_a_school_without_ordinary_pairs_leaves_the_doubt_about_difficulty_where_it_was():
    easy = Setting(n_rounds=3, n_criteria=5, boxes=Boxes.EASY)
    rng = np.random.default_rng(11)
    learnt = learn_hyper([simulate_trainee(rng, easy, Hyper()).seen for _ in range(6)])
    assert learnt.hyper.difficulty_effect_sd == pytest.approx(Hyper().difficulty_effect_sd, rel=0.15)
    assert max(learnt.hyper.gap_log_sd) < 0.1

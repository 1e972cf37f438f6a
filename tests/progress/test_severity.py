"""Several mentors: severity only inside a connected part, and honest about why there is none."""

from __future__ import annotations

import random

import pytest

from evalkit.progress.lining_up import line_up
from evalkit.progress.severity import NoSeverity, severity_in, severity_of
from tests.progress.boxes import BERIT, ODA, Person, alike, box
from tests.progress.learnt import VALUES

KEYS = ("burr", "tips", "finish")
SIV = Person(key="siv", name="Siv Moe")


def trainee(at: int) -> Person:
    return Person(key=f"t{at}", name=f"Trainee {at}")


def drawn(
    key: str, mean: float, *, mentor: Person, who: Person, seed: int, months: float, marked_by: Person | None = None
):
    luck = random.Random(seed)
    rows = [{name: min(max(round(luck.gauss(mean, 0.8)), 0), 3) for name in KEYS} for _ in range(10)]
    return box(key, rows, mentor=mentor, marked_by=marked_by, trainee=who, months=months)


def test_one_mentor_has_nobody_to_differ_from():
    assert severity_of([line_up([box("nia-1", alike(6))], "nia")]).why_none is NoSeverity.ONE_MENTOR
    assert severity_of([]).why_none is NoSeverity.ONE_MENTOR


def test_few_trainees_give_parts_and_no_figure():
    lines = [
        line_up(
            [
                box("a-1", alike(6), trainee=trainee(1)),
                box("a-2", alike(6), mentor=BERIT, trainee=trainee(1), months=1),
            ],
            "t1",
        ),
        line_up([box("b-1", alike(6), mentor=SIV, trainee=trainee(2))], "t2"),
    ]
    found = severity_of(lines)
    assert found.why_none is NoSeverity.FEW_TRAINEES
    assert found.parts == (("berit", "oda"), ("siv",))
    assert found.contrasts == ()


@pytest.mark.slow
def test_a_strict_mentor_is_found_and_a_stranger_is_not_compared():
    lines = []
    for at in range(6):
        who, key = trainee(at), f"t{at}"
        rounds = [
            drawn(f"{key}-1", 2.1, mentor=ODA, who=who, seed=at, months=0),
            drawn(f"{key}-2", 1.4, mentor=BERIT, who=who, seed=50 + at, months=0.1),
        ]
        lines.append(line_up(rounds, key))
    stranger = trainee(9)
    lines.append(line_up([drawn("t9-1", 2.0, mentor=SIV, who=stranger, seed=9, months=0)], "t9"))
    found = severity_of(lines)
    assert found.why_none is None
    (contrast,) = found.contrasts
    assert (contrast.one, contrast.other) == ("berit", "oda")
    assert contrast.by > 2 * contrast.error > 0
    assert ("siv",) in found.parts


def test_a_box_marked_by_two_mentors_ties_them():
    twice = [
        box("a-1", alike(6), trainee=trainee(1)),
        box("a-1", alike(6, 1), trainee=trainee(1), marked_by=BERIT),
    ]
    assert severity_of([line_up(twice, "t1")]).parts == (("berit", "oda"),)


def test_what_was_learnt_of_the_mentors_is_told_again_without_learning_anew():
    assert severity_in(VALUES).contrasts == VALUES.contrasts
    assert severity_in(VALUES).why_none is None
    alone = VALUES.model_copy(update={"parts": (("oda",),), "contrasts": (), "strictness": {}})
    assert severity_in(alone).why_none is NoSeverity.ONE_MENTOR

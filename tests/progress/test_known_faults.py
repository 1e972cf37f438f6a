"""What a known fault of a pair makes harder weighs in the model, and nothing else does."""

from __future__ import annotations

import numpy as np
import pytest

from evalkit.domain.school_values import SchoolValues
from evalkit.maths.skill.input import read_observations
from evalkit.progress.assuming import hyper_of
from evalkit.progress.history import history_of
from evalkit.progress.known_faults import WornFault
from evalkit.progress.lining_up import line_up
from evalkit.progress.observing import observe
from tests.progress.boxes import NIA, alike, box, criterion, rubric
from tests.progress.learnt import VALUES

NICKED = rubric(
    criterion("burr"), criterion("tips"), criterion("finish", must_pass=None), key="nicked",
    harder_with={"nick": ["burr"], "bent-tip": ["tips"], "rust": ["burr", "finish"]},
)  # fmt: skip


def observed(*rounds):
    return observe(line_up(rounds, "nia"))


def skill_of(*rounds, values: SchoolValues | None = None) -> dict[str, tuple[float, ...]]:
    found = history_of(NIA, rounds, values=values, is_brief=True).modelled
    assert found is not None
    return {one.key: one.skill for one in found.criteria}


def test_the_faults_of_the_pairs_and_what_each_makes_harder():
    found = observed(box("nia-1", alike(4), by=NICKED, tags={1: ("rust", "dull"), 2: ("rust",), 3: ("nick", "nick")}))
    assert found.faults == (
        WornFault("dull", 1, ()),
        WornFault("nick", 1, ("burr",)),
        WornFault("rust", 2, ("burr", "finish")),
    )


def test_the_newest_rubric_that_has_a_criterion_says_what_makes_it_harder():
    """The first rubric says nothing, the second is about tips alone, the third about burr alone."""
    tips = rubric(criterion("tips"), key="tips", harder_with={"nick": ["tips"], "bent-tip": ["tips"]})
    burr = rubric(criterion("burr"), key="burr", harder_with={"nick": ["burr"]})
    found = observed(
        box("nia-1", alike(2), tags={1: ("nick",), 2: ("bent-tip",)}),
        box("nia-2", alike(1, keys=("tips",)), by=tips, months=1),
        box("nia-3", alike(1, keys=("burr",)), by=burr, months=2),
    )
    assert found.faults == (WornFault("bent-tip", 1, ("tips",)), WornFault("nick", 1, ("burr", "tips")))


def test_what_is_taken_off_is_that_of_the_formula():
    """o_ic = beta d_i + sum of gamma_gc over the tags g of pair i: beta 0.8, gamma 0.6 on the criteria a tag names."""
    found = observed(
        box("nia-1", alike(4), by=NICKED, difficulty=[2, 2, 4, 1], tags={2: ("nick",), 3: ("nick", "rust", "dull")})
    )
    seen = read_observations(found.observations)
    assert seen.criteria == ("burr", "tips", "finish")
    expected = [[0.0, 0.0, 0.0], [0.6, 0.0, 0.0], [1.6 + 1.2, 1.6, 1.6 + 0.6], [-0.8, -0.8, -0.8]]
    assert seen.offset(hyper_of(found, None))[0] == pytest.approx(np.array(expected))


def test_learnt_effects_take_the_place_of_the_assumed_ones_where_there_are_any():
    found = observed(box("nia-1", alike(2), by=NICKED, tags={1: ("nick", "rust"), 2: ("bent-tip",)}))
    values = VALUES.model_copy(update={"faults": {"rust": {"burr": 1.5}, "nick": {"tips": 9.0}}})
    assert hyper_of(found, values).tag_effect == {
        "nick": {"burr": 0.6},
        "rust": {"burr": 1.5, "finish": 0.6},
        "bent-tip": {"tips": 0.6},
    }


def test_failing_on_a_pair_that_was_harder_there_tells_less_and_passing_on_it_tells_more():
    for level, sign in ((0, 1), (3, 1)):
        rows = [*alike(5, 1), {"burr": level, "tips": 1, "finish": 1}]
        plain = skill_of(box("nia-1", rows, by=NICKED))
        worn = skill_of(box("nia-1", rows, by=NICKED, tags={6: ("nick",)}))
        assert sign * (worn["burr"][0] - plain["burr"][0]) > 0.02
    # Worn by every pair, it is nearly the whole effect on the criterion it names, and next to nothing on the others.
    rows = [*alike(20, 1), *alike(20, 2)]
    plain = skill_of(box("nia-1", rows, by=NICKED))
    worn = skill_of(box("nia-1", rows, by=NICKED, tags=dict.fromkeys(range(1, 41), ("nick",))))
    assert 0.5 < worn["burr"][0] - plain["burr"][0] < 0.6
    assert 0.0 < worn["tips"][0] - plain["tips"][0] < 0.05


def test_a_tag_that_no_rubric_speaks_of_changes_nothing():
    rows = [*alike(4, 1), *alike(3, 2)]
    tags = dict.fromkeys(range(1, 8), ("dull", "odd-smell"))
    assert skill_of(box("nia-1", rows, by=NICKED, tags=tags)) == skill_of(box("nia-1", rows, by=NICKED))
    assert skill_of(box("nia-1", rows, tags={1: ("nick",)})) == skill_of(box("nia-1", rows))

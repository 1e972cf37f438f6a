"""Rounds in the order of their dates; what does not belong is set aside with its reason."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.round import Leg, LegKind
from evalkit.progress.lining_up import Aside, DatedBy, line_up
from tests.progress.boxes import BERIT, FIRST_DAY, LADDER, ODA, Person, alike, box, criterion, days_later, rubric


def keys(line) -> list[str]:
    return [round_.key for round_ in line.rounds]


def why(line) -> dict[str, Aside]:
    return {one.result.round.key: one.why for one in line.set_aside}


def test_nothing_gives_an_empty_line():
    line = line_up([], "nia")
    assert (line.rounds, line.set_aside, line.levels) == ((), (), ())


def test_months_count_from_the_first_round_back():
    line = line_up([box("nia-2", alike(2), months=2.5), box("nia-1", alike(2))], "nia")
    assert keys(line) == ["nia-1", "nia-2"]
    assert line.rounds[0].months == 0
    assert line.rounds[1].months == pytest.approx(2.5, abs=0.02)
    assert {round_.dated_by for round_ in line.rounds} == {DatedBy.RECEIVED_BACK}


def test_without_legs_the_day_of_marking_stands_then_the_plan():
    result = box("nia-1", alike(1))
    bare = result.round.model_copy(update={"legs": ()})
    from dataclasses import replace

    marked = replace(result, round=bare)
    assert line_up([marked], "nia").rounds[0].dated_by is DatedBy.MARKED
    undated = replace(marked, marking=result.marking.model_copy(update={"marked_on": None}))
    assert line_up([undated], "nia").rounds[0].dated_by is DatedBy.PLANNED


def test_unmarked_and_lost_rounds_stand_aside():
    from dataclasses import replace

    waiting = box("nia-2", alike(2), months=1, is_marked=False)
    lost = box("nia-3", alike(2), months=2, is_marked=False)
    gone = lost.round.model_copy(update={"legs": (Leg(kind=LegKind.LOST, happened_on=FIRST_DAY),)})
    line = line_up([box("nia-1", alike(2)), waiting, replace(lost, round=gone)], "nia")
    assert keys(line) == ["nia-1"]
    assert why(line) == {"nia-2": Aside.NOT_MARKED, "nia-3": Aside.LOST}


def test_a_round_marked_twice_counts_once_by_its_own_mentor():
    own = box("nia-1", alike(2, 1), mentor=ODA)
    other = box("nia-1", alike(2, 3), mentor=ODA, marked_by=BERIT)
    for order in ([own, other], [other, own]):
        line = line_up(order, "nia")
        assert [round_.result.marking.mentor_key for round_ in line.rounds] == ["oda"]
        assert why(line) == {"nia-1": Aside.MARKED_TWICE}


def test_ladders_are_not_mixed():
    narrow = rubric(criterion("burr", n_levels=3), key="narrow", levels=LADDER[:3])
    line = line_up([box("nia-1", [{"burr": 2}], by=narrow), box("nia-2", alike(1), months=1)], "nia")
    assert keys(line) == ["nia-2"]
    assert why(line) == {"nia-1": Aside.OTHER_LADDER}
    assert line.levels == LADDER


def test_another_trainees_round_is_not_taken():
    line = line_up([box("nia-1", alike(1)), box("lin-1", alike(1), trainee=Person(key="lin", name="Lin"))], "nia")
    assert keys(line) == ["nia-1"]
    assert why(line) == {"lin-1": Aside.OTHER_TRAINEE}


def test_added_and_dropped_criteria_are_told():
    wide = rubric(criterion("burr"), criterion("set"), key="wide")
    line = line_up([box("nia-1", alike(1)), box("nia-2", [{"burr": 2, "set": 1}], by=wide, months=1)], "nia")
    (change,) = line.changes
    assert change.round_key == "nia-2"
    assert list(change.added) == ["set"]
    assert list(change.dropped) == ["tips", "finish"]


def test_one_key_has_its_newest_name_everywhere():
    old = rubric(criterion("tips").model_copy(update={"name": "Tip condition"}), criterion("burr"), key="old")
    line = line_up([box("nia-1", alike(1), by=old), box("nia-2", alike(1), months=1)], "nia")
    assert line.names == {"tips": "Tips", "burr": "Burr", "finish": "Finish"}
    # A key that the newest rubric has no longer keeps the last name it had.
    short = rubric(criterion("burr"), key="short")
    renamed = rubric(criterion("tips").model_copy(update={"name": "Points"}), criterion("burr"), key="renamed")
    line = line_up([box(f"nia-{at}", alike(1), by=by, months=at) for at, by in enumerate((old, renamed, short))], "nia")
    assert line.names["tips"] == "Points"
    assert line.changes[-1].dropped == {"tips": "Points"}


def test_dates_that_contradict_each_other_are_told():
    from dataclasses import replace

    result = box("nia-1", alike(1))
    early = result.marking.model_copy(update={"marked_on": days_later(-1)})
    line = line_up([replace(result, marking=early), box("nia-2", alike(1), months=1)], "nia")
    assert line.doubtful_dates == ("nia-1",)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, 30), min_size=1, max_size=6, unique=True), st.integers(0, 99))
def test_the_order_in_which_rounds_are_given_does_not_matter(months, seed):
    rounds = [box(f"nia-{at}", alike(1), months=month) for at, month in enumerate(months)]
    shuffled = rounds[:]
    random.Random(seed).shuffle(shuffled)
    line = line_up(shuffled, "nia")
    assert [round_.months for round_ in line.rounds] == sorted(round_.months for round_ in line.rounds)
    assert keys(line) == keys(line_up(rounds, "nia"))

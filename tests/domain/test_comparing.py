"""Two views of one pair: what agrees, what was caught, what would have gone out."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.comparing import Match, PlaceComparison, Sight, compare_pair, count_catches, sight_of
from evalkit.domain.criterion import Combine, Criterion
from evalkit.domain.grading import CriterionGrade
from evalkit.domain.pair import EdgeType, Station
from evalkit.domain.reading import NotSeen, Place, SeenLevel, Unseen
from evalkit.domain.rubric import Rubric
from evalkit.domain.verdict import Verdict
from tests.domain.strategies import Case, cases, pair_of, reading_of, words

SWAPPED = {
    Sight.CAUGHT: Sight.CAUGHT,
    Sight.MISSED: Sight.FALSE_ALARM,
    Sight.FALSE_ALARM: Sight.MISSED,
    Sight.BOTH_CLEAN: Sight.BOTH_CLEAN,
}


def criterion(key: str, **own: object) -> Criterion:
    return Criterion.model_validate({"key": key, "name": key, "levels": words(4), "weight": 1, **own})


SMALL = Rubric(
    key="small", name="Small", levels=words(4), mark=60,
    criteria=(
        criterion("a", weight=3), criterion("b"), criterion("c", stations=tuple(Station)), criterion("d", weight=0),
    ),
)  # fmt: skip


def graded(**levels: int | tuple[int | None, ...]):
    found = []
    for on in SMALL.on(EdgeType.CONVEX):
        of = levels.get(on.key, ())
        for place, level in zip(on.places, of if isinstance(of, tuple) else (of,), strict=False):
            if level is not None:
                found.append(reading_of(on.key, place, SeenLevel(level=level)))
    return Case(SMALL, pair_of(EdgeType.CONVEX), tuple(found)).grade()


def test_two_views_with_a_pencil():
    """Fit is 2, the worst place decides, and d weighs nothing, so it is not counted.

    Mentor and trainee: a 1 and 3, missed; b 1 and 0, caught; c 3 3 3 and 3 2 1, a false alarm.
    """
    trainee, mentor = graded(a=3, b=0, c=(3, 2, 1), d=0), graded(a=1, b=1, c=(3, 3, 3), d=0)
    compared = compare_pair(trainee, mentor, own_verdict=Verdict.ACCEPTED, fit=2)
    assert [one.sight for one in compared.criteria] == [Sight.MISSED, Sight.CAUGHT, Sight.FALSE_ALARM, Sight.CAUGHT]
    assert [one.levels for one in compared.criteria] == [(3, 1), (0, 1), (1, 3), (0, 0)]
    assert [place.by for place in compared.criteria[2].places] == [0, -1, -2]
    catches = count_catches((compared,))
    assert (catches.caught, catches.missed, catches.false_alarm, catches.both_clean) == (1, 1, 1, 0)
    assert (catches.n_faults, catches.n_clean) == (2, 1)


def test_a_fault_nobody_looked_for_is_a_fault_not_caught():
    """The mentor sees a at 0. The trainee left a out: not looked for, and it counts among the faults."""
    compared = compare_pair(graded(b=3), graded(a=0, b=3), own_verdict=None, fit=2)
    assert compared.criteria[0].sight is Sight.NOT_LOOKED
    catches = count_catches((compared,))
    assert (catches.n_faults, catches.caught, catches.not_looked) == (1, 0, 1)


@pytest.mark.parametrize(
    ("trainee", "mentor", "sight"),
    [
        ((3, 3, 3), (3, None, None), Sight.UNKNOWN),  # the mentor's unseen stations could still fall below fit
        ((3, 3, 3), (1, None, None), Sight.MISSED),  # one bad station settles the worst of three
        ((3, None, None), (1, 1, 1), Sight.NOT_LOOKED),  # what the trainee saw says nothing for certain
        ((3, None, None), (3, 3, 3), Sight.UNKNOWN),
        ((1, None, None), (3, 3, 3), Sight.FALSE_ALARM),
        ((None, None, None), (3, 3, 3), Sight.UNKNOWN),
        ((1, 1, 1), (None, None, None), Sight.UNKNOWN),
    ],
)
def test_a_range_across_fit_says_nothing(trainee, mentor, sight):
    compared = compare_pair(graded(c=trainee), graded(c=mentor), own_verdict=None, fit=2)
    assert compared.criteria[2].sight is sight


@pytest.mark.parametrize(
    ("trainee", "mentor", "match", "by"),
    [
        (2, 2, Match.AGREE, 0),
        (3, 1, Match.TRAINEE_HIGHER, 2),
        (0, 1, Match.TRAINEE_LOWER, -1),
        (2, None, Match.ONLY_TRAINEE, None),
        (None, 2, Match.ONLY_MENTOR, None),
        (None, None, Match.NEITHER, None),
    ],
)
def test_one_place_seen_twice(trainee, mentor, match, by):
    compared = PlaceComparison(Place(), trainee, mentor)
    assert (compared.match, compared.by) == (match, by)


def test_what_would_have_gone_out():
    """The trainee says accepted, the mentor's levels say rework. The trainee's own word outweighs their levels."""
    good, bad = graded(a=3, b=3, c=(3, 3, 3)), graded(a=0, b=3, c=(3, 3, 3))
    assert compare_pair(good, bad, own_verdict=None, fit=2).would_have_gone_out
    assert compare_pair(bad, bad, own_verdict=Verdict.ACCEPTED, fit=2).would_have_gone_out
    assert not compare_pair(good, bad, own_verdict=Verdict.REWORK, fit=2).would_have_gone_out
    assert compare_pair(good, good, own_verdict=Verdict.REWORK, fit=2).was_held_back
    unknown = graded(b=3)
    assert not compare_pair(good, unknown, own_verdict=None, fit=2).would_have_gone_out
    assert not compare_pair(unknown, bad, own_verdict=None, fit=2).would_have_gone_out


def test_a_criterion_that_one_side_put_aside_is_still_shown():
    not_applicable = reading_of("b", Place(), NotSeen(why=Unseen.NOT_APPLICABLE))
    aside = Case(SMALL, pair_of(EdgeType.CONVEX), (not_applicable,)).grade()
    by_trainee = {one.on.key: one for one in compare_pair(aside, graded(b=0), own_verdict=None, fit=2).criteria}
    assert (by_trainee["b"].trainee, by_trainee["b"].sight) == (None, Sight.NOT_LOOKED)
    by_mentor = {one.on.key: one for one in compare_pair(graded(b=0), aside, own_verdict=None, fit=2).criteria}
    assert (by_mentor["b"].mentor, by_mentor["b"].sight) == (None, Sight.UNKNOWN)
    assert by_mentor["b"].places[0].match is Match.ONLY_TRAINEE


def test_no_grade_on_either_side_is_no_comparison():
    assert sight_of(None, None, 2) is Sight.UNKNOWN


@st.composite
def views(draw):
    """Two views of one pair under one rubric: the second changes some readings of the first to levels by eye."""
    case = draw(cases(n_unseen=(0, 4)))
    places = [(on.key, place) for on in case.rubric.on(case.pair.edge_type) for place in on.places]
    other = case
    for key, place in draw(st.lists(st.sampled_from(places), max_size=4)):
        level = draw(st.integers(-1, case.rubric.top))
        what = NotSeen(why=Unseen.NOT_TESTED) if level < 0 else SeenLevel(level=level)
        other = other.with_reading(reading_of(key, place, what))
    return case.rubric, case.grade(), other.grade()


def sides(grade: CriterionGrade | None, fit: int) -> frozenset[bool]:
    """Every answer to 'is it below fit?' that the completions of one view give; none when nothing was seen."""
    return frozenset() if grade is None or grade.seen is None else frozenset(level < fit for level in grade.reachable)


FAULT, CLEAN = frozenset({True}), frozenset({False})
CLAIMS = {
    (FAULT, FAULT): Sight.CAUGHT,
    (CLEAN, FAULT): Sight.MISSED,
    (FAULT, CLEAN): Sight.FALSE_ALARM,
    (CLEAN, CLEAN): Sight.BOTH_CLEAN,
}


@settings(max_examples=80)
@given(views())
def test_sights_are_claimed_only_when_every_completion_agrees(drawn):
    """And never caught, missed or clean while either side is unknown."""
    rubric, trainee, mentor = drawn
    for one in compare_pair(trainee, mentor, own_verdict=None, fit=rubric.fit).criteria:
        theirs, hers = sides(one.trainee, rubric.fit), sides(one.mentor, rubric.fit)
        unsure = Sight.NOT_LOOKED if hers == FAULT else Sight.UNKNOWN
        assert one.sight is CLAIMS.get((theirs, hers), unsure)


@settings(max_examples=60)
@given(views())
def test_swapping_the_sides_swaps_what_it_should(drawn):
    rubric, one, two = drawn
    there = {c.on.key: c for c in compare_pair(one, two, own_verdict=None, fit=rubric.fit).criteria}
    back = {c.on.key: c for c in compare_pair(two, one, own_verdict=None, fit=rubric.fit).criteria}
    assert there.keys() == back.keys()
    for key, compared in there.items():
        if compared.sight in SWAPPED:
            assert back[key].sight is SWAPPED[compared.sight]
        else:
            assert back[key].sight in (Sight.NOT_LOOKED, Sight.UNKNOWN)
        assert back[key].levels == (compared.levels and compared.levels[::-1])
        differences = {place.place: place.by for place in compared.places}
        assert {place.place: place.by and -place.by for place in back[key].places} == differences


@settings(max_examples=30)
@given(st.lists(views(), max_size=2))
def test_counts_add_up_and_the_order_of_pairs_does_not_matter(drawn):
    compared = [compare_pair(one, two, own_verdict=None, fit=rubric.fit) for rubric, one, two in drawn]
    catches = count_catches(tuple(compared))
    sights = Counter(one.sight for pair in compared for one in pair.criteria if one.on.weight)
    assert catches.n_faults + catches.n_clean == sights.total() - sights[Sight.UNKNOWN]
    assert (catches.caught, catches.both_clean) == (sights[Sight.CAUGHT], sights[Sight.BOTH_CLEAN])
    assert catches == count_catches(tuple(reversed(compared)))
    one_by_one = [count_catches((pair,)) for pair in compared]
    assert catches.n_faults == sum(one.n_faults for one in one_by_one)
    assert catches.n_clean == sum(one.n_clean for one in one_by_one)


@settings(max_examples=40)
@given(views())
def test_every_place_of_either_view_is_compared_once(drawn):
    rubric, one, two = drawn
    for compared in compare_pair(one, two, own_verdict=None, fit=rubric.fit).criteria:
        places = [place.place for place in compared.places]
        assert len(set(places)) == len(places)
        seen_by = [grade for grade in (compared.trainee, compared.mentor) if grade is not None]
        assert set(places) == {place.place for grade in seen_by for place in grade.places}


@settings(max_examples=40)
@given(views())
def test_a_pair_beside_itself_agrees(drawn):
    rubric, one, _ = drawn
    compared = compare_pair(one, replace(one), own_verdict=None, fit=rubric.fit)
    assert {c.sight for c in compared.criteria} <= {Sight.CAUGHT, Sight.BOTH_CLEAN, Sight.UNKNOWN}
    assert {p.match for c in compared.criteria for p in c.places} <= {Match.AGREE, Match.NEITHER}
    assert not compared.would_have_gone_out
    assert not compared.was_held_back


def test_a_settled_level_is_the_unit_of_every_coefficient():
    """The median of 2 2 and one unknown is settled at 2; the worst of them is not."""
    worst = compare_pair(graded(c=(2, 2, None)), graded(c=(2, 2, 2)), own_verdict=None, fit=2).criteria[2]
    assert worst.levels is None
    median = SMALL.model_copy(update={"criteria": (criterion("c", combine=Combine.MEDIAN, stations=tuple(Station)),)})
    readings = tuple(reading_of("c", Place(None, s), SeenLevel(level=2)) for s in (Station.HEEL, Station.TIP))
    grade = Case(Rubric.model_validate(dict(median)), pair_of(EdgeType.CONVEX), readings).grade()
    assert compare_pair(grade, grade, own_verdict=None, fit=2).criteria[0].levels == (2, 2)

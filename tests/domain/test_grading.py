"""Grading: worked examples with a pencil, then properties over drawn rubrics, places and readings."""

from __future__ import annotations

import math
from itertools import product

import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from evalkit.domain import grading
from evalkit.domain.bands import Band, Limit, LimitOf
from evalkit.domain.criterion import Combine, Criterion, Kind, OnType, Use
from evalkit.domain.grading import grade_pair, grade_round_stage, reachable_levels
from evalkit.domain.levels import level_of
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import (
    CutResult,
    Medium,
    NotSeen,
    Place,
    Reading,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Stage,
    Unseen,
)
from evalkit.domain.rubric import Rubric
from evalkit.domain.verdict import Verdict
from tests.domain import pencil
from tests.domain.strategies import NUMBER, STAGE, Case, cases, measures, pair_of, reading_of, words

ORDER = {Verdict.REWORK: 0, Verdict.NOT_SHOWN: 1, Verdict.ACCEPTED: 2}
CONVEX = EdgeType.CONVEX


def criterion(key: str, **own: object) -> Criterion:
    return Criterion.model_validate({"key": key, "name": key, "levels": words(4), "weight": 1, **own})


def rubric_of(*criteria: Criterion, mark: int = 75) -> Rubric:
    return Rubric(key="small", name="Small", levels=words(4), mark=mark, criteria=criteria)


def case_of(rubric: Rubric, seen: dict[str, int | tuple[int | None, ...]], **own: tuple[str, ...]) -> Case:
    """Levels by key, in the order of the criterion's places; None is left out."""
    found = []
    for on in rubric.on(CONVEX):
        levels = seen.get(on.key, ())
        for place, level in zip(on.places, levels if isinstance(levels, tuple) else (levels,), strict=False):
            if level is not None:
                found.append(reading_of(on.key, place, SeenLevel(level=level)))
    return Case(rubric, pair_of(CONVEX), tuple(found), **own)


TWO_BLADES = {"blades": tuple(Blade), "stations": tuple(Station)}


def test_a_score_with_a_pencil():
    """Weights 3, 2 and 1; levels 2, 3 and 1 of 3: 100 * (6 + 6 + 1) / (3 * 6) = 1300 / 18 = 72.22, below 75."""
    rubric = rubric_of(criterion("a", weight=3), criterion("b", weight=2), criterion("c"))
    grade = case_of(rubric, {"a": 2, "b": 3, "c": 1}).grade()
    assert grade.score.seen == grade.score.lo == grade.score.hi == pytest.approx(1300 / 18)
    assert grade.score.is_settled
    assert grade.verdict is Verdict.REWORK
    assert grade.missed == ()  # no criterion alone is to blame: the total is
    assert grade.needed == ()


def test_the_mark_itself_is_enough():
    """Levels 2, 2, 2 and 3 of 3 at weight 1 make 9 / 12 = 75 exactly, which reaches a mark of 75."""
    rubric = rubric_of(*(criterion(key) for key in "abcd"))
    assert case_of(rubric, {"a": 2, "b": 2, "c": 2, "d": 3}).grade().verdict is Verdict.ACCEPTED
    assert case_of(rubric, {"a": 2, "b": 2, "c": 2, "d": 2}).grade().verdict is Verdict.REWORK


def test_what_was_not_seen_is_a_range():
    """Weight 3 at 3, weight 1 not seen: seen 100; lowest 9 / 12 = 75; highest 12 / 12 = 100."""
    rubric = rubric_of(criterion("a", weight=3), criterion("b"), mark=50)
    grade = case_of(rubric, {"a": 3}).grade()
    assert (grade.score.seen, grade.score.lo, grade.score.hi) == (100, 75, 100)
    assert grade.verdict is Verdict.NOT_SHOWN  # b could still be 0, and nothing that counts may be
    assert [(test.on.key, test.place) for test in grade.needed] == [("b", Place())]


def test_nothing_seen_is_neither_nought_nor_pass():
    grade = case_of(rubric_of(criterion("a", weight=3), criterion("b")), {}).grade()
    assert (grade.score.seen, grade.score.lo, grade.score.hi) == (None, 0, 100)
    assert grade.verdict is Verdict.NOT_SHOWN
    assert not grade.is_touched


def test_a_level_of_nought_outvotes_a_full_score():
    """Weight 99 at 3 and weight 1 at 0 make 99 of 100, and still rework."""
    grade = case_of(rubric_of(criterion("a", weight=99), criterion("b")), {"a": 3, "b": 0}).grade()
    assert grade.score.seen == pytest.approx(99)
    assert grade.verdict is Verdict.REWORK
    assert [missed.key for missed in grade.missed] == ["b"]


def test_a_must_pass_outvotes_a_full_score():
    """A must-pass of 2 at level 1 sends the pair back although 98.67 is far above the mark."""
    rubric = rubric_of(criterion("a", weight=49), criterion("b", must_pass=2))
    grade = case_of(rubric, {"a": 3, "b": 1}).grade()
    assert grade.score.seen == pytest.approx(100 * (147 + 1) / 150)
    assert grade.verdict is Verdict.REWORK
    assert [missed.key for missed in grade.missed] == ["b"]


@pytest.mark.parametrize(
    ("how", "level"),
    [(Combine.WORST, 0), (Combine.MEDIAN, 2), (Combine.MEAN, 1)],
)
def test_six_places_become_one_level(how, level):
    """0 1 2 3 3 3: worst 0; median (2 + 3) / 2 = 2.5, down to 2; mean 12 / 6 = 2, but of 0 1 1 3 3 3 it is 1.83."""
    rubric = rubric_of(criterion("a", combine=how, **TWO_BLADES))
    levels = (0, 1, 1, 3, 3, 3) if how is Combine.MEAN else (0, 1, 2, 3, 3, 3)
    assert case_of(rubric, {"a": levels}).grade().criteria[0].level == level


def test_the_median_of_three_is_settled_by_two_that_agree():
    """2 and 2 seen of three stations: whatever the third is, the middle one of the three is 2."""
    rubric = rubric_of(criterion("a", combine=Combine.MEDIAN, stations=tuple(Station)), mark=60)
    grade = case_of(rubric, {"a": (2, None, 2)}).grade()
    assert grade.criteria[0].level == 2
    assert [place.place.station for place in grade.criteria[0].unseen] == [Station.MIDDLE]
    assert grade.verdict is Verdict.ACCEPTED
    assert grade.score.is_settled


def test_the_worst_place_decides_before_the_rest_is_seen():
    """One station at 0 under 'worst' is 0 however the other five turn out: rework, and no test is worth making."""
    grade = case_of(rubric_of(criterion("a", **TWO_BLADES)), {"a": (0,)}).grade()
    assert grade.criteria[0].reachable == (0,)
    assert grade.verdict is Verdict.REWORK
    assert grade.needed == ()


def test_a_limit_on_failing_places():
    """Median of 1 1 3 3 3 3 is 3, but two places below fit, where level 2 allows one: level 1."""
    rubric = rubric_of(
        criterion("a", combine=Combine.MEDIAN, limits=(Limit(of=LimitOf.FAILING, at_most={2: 1, 3: 0}),), **TWO_BLADES)
    )
    assert case_of(rubric, {"a": (1, 1, 3, 3, 3, 3)}).grade().criteria[0].level == 1
    assert case_of(rubric, {"a": (1, 2, 3, 3, 3, 3)}).grade().criteria[0].level == 2
    assert case_of(rubric, {"a": (2, 2, 3, 3, 3, 3)}).grade().criteria[0].level == 3


def rod_line(**own: object) -> Criterion:
    bands = (Band(level=3, low=0.8, high=1.2), Band(level=2, low=0.5, high=1.5), Band(level=1, low=0.2, high=2))
    return criterion("rod-line", kind=Kind.MEASURED, unit=Unit.MM, bands=bands, **(TWO_BLADES | own))


def mm(numbers: list[float | None]) -> tuple[Reading, ...]:
    places = rubric_of(rod_line()).on(CONVEX)[0].places
    return tuple(
        reading_of("rod-line", place, SeenMeasure(number=number, unit=Unit.MM))
        for place, number in zip(places, numbers, strict=False)
        if number is not None
    )


def test_a_spread_along_one_blade_caps_the_level():
    """Thumb 0.8 1.0 1.2, finger 1.0 throughout: every place at 3; the spread of 0.4 mm allows 2, not 3."""
    spread = Limit(of=LimitOf.SPREAD, at_most={3: 0.2, 2: 0.4})
    case = Case(rubric_of(rod_line(limits=(spread,))), pair_of(CONVEX), mm([0.8, 1.0, 1.2, 1.0, 1.0, 1.0]))
    grade = case.grade().criteria[0]
    assert [place.level for place in grade.places] == [3] * 6
    assert grade.figures[LimitOf.SPREAD] == pytest.approx(0.4)
    assert grade.figures[LimitOf.RATIO] == pytest.approx(1.5)
    assert grade.figures[LimitOf.BLADES] == pytest.approx(0)
    assert grade.level == 2


def test_a_spread_seen_so_far_caps_what_can_still_come():
    """Two of six places, 0.8 and 1.2 on one blade: the spread can only grow, so 2 is the best that can come of it."""
    spread = Limit(of=LimitOf.SPREAD, at_most={3: 0.2, 2: 0.4})
    grade = Case(rubric_of(rod_line(limits=(spread,))), pair_of(CONVEX), mm([0.8, 1.2])).grade().criteria[0]
    assert (grade.seen, grade.lo, grade.hi) == (2, 0, 2)


def test_a_difference_between_blades_caps_nothing_before_all_is_seen():
    """Thumb 0.8 0.8, finger 1.2: 0.4 mm apart now, but the places to come can bring the blades together."""
    blades = Limit(of=LimitOf.BLADES, at_most={3: 0.1})
    readings = mm([0.8, 0.8, None, 1.2])
    grade = Case(rubric_of(rod_line(limits=(blades,))), pair_of(CONVEX), readings).grade().criteria[0]
    assert (grade.seen, grade.lo, grade.hi) == (2, 0, 3)


def test_a_limit_that_skips_a_level_never_gives_it():
    """The limit names 1 and 3 only, so it leaves 3, 1 or 0. The median of 3 3 3 and one unknown is 3: never 2."""
    limit = Limit(of=LimitOf.SPREAD, at_most={1: 0.6, 3: 0.2})
    case = Case(rubric_of(rod_line(limits=(limit,), combine=Combine.MEDIAN, blades=())), pair_of(CONVEX), ())
    for station in (Station.HEEL, Station.MIDDLE):
        case = case.with_reading(reading_of("rod-line", Place(None, station), SeenMeasure(number=1.0, unit=Unit.MM)))
    three = rubric_of(rod_line(limits=(limit,), combine=Combine.MEDIAN, blades=()))
    assert case.grade().criteria[0].reachable == (0, 1, 3)
    assert reachable_levels(three.on(CONVEX)[0], three, (3, 3, 3), 2, {}) == (0, 1, 3)


def test_the_widest_over_the_narrowest_is_endless_from_nought():
    grade = Case(rubric_of(rod_line()), pair_of(CONVEX), mm([0.0, 1.0, 1.0])).grade().criteria[0]
    assert grade.figures[LimitOf.RATIO] == math.inf


def test_a_must_pass_cannot_be_put_aside():
    """A whole must-pass said to be not applicable stays in the sum as a range; an ordinary one leaves it."""
    rubric = rubric_of(criterion("a", must_pass=2), criterion("b"), criterion("c"))
    aside = tuple(reading_of(key, Place(), NotSeen(why=Unseen.NOT_APPLICABLE)) for key in "ab")
    seen = reading_of("c", Place(), SeenLevel(level=3))
    grade = Case(rubric, pair_of(CONVEX), (*aside, seen)).grade()
    assert [one.key for one in grade.criteria] == ["a", "c"]
    assert (grade.score.lo, grade.score.hi) == (50, 100)
    assert grade.verdict is Verdict.NOT_SHOWN
    assert [test.on.key for test in grade.needed] == ["a"]


def test_what_leaves_the_sum_and_what_stays():
    """One of two is at 3. The other not applicable: 3 / 3. Not tested, or could not: (3 + 0) / 6 to (3 + 3) / 6."""
    rubric = rubric_of(criterion("a"), criterion("b"))
    for why in Unseen:
        case = case_of(rubric, {"a": 3}).with_reading(reading_of("b", Place(), NotSeen(why=why)))
        lowest = 100 if why is Unseen.NOT_APPLICABLE else 50
        assert (case.grade().score.lo, case.grade().score.hi) == (lowest, 100)


def test_a_pair_with_everything_put_aside_shows_nothing():
    rubric = rubric_of(criterion("a"))
    grade = Case(rubric, pair_of(CONVEX), (reading_of("a", Place(), NotSeen(why=Unseen.NOT_APPLICABLE)),)).grade()
    assert grade.criteria == ()
    assert (grade.verdict, grade.score.seen, grade.score.lo, grade.score.hi) == (Verdict.NOT_SHOWN, None, 0, 100)


def test_one_station_put_aside_leaves_the_others():
    rubric = rubric_of(criterion("a", stations=tuple(Station)))
    aside = reading_of("a", Place(None, Station.MIDDLE), NotSeen(why=Unseen.NOT_APPLICABLE))
    grade = case_of(rubric, {"a": (3, 0, 3)}).with_reading(aside).grade().criteria[0]
    assert (len(grade.places), grade.level) == (2, 3)


def test_a_reason_for_the_whole_criterion_holds_at_every_place_left_out():
    """'Could not' for the whole, yet the heel was seen: the heel counts, the middle and the tip carry the reason."""
    rubric = rubric_of(criterion("a", stations=tuple(Station)))
    case = case_of(rubric, {"a": (3,)}).with_reading(reading_of("a", Place(), NotSeen(why=Unseen.COULD_NOT)))
    grade = case.grade()
    assert [place.why for place in grade.criteria[0].places] == [None, Unseen.COULD_NOT, Unseen.COULD_NOT]
    assert [test.could_not for test in grade.needed] == [True, True]


def test_an_advisory_criterion_is_graded_and_weighs_nothing():
    types = {CONVEX: OnType(use=Use.ADVISORY)}
    rubric = rubric_of(criterion("a"), criterion("b", weight=9, must_pass=2, types=types))
    grade = case_of(rubric, {"a": 3, "b": 0}).grade()
    assert [(one.key, one.counts) for one in grade.criteria] == [("a", True), ("b", False)]
    assert (grade.score.lo, grade.verdict) == (100, Verdict.ACCEPTED)


def test_a_criterion_that_does_not_apply_is_not_graded():
    types = {CONVEX: OnType(use=Use.NOT_APPLICABLE)}
    rubric = rubric_of(criterion("a"), criterion("b", weight=9, must_pass=2, types=types))
    assert [one.key for one in case_of(rubric, {"a": 3, "b": 0}).grade().criteria] == ["a"]


def test_tissue_passing_with_hair_pushing_is_never_accepted():
    """Common practice, no source: a pair that cuts wet tissue and pushes hair is not sharp. Hair is a must-pass."""
    cuts = dict.fromkeys(CutResult, 0) | {CutResult.CLEAN: 3, CutResult.PUSH: 1}
    tissue = criterion("tissue", kind=Kind.CUT, media=(Medium.WET_TISSUE,), cuts=cuts, weight=90)
    hair = criterion("hair", kind=Kind.CUT, media=(Medium.HAIR,), cuts=cuts, weight=1, must_pass=2)
    clean = reading_of("tissue", Place(), SeenCut(medium=Medium.WET_TISSUE, result=CutResult.CLEAN))
    push = reading_of("hair", Place(), SeenCut(medium=Medium.HAIR, result=CutResult.PUSH))
    grade = Case(rubric_of(tissue, hair), pair_of(CONVEX), (clean, push)).grade()
    assert grade.score.seen is not None
    assert grade.score.seen > 98
    assert grade.verdict is Verdict.REWORK


def test_a_semi_convex_pair_is_judged_as_semi_convex():
    """Common practice, no source: 50 degrees is right for this semi-convex pair and outside the convex band."""
    on_semi = OnType(bands=(Band(level=3, low=48, high=55),))
    angle = criterion(
        "angle", kind=Kind.MEASURED, unit=Unit.DEG_INCLUDED, bands=(Band(level=3, low=40, high=47),),
        types={EdgeType.SEMI_CONVEX: on_semi},
    )  # fmt: skip
    readings = (reading_of("angle", Place(), SeenMeasure(number=50, unit=Unit.DEG_INCLUDED)),)
    levels = {kind: Case(rubric_of(angle), pair_of(kind), readings).grade().criteria[0].level for kind in EdgeType}
    assert levels[EdgeType.SEMI_CONVEX] == 3
    assert levels[CONVEX] == levels[EdgeType.BEVEL] == 2  # outside every band: one below the lowest


def test_the_convention_of_an_angle_is_kept():
    """55 included is 35 on the dial; read the wrong way round it would fall out of the band 52 to 58."""
    angle = criterion("angle", kind=Kind.MEASURED, unit=Unit.DEG_INCLUDED, bands=(Band(level=3, low=52, high=58),))
    for number, unit, level in ((55, Unit.DEG_INCLUDED, 3), (35, Unit.DEG_DIAL, 3), (55, Unit.DEG_DIAL, 2)):
        reading = reading_of("angle", Place(), SeenMeasure(number=number, unit=unit))
        assert Case(rubric_of(angle), pair_of(CONVEX), (reading,)).grade().criteria[0].level == level


def test_only_readings_of_that_number_and_stage_are_taken():
    rubric = rubric_of(criterion("a"))
    mine = reading_of("a", Place(), SeenLevel(level=3))
    others = (
        mine.model_copy(update={"stage": Stage.AS_RECEIVED, "seen": SeenLevel(level=0)}),
        mine.model_copy(update={"number": NUMBER + 1, "seen": SeenLevel(level=1)}),
    )
    assert Case(rubric, pair_of(CONVEX), (mine, *others)).grade().criteria[0].level == 3


def test_the_shortest_list_names_must_passes_first_and_leaves_out_what_cannot_matter():
    """Mark 10 is soon reached, so b must reach its must-pass and a only keep off 0; c is advisory."""
    rubric = rubric_of(criterion("a"), criterion("b", weight=2, must_pass=2), criterion("c", weight=0), mark=10)
    grade = case_of(rubric, {}).grade()
    assert [(test.on.key, test.is_must_pass) for test in grade.needed] == [("b", True), ("a", False)]
    settled = case_of(rubric, {"a": 1, "b": 2}).grade()
    assert (settled.verdict, settled.needed) == (Verdict.ACCEPTED, ())


def test_a_criterion_that_can_no_longer_turn_the_total_is_not_asked_for():
    """Mark 60 of 30 points is 18, and a and b have 9 each already; c (weight 4) must only keep off 0.

    Not seen at all it may be 0, so its stations are asked for. With 1 and 3 seen, the median of three is 1 at least.
    """
    stations = {"combine": Combine.MEDIAN, "stations": tuple(Station)}
    rubric = rubric_of(
        criterion("a", weight=3), criterion("b", weight=3), criterion("c", weight=4, **stations), mark=60
    )
    open_ = case_of(rubric, {"a": 3, "b": 3}).grade()
    assert [(test.on.key, test.place.station) for test in open_.needed] == [("c", station) for station in Station]
    between = case_of(rubric, {"a": 3, "b": 3, "c": (1, None, 3)}).grade()
    assert between.criteria[2].reachable == (1, 2, 3)
    assert (between.verdict, between.needed) == (Verdict.ACCEPTED, ())


# Properties. `pencil` holds the rules a second time, by enumeration.


@settings(max_examples=80)
@given(cases(n_unseen=(0, 4), transit=True))
def test_each_criterion_reaches_exactly_what_its_completions_reach(case):
    lines = pencil.lines_of(case.rubric, case.pair, case.readings, case.transit)
    grade = case.grade()
    assert [one.key for one in grade.criteria] == [line.key for line in lines]
    for one, line in zip(grade.criteria, lines, strict=True):
        assert {place.place: place.level for place in one.places if place.level is not None} == line.seen
        assert [place.place for place in one.unseen] == line.unseen
        if len(line.unseen) < 5:
            assert one.reachable == tuple(sorted(line.reachable()))
        expected = line.level(list(line.seen.values()), line.seen_cap(only_growing=False)) if line.seen else None
        assert one.seen == expected


@settings(max_examples=60)
@given(cases(n_unseen=(0, 5)))
def test_the_score_range_holds_every_completion_and_both_ends_are_reached(case):
    lines = pencil.lines_of(case.rubric, case.pair, case.readings)
    assume(any(line.weight for line in lines))
    scores = [pencil.score(lines, levels) for levels in pencil.completions(lines)]
    grade = case.grade()
    assert min(scores) == pytest.approx(grade.score.lo, abs=1e-9)
    assert max(scores) == pytest.approx(grade.score.hi, abs=1e-9)
    assert grade.score.is_settled == (min(scores) == max(scores))


@settings(max_examples=80)
@given(cases(n_unseen=(0, 5), transit=True))
def test_the_verdict_is_that_of_every_completion(case):
    lines = pencil.lines_of(case.rubric, case.pair, case.readings, case.transit)
    assume(all(len(line.unseen) < 5 for line in lines))
    grade = case.grade()
    event(grade.verdict)
    assert grade.verdict is pencil.verdict(lines, case.rubric.mark)
    surely = [line.key for line in lines if line.weight and max(line.reachable()) < line.need]
    assert [missed.key for missed in grade.missed] == surely


@settings(max_examples=70)
@given(cases(max_criteria=3, max_top=2, n_unseen=(1, 4)))
def test_the_tests_needed_are_the_one_shortest_list_that_settles_the_verdict(case):
    lines = pencil.lines_of(case.rubric, case.pair, case.readings)
    assume(any(line.weight for line in lines))
    assume(math.prod(len(line.outcomes()) ** len(line.unseen) for line in lines) <= 3000)
    grade = case.grade()
    event(f"{grade.verdict}, {len(grade.needed)} needed")
    needed = [(test.on.key, test.place) for test in grade.needed]
    assert len(set(needed)) == len(needed)
    assert pencil.shortest_settling_sets(lines, case.rubric.mark) == [set(needed)]
    assert bool(needed) == (grade.verdict is Verdict.NOT_SHOWN)


@settings(max_examples=70)
@given(cases(n_unseen=(0, 5)), st.data())
def test_raising_a_level_never_lowers_a_score_nor_worsens_a_verdict(case, data):
    """One level seen by eye is raised, or a cut replaced by a better word for it; the places seen stay the same."""
    by_level = {(one.key, place.place): place.level for one in case.grade().criteria for place in one.places}
    raisable = [
        reading
        for reading in case.readings
        if reading.seen.kind in ("level", "cut")
        and (level := by_level.get((reading.criterion, reading.place))) is not None
        and level < case.rubric.top
    ]
    assume(raisable)
    reading = data.draw(st.sampled_from(raisable))
    level = by_level[reading.criterion, reading.place]
    higher = data.draw(st.integers(level + 1, case.rubric.top))
    raised = reading.model_copy(update={"seen": SeenLevel(level=higher)})
    before, after = case.grade(), case.with_reading(raised).grade()
    assert ORDER[after.verdict] >= ORDER[before.verdict]
    assert after.score.lo >= before.score.lo
    assert after.score.hi >= before.score.hi
    assert (after.score.seen or 0) >= (before.score.seen or 0)
    for was, now in zip(before.criteria, after.criteria, strict=True):
        assert now.lo >= was.lo
        assert now.hi >= was.hi
        assert (now.seen or 0) >= (was.seen or 0)
    assert {one.key for one in after.missed} <= {one.key for one in before.missed}


@settings(max_examples=70)
@given(cases(n_unseen=(1, 6)), st.data())
def test_seeing_more_never_widens_a_range_nor_turns_a_verdict_that_was_shown(case, data):
    unseen = [(one.on, place.place) for one in case.grade().criteria for place in one.unseen]
    assume(unseen)
    on, place = data.draw(st.sampled_from(unseen))
    by_eye = st.integers(0, case.rubric.top).map(lambda level: SeenLevel(level=level))
    what = data.draw(st.one_of(by_eye, measures(on)) if on.kind is Kind.MEASURED else by_eye)
    before, after = case.grade(), case.with_reading(reading_of(on.key, place, what)).grade()
    for was, now in zip(before.criteria, after.criteria, strict=True):
        assert set(now.reachable) <= set(was.reachable)
    assert before.score.lo <= after.score.lo <= after.score.hi <= before.score.hi
    assert before.verdict in (Verdict.NOT_SHOWN, after.verdict)


@settings(max_examples=50)
@given(cases(n_unseen=(1, 6)), st.data())
def test_making_the_tests_needed_settles_the_verdict(case, data):
    """Whichever way they turn out: every test on the list made, none other, and the verdict is shown."""
    needed = case.grade().needed
    assume(needed)
    for test in needed:
        level = data.draw(st.integers(0, case.rubric.top))
        case = case.with_reading(reading_of(test.on.key, test.place, SeenLevel(level=level)))
    assert case.grade().verdict is not Verdict.NOT_SHOWN


@settings(max_examples=40)
@given(cases(n_unseen=(0, 6), transit=True), st.randoms(use_true_random=False))
def test_the_order_of_readings_and_criteria_does_not_matter(case, dice):
    readings, criteria = list(case.readings), list(case.rubric.criteria)
    dice.shuffle(readings)
    dice.shuffle(criteria)
    other = Case(case.rubric.model_copy(update={"criteria": tuple(criteria)}), case.pair, tuple(readings), case.transit)
    one, two = case.grade(), other.grade()
    assert (one.score, one.verdict) == (two.score, two.verdict)
    assert {(test.on.key, test.place) for test in one.needed} == {(test.on.key, test.place) for test in two.needed}
    assert {(grade.key, grade.places, grade.reachable, grade.seen) for grade in one.criteria} == {
        (grade.key, grade.places, grade.reachable, grade.seen) for grade in two.criteria
    }


@settings(max_examples=40)
@given(cases(n_unseen=(0, 6)), st.data())
def test_what_does_not_apply_might_as_well_not_be_in_the_rubric(case, data):
    """Putting a criterion aside gives the grade of the rubric without it."""
    used = (on for on in case.rubric.on(case.pair.edge_type) if on.use is not Use.NOT_APPLICABLE)
    others = [on for on in used if on.must_pass is None]
    assume(others)
    assume(len(case.rubric.criteria) > 1)
    key = data.draw(st.sampled_from(others)).key
    kept = tuple(reading for reading in case.readings if reading.criterion != key)
    rest = tuple(one for one in case.rubric.criteria if one.key != key)
    assume(any(one.on(case.pair.edge_type).weight for one in rest))
    aside = reading_of(key, Place(), NotSeen(why=Unseen.NOT_APPLICABLE))
    one = Case(case.rubric, case.pair, (*kept, aside)).grade()
    two = Case(Rubric.model_validate(dict(case.rubric) | {"criteria": rest}), case.pair, kept).grade()
    assert (one.score, one.verdict) == (two.score, two.verdict)


@settings(max_examples=50)
@given(cases(n_unseen=(0, 6)), st.data())
def test_transit_counts_neither_for_nor_against(case, data):
    """A criterion spoiled on the way is as if nobody had looked at it, so it sends no pair back by itself."""
    key = data.draw(st.sampled_from(sorted(case.rubric.by_key)))
    aside = any(
        reading.criterion == key and reading.seen == NotSeen(why=Unseen.NOT_APPLICABLE) for reading in case.readings
    )
    assume(not aside)
    spoiled = Case(case.rubric, case.pair, case.readings, (key,)).grade()
    unread = Case(case.rubric, case.pair, tuple(one for one in case.readings if one.criterion != key)).grade()
    assert (spoiled.score, spoiled.verdict) == (unread.score, unread.verdict)
    assert key not in {one.key for one in spoiled.missed}
    found = spoiled.find(key)
    if found is not None:
        assert found.is_transit
        assert (found.seen, found.hi) == (None, case.rubric.top)
    if spoiled.verdict is Verdict.REWORK:
        as_new = SeenLevel(level=case.rubric.top)
        unspoiled = Case(case.rubric, case.pair, tuple(one for one in case.readings if one.criterion != key))
        for place in found.places if found else ():
            unspoiled = unspoiled.with_reading(reading_of(key, place.place, as_new))
        assert unspoiled.grade().verdict is Verdict.REWORK


@settings(max_examples=25)
@given(cases(n_unseen=(0, 6)), cases(n_unseen=(0, 6)), st.randoms(use_true_random=False))
def test_a_round_is_graded_pair_by_pair_in_any_order(one, two, dice):
    """Two pairs under one rubric; the second's readings are kept where they fit it."""
    pairs = [(1, one.pair), (2, one.pair.model_copy(update={"tag": "P2"}))]
    places = {(on.key, place) for on in one.rubric.on(one.pair.edge_type) for place in on.places}
    fits = [
        reading
        for reading in two.readings
        if (reading.criterion, reading.place) in places
        and (reading.seen.kind == "not seen" or (reading.seen.kind == "level" and reading.seen.level <= one.rubric.top))
    ]
    readings = [reading.model_copy(update={"number": 1}) for reading in one.readings]
    readings += [reading.model_copy(update={"number": 2}) for reading in fits]
    expected = [grade_pair(one.rubric, pair, readings, number=number, stage=STAGE) for number, pair in pairs]
    dice.shuffle(readings)
    dice.shuffle(pairs)
    found = grade_round_stage(one.rubric, pairs, readings, STAGE)
    assert sorted(found, key=lambda grade: grade.number) == expected


@given(st.integers(0, 100), st.lists(st.tuples(st.integers(1, 9), st.integers(1, 3)), min_size=1, max_size=5))
def test_the_mark_is_compared_without_rounding(mark, parts):
    """Weights and levels in whole numbers: accepted exactly when 100 * points >= mark * best."""
    rubric = rubric_of(*(criterion(f"c{at}", weight=weight) for at, (weight, _) in enumerate(parts)), mark=mark)
    grade = case_of(rubric, {f"c{at}": level for at, (_, level) in enumerate(parts)}).grade()
    points, best = sum(weight * level for weight, level in parts), 3 * sum(weight for weight, _ in parts)
    assert (grade.verdict is Verdict.ACCEPTED) == (100 * points >= mark * best)


def test_two_criteria_meet_every_verdict():
    """Each of two criteria not seen, at 0 or at 3: nine pairs, and all three verdicts among them."""
    rubric = rubric_of(criterion("a", must_pass=2), criterion("b"))
    levels = product(((), (0,), (3,)), repeat=2)
    assert {case_of(rubric, {"a": a, "b": b}).grade().verdict for a, b in levels} == set(Verdict)


def test_each_reading_is_looked_at_once(monkeypatch):
    """Twice the rounds, twice the looks: what one round costs does not grow with the rounds before it."""
    looks = []
    monkeypatch.setattr(grading, "level_of", lambda *args: looks.append(args[1]) or level_of(*args))
    rubric = rubric_of(criterion("a", **TWO_BLADES), criterion("b"))
    pairs = [(number, pair_of(CONVEX, f"P{number}")) for number in range(1, 13)]
    case = case_of(rubric, {"a": (3,) * 6, "b": 3})
    readings = [one.model_copy(update={"number": number}) for number, _ in pairs for one in case.readings]
    for n_rounds in (1, 2):
        grade_round_stage(rubric, pairs, readings, STAGE)
        assert len(looks) == n_rounds * len(readings)

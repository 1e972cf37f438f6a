"""From a thing seen to a level: bands, cuts, ways to combine, limits, and readings that do not fit."""

from __future__ import annotations

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.domain.bands import Band, Limit, LimitOf
from evalkit.domain.criterion import Combine, Criterion, Kind
from evalkit.domain.levels import (
    cap_of,
    caps_left,
    combine,
    fault_of,
    figures_of,
    is_comparable,
    level_of,
    level_of_cut,
    level_of_measure,
    limited,
    number_in,
)
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import CutResult, Medium, NotSeen, Place, SeenCut, SeenLevel, SeenMeasure, Unseen
from evalkit.domain.rubric import DropMethod, Rubric
from evalkit.errors import InputError
from tests.domain.strategies import reading_of, words

CONVEX = EdgeType.CONVEX
CUTS = {
    CutResult.CLEAN: 3, CutResult.CATCH: 1, CutResult.FOLD: 0, CutResult.PUSH: 1, CutResult.TEAR: 0,
    CutResult.NOT_CUT: 0,
}  # fmt: skip


def on(kind: Kind = Kind.JUDGED, **own: object):
    return Criterion.model_validate(
        {"key": "a", "name": "A", "kind": kind, "levels": words(4), "weight": 1, **own}
    ).on(CONVEX)  # fmt: skip


def measured(unit: Unit = Unit.MM, **own: object):
    bands = (Band(level=1, low=0.2, high=2.0), Band(level=3, low=0.8, high=1.2), Band(level=2, low=0.5, high=1.5))
    return on(Kind.MEASURED, **({"unit": unit, "bands": bands} | own))


def cut(**own: object):
    return on(Kind.CUT, media=(Medium.HAIR,), cuts=CUTS, **own)


def rubric(drop_test: DropMethod | None = None) -> Rubric:
    plain = Criterion(key="a", name="A", levels=words(4), weight=1)
    return Rubric(key="r", name="R", levels=words(4), criteria=(plain,), drop_test=drop_test)


@pytest.mark.parametrize(
    ("number", "level"),
    [(0.8, 3), (1.0, 3), (1.2, 3), (0.79, 2), (1.5, 2), (1.51, 1), (0.2, 1), (0.19, 0), (2.01, 0), (0, 0)],
)
def test_a_number_gets_the_best_band_that_holds_it_ends_included(number, level):
    assert level_of_measure(measured(), number) == level


def test_outside_every_band_is_one_below_the_lowest():
    only_two = measured(bands=(Band(level=3, low=1, high=2), Band(level=2, low=0.5, high=3)))
    assert level_of_measure(only_two, 9) == 1


def test_within_is_around_the_target():
    near = measured(target=45.0, bands=(Band(level=3, within=2), Band(level=2, within=5)))
    assert [level_of_measure(near, number) for number in (43, 47, 47.5, 40, 50.1)] == [3, 3, 2, 2, 1]
    assert near.band_of(3) == (43, 47)
    assert near.band_of(1) == (40, 50)


def test_an_open_band_has_no_end():
    wide = measured(bands=(Band(level=3, high=0.1), Band(level=2, high=0.3)))
    assert [level_of_measure(wide, number) for number in (0, 0.1, 0.2, 0.4)] == [3, 3, 2, 1]
    assert wide.band_of(2) == (-math.inf, 0.3)


def test_a_value_carried_through_floats_stays_in_its_band():
    """45 on the dial is 45 included, the very end of the band; so is 34.9 on the dial, 55.1 included."""
    edge = measured(Unit.DEG_INCLUDED, bands=(Band(level=3, low=45, high=55.1),))
    for dial in (45.0, 34.9):
        number = number_in(edge, SeenMeasure(number=dial, unit=Unit.DEG_DIAL), None)
        assert level_of_measure(edge, number) == 3


@pytest.mark.parametrize("result", CutResult)
def test_a_cut_earns_what_the_rubric_says_of_it(result):
    assert level_of_cut(cut(), SeenCut(medium=Medium.HAIR, result=result)) == CUTS[result]


@pytest.mark.parametrize(("push_mm", "level"), [(0, 2), (1.0, 2), (1.1, 1), (5, 1), (5.1, 0), (None, 1)])
def test_a_push_with_its_mm_earns_by_the_mm(push_mm, level):
    """At most 1 mm earns 2, at most 5 mm earns 1, more earns 0; without mm the word alone earns 1."""
    pushing = cut(push_mm={1: 5.0, 2: 1.0})
    assert level_of_cut(pushing, SeenCut(medium=Medium.HAIR, result=CutResult.PUSH, push_mm=push_mm)) == level


def test_a_drop_test_done_another_way_earns_no_level():
    """Held by the finger ring, or started at 60 degrees, where the rubric says thumb ring from 90."""
    drop = measured(Unit.DEG_OPEN, bands=(Band(level=3, low=20, high=40),))
    method = DropMethod(ring=Blade.THUMB, start_deg=90)
    ways = {(Blade.THUMB, 90.0): 3, (None, None): 3, (Blade.FINGER, 90.0): None, (Blade.THUMB, 60.0): None}
    for (ring, start), level in ways.items():
        seen = SeenMeasure(number=30, unit=Unit.DEG_OPEN, ring=ring, start_deg=start)
        assert level_of(drop, reading_of("a", Place(), seen), rubric(method), None) == level
        assert level_of(drop, reading_of("a", Place(), seen), rubric(), None) == 3
        assert is_comparable(seen, method) is (level is not None)


def test_nothing_seen_earns_no_level():
    for why in Unseen:
        assert level_of(on(), reading_of("a", Place(), NotSeen(why=why)), rubric(), None) is None


def test_a_number_on_a_criterion_that_is_not_measured_is_refused():
    with pytest.raises(InputError, match="not measured"):
        number_in(on(), SeenMeasure(number=1, unit=Unit.MM), None)


LEVELS = st.lists(st.integers(0, 5), min_size=1, max_size=7)


@given(LEVELS)
def test_combining_is_rounding_down_the_textbook_figure(levels):
    assert combine(levels, Combine.WORST) == min(levels)
    assert combine(levels, Combine.MEDIAN) == math.floor(statistics.median(levels))
    assert combine(levels, Combine.MEAN) == math.floor(statistics.mean(levels))


@given(LEVELS, st.sampled_from(Combine), st.data())
def test_combining_is_monotone_and_knows_no_order(levels, how, data):
    at = data.draw(st.integers(0, len(levels) - 1))
    raised = [level + (place == at) for place, level in enumerate(levels)]
    assert combine(raised, how) >= combine(levels, how)
    assert combine(data.draw(st.permutations(levels)), how) == combine(levels, how)
    assert min(levels) <= combine(levels, how) <= max(levels)


@given(st.dictionaries(st.integers(1, 3), st.just(0.0), min_size=1), st.data())
def test_a_larger_figure_never_lifts_a_cap_and_every_cap_is_listed(at_most, data):
    amounts = sorted(data.draw(st.lists(st.sampled_from((0, 1, 2, 4)), min_size=len(at_most), max_size=len(at_most))))
    limit = Limit(of=LimitOf.SPREAD, at_most=dict(zip(sorted(at_most, reverse=True), amounts, strict=True)))
    caps = [limit.cap(figure / 2, 3) for figure in range(12)]
    assert caps == sorted(caps, reverse=True)
    assert set(caps) == limit.caps(3)
    assert limit.floor == min(caps) == min(at_most) - 1
    assert max(caps) == 3


def test_a_limit_leaves_one_level_less_than_the_lowest_it_names():
    limit = Limit(of=LimitOf.SPREAD, at_most={3: 0.1, 2: 0.2})
    assert [limit.cap(figure, 3) for figure in (0.1, 0.15, 0.2, 0.3)] == [3, 2, 2, 1]


def test_the_strictest_limit_kept_lifts_the_cap_altogether():
    """A limit that names level 2 alone: at most 0.2 leaves the way to 3 open."""
    limit = Limit(of=LimitOf.SPREAD, at_most={2: 0.2})
    assert [limit.cap(figure, 3) for figure in (0.2, 0.3)] == [3, 1]


def test_limits_on_failing_places_count_places_below_fit():
    limit = Limit(of=LimitOf.FAILING, at_most={3: 0, 2: 1})
    assert limited(3, (3, 3, 1, 0), (limit,), fit=2, top=3) == 1
    assert limited(3, (3, 3, 2, 1), (limit,), fit=2, top=3) == 2
    assert limited(3, (3, 3, 2, 2), (limit,), fit=2, top=3) == 3
    assert limited(3, (0, 0), (Limit(of=LimitOf.SPREAD, at_most={3: 0}),), fit=2, top=3) == 3


def place(blade: Blade | None, station: Station | None) -> Place:
    return Place(blade, station)


def test_figures_with_a_pencil():
    """Thumb 1.0 1.4, finger 0.9 1.1 1.0: spread 0.4; widest over narrowest 1.4; means 1.2 and 1.0, so 0.2 apart."""
    thumb = {place(Blade.THUMB, station): n for station, n in zip(Station, (1.0, 1.4), strict=False)}
    finger = {place(Blade.FINGER, station): n for station, n in zip(Station, (0.9, 1.1, 1.0), strict=False)}
    figures = figures_of(thumb | finger)
    assert figures[LimitOf.SPREAD] == pytest.approx(0.4)
    assert figures[LimitOf.RATIO] == pytest.approx(1.4)
    assert figures[LimitOf.BLADES] == pytest.approx(0.2)
    assert LimitOf.FAILING not in figures


def test_a_figure_that_cannot_be_had_is_left_out():
    assert figures_of({}) == {}
    assert figures_of({place(Blade.THUMB, Station.TIP): 1.0}) == {}
    assert set(figures_of({place(Blade.THUMB, None): 1.0, place(Blade.FINGER, None): 2.0})) == {LimitOf.BLADES}
    zeros = {place(None, station): 0.0 for station in Station}
    assert figures_of(zeros) == {LimitOf.SPREAD: 0.0}  # nought over nought says nothing


NUMBERS = st.dictionaries(
    st.builds(Place, st.sampled_from((None, *Blade)), st.sampled_from(Station)), st.floats(0, 9), min_size=1
)  # fmt: skip


@given(NUMBERS, st.data())
def test_spread_and_ratio_only_grow_with_more_places(numbers, data):
    """What lets grading cap a criterion by what is seen before all of it is."""
    fewer = data.draw(st.sets(st.sampled_from(list(numbers))))
    some = figures_of({where: number for where, number in numbers.items() if where in fewer})
    every = figures_of(numbers)
    for of in (LimitOf.SPREAD, LimitOf.RATIO):
        if of in some:
            assert every[of] >= some[of]


def test_the_caps_left_are_the_cap_seen_and_whatever_lies_below_it():
    limits = (Limit(of=LimitOf.SPREAD, at_most={3: 0.1, 1: 0.4}), Limit(of=LimitOf.FAILING, at_most={3: 0}))
    assert caps_left(limits, 3, top=3) == (0, 1, 3)
    assert caps_left(limits, 1, top=3) == (0, 1)
    assert caps_left((), 3, top=3) == (3,)
    assert cap_of(limits, {LimitOf.SPREAD: 0.3}, top=3) == 1
    assert cap_of(limits, {LimitOf.BLADES: 9.0}, top=3) == 3


@pytest.mark.parametrize(
    ("criterion", "where", "seen", "words_of_it"),
    [
        (on(), Place(Blade.THUMB, None), SeenLevel(level=1), "is not read at thumb"),
        (on(), Place(), SeenLevel(level=4), "off the ladder"),
        (on(), Place(), SeenMeasure(number=1, unit=Unit.MM), "is not measured"),
        (on(), Place(), SeenCut(medium=Medium.HAIR, result=CutResult.CLEAN), "is not a test cut"),
        (cut(), Place(), SeenMeasure(number=1, unit=Unit.MM), "is not measured"),
        (cut(), Place(), SeenCut(medium=Medium.DRY_TISSUE, result=CutResult.CLEAN), "is not cut in dry tissue"),
        (measured(), Place(), SeenCut(medium=Medium.HAIR, result=CutResult.CLEAN), "is not a test cut"),
        (measured(), Place(), SeenMeasure(number=45, unit=Unit.DEG_INCLUDED), "does not measure"),
        (measured(Unit.COUNT), Place(), SeenMeasure(number=45, unit=Unit.MM), "does not measure"),
        (on(must_pass=2), Place(), NotSeen(why=Unseen.NOT_APPLICABLE), "must-pass"),
        (on(stations=(Station.TIP,)), Place(), SeenLevel(level=1), "is not read at whole pair"),
    ],
)
def test_a_reading_that_does_not_fit_says_why_and_how_to_mend_it(criterion, where, seen, words_of_it):
    fault = fault_of(criterion, reading_of("a", where, seen), rubric())
    assert fault is not None
    what, mend = fault
    assert words_of_it in what
    assert mend.endswith(".")


@pytest.mark.parametrize(
    ("criterion", "where", "seen"),
    [
        (on(), Place(), SeenLevel(level=3)),
        (on(must_pass=2), Place(), NotSeen(why=Unseen.COULD_NOT)),
        (on(), Place(), NotSeen(why=Unseen.NOT_APPLICABLE)),
        (on(stations=tuple(Station)), Place(), NotSeen(why=Unseen.NOT_TESTED)),
        (cut(), Place(), SeenLevel(level=2)),
        (cut(), Place(), SeenCut(medium=Medium.HAIR, result=CutResult.PUSH, push_mm=3)),
        (measured(), Place(), SeenLevel(level=0)),
        (measured(), Place(), SeenMeasure(number=0.04, unit=Unit.INCH)),
        (measured(Unit.DEG_INCLUDED), Place(), SeenMeasure(number=45, unit=Unit.DEG_DIAL)),
        (measured(Unit.DEG_OPEN), Place(), SeenMeasure(number=4, unit=Unit.MM_TIP_GAP)),
    ],
)
def test_a_reading_that_fits_has_no_fault(criterion, where, seen):
    assert fault_of(criterion, reading_of("a", where, seen), rubric()) is None

"""What the work did to a pair: claimed only when every completion says so."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.criterion import Criterion
from evalkit.domain.harm import Change, change_of, changes_of
from evalkit.domain.pair import EdgeType, Station
from evalkit.domain.reading import NotSeen, Place, SeenLevel, Unseen
from evalkit.domain.rubric import Rubric
from tests.domain.strategies import Case, cases, pair_of, reading_of, words

RUBRIC = Rubric(
    key="small", name="Small", levels=words(4),
    criteria=(Criterion(key="a", name="A", levels=words(4), weight=1, stations=tuple(Station)),),
)  # fmt: skip


def graded(*levels: int | None):
    readings = (
        reading_of("a", Place(None, station), SeenLevel(level=level))
        for station, level in zip(Station, levels, strict=False)
        if level is not None
    )
    return Case(RUBRIC, pair_of(EdgeType.CONVEX), tuple(readings)).grade()


@pytest.mark.parametrize(
    ("before", "after", "change"),
    [
        ((1, 1, 1), (2, 3, 3), Change.IMPROVED),
        ((3, 3, 3), (3, 3, 1), Change.HARMED),
        ((2, 3, 3), (3, 3, 2), Change.KEPT),
        ((3, 3, 3), (1, None, None), Change.HARMED),  # already below, however the rest turns out
        ((1, None, None), (3, 3, 3), Change.IMPROVED),  # was at most 1
        ((1, None, None), (1, 1, 1), Change.CANNOT_TELL),  # may have been 0
        ((2, 2, 2), (3, None, None), Change.CANNOT_TELL),
        ((None, None, None), (3, 3, 3), Change.CANNOT_TELL),
        ((0, 0, 0), (None, None, None), Change.CANNOT_TELL),
    ],
)
def test_worst_of_three_stations_before_and_after(before, after, change):
    assert [one.change for one in changes_of(graded(*before), graded(*after))] == [change]


def test_a_criterion_put_aside_before_cannot_be_told():
    """Nobody could say how it came, so nobody can say what the work did to it."""
    aside = (reading_of("a", Place(), NotSeen(why=Unseen.NOT_APPLICABLE)),)
    before = Case(RUBRIC, pair_of(EdgeType.CONVEX), aside).grade()
    (one,) = changes_of(before, graded(3, 3, 3))
    assert (one.before, one.change) == (None, Change.CANNOT_TELL)


@settings(max_examples=60)
@given(cases(n_unseen=(0, 4)), st.data())
def test_a_change_is_claimed_only_when_every_completion_says_so(case, data):
    before = case.grade()
    for on in data.draw(st.lists(st.sampled_from(case.rubric.on(case.pair.edge_type)), max_size=2)):
        place = data.draw(st.sampled_from(on.places))
        level = data.draw(st.integers(0, case.rubric.top))
        case = case.with_reading(reading_of(on.key, place, SeenLevel(level=level)))
    for one in changes_of(before, case.grade()):
        if one.before is None or one.after is None or one.before.seen is None or one.after.seen is None:
            assert one.change is Change.CANNOT_TELL
            continue
        ways = {(then > now) - (then < now) for then, now in product(one.before.reachable, one.after.reachable)}
        claims = {Change.HARMED: {1}, Change.IMPROVED: {-1}, Change.KEPT: {0}}
        expected = next((change for change, only in claims.items() if ways == only), Change.CANNOT_TELL)
        assert one.change is expected
        mirrored = {Change.HARMED: Change.IMPROVED, Change.IMPROVED: Change.HARMED}
        assert change_of(one.after, one.before) is mirrored.get(one.change, one.change)

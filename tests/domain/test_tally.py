"""A round summed up: verdicts, means with their range, and what to practise next."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.criterion import Criterion
from evalkit.domain.pair import EdgeType, Station
from evalkit.domain.reading import SeenLevel
from evalkit.domain.rubric import Rubric
from evalkit.domain.tally import mean_score, priorities_of, tally_round
from evalkit.domain.verdict import Verdict
from tests.domain.strategies import Case, cases, pair_of, reading_of, words


def criterion(key: str, **own: object) -> Criterion:
    return Criterion.model_validate({"key": key, "name": key, "levels": words(4), **own})


RUBRIC = Rubric(
    key="small", name="Small", levels=words(4), mark=50,
    criteria=(
        criterion("a", weight=3, must_pass=2), criterion("b", weight=4), criterion("c", weight=1), criterion("d"),
        criterion("e", weight=2, stations=tuple(Station)),
    ),
)  # fmt: skip


def graded(number: int, transit: tuple[str, ...] = (), **levels: int | tuple[int | None, ...]):
    found = []
    for on in RUBRIC.on(EdgeType.CONVEX):
        of = levels.get(on.key, ())
        for place, level in zip(on.places, of if isinstance(of, tuple) else (of,), strict=False):
            if level is not None:
                found.append(reading_of(on.key, place, SeenLevel(level=level)))
    return replace(Case(RUBRIC, pair_of(EdgeType.CONVEX), tuple(found), transit).grade(), number=number)


E = (3, 3, 3)


def test_priorities_with_a_pencil():
    """Fit is 2, four pairs; weight x shortfall x share, doubled for the must-pass a. d weighs nothing.

    a at 1 1 2 3: 1 below on 2 of 4, so 3 x 1 x 0.5 x 2 = 3. b at 0 3 3 3: 2 below on 1 of 4, so 4 x 2 x 0.25 = 2.
    c at 0 1 1 1: (2 + 1 + 1 + 1) / 4 = 1.25 below on 4 of 4, so 1 x 1.25 x 1 = 1.25.
    """
    pairs = [
        graded(1, a=1, b=0, c=0, d=0, e=E),
        graded(2, a=1, b=3, c=1, d=0, e=E),
        graded(3, a=2, b=3, c=1, d=0, e=E),
        graded(4, a=3, b=3, c=1, d=0, e=E),
    ]
    found = priorities_of(pairs, fit=2)
    assert [(one.on.key, one.size) for one in found] == [("a", 3), ("b", 2), ("c", 1.25)]
    assert [one.numbers for one in found] == [(1, 2), (1,), (1, 2, 3, 4)]
    tally = tally_round(pairs, fit=2)
    assert [(on.key, n) for on, n in tally.missed_most] == [("a", 2)]
    assert sum(tally.verdicts.values()) == 4
    assert tally.priorities == found


def test_a_range_across_fit_is_neither_short_nor_seen():
    """On pair 2 only the heel was seen, at 3: the worst of three may still be short, so it leaves the share alone."""
    pairs = [graded(1, e=(1, 3, 3)), graded(2, e=(3, None, None)), graded(3, e=E)]
    (one,) = priorities_of(pairs, fit=2)
    assert (one.on.key, one.n_short, one.n_seen) == ("e", 1, 2)
    assert one.size == pytest.approx(2 * 1 * 1 / 2)


def test_what_was_spoiled_on_the_way_is_nothing_to_practise():
    assert priorities_of([graded(1, transit=("b",), b=0)], fit=2) == ()


def test_only_the_three_greatest_are_named():
    tally = tally_round([graded(1, a=0, b=0, c=0, e=(0, 0, 0))], fit=2)
    assert [one.on.key for one in tally.priorities] == ["a", "b", "e"]  # 3x2x2=12, 4x2=8, 2x2=4; c 1x2=2


def test_the_mean_score_with_a_pencil():
    """Ten points of weight, L = 3. Pair 1 all at 3: 100. Pair 2 only a at 3: seen 100, 9 / 30 = 30 to 100."""
    found = mean_score([graded(1, a=3, b=3, c=3, e=E), graded(2, a=3), graded(3)])
    assert found is not None
    assert (found.seen, found.n_pairs, found.n_seen) == (100, 3, 2)
    assert found.lo == pytest.approx((100 + 30 + 0) / 3)
    assert found.hi == 100


def test_no_graded_pair_has_no_mean():
    assert mean_score([]) is None
    assert tally_round([], fit=2).priorities == ()
    assert tally_round([], fit=2).verdicts == dict.fromkeys(Verdict, 0)


@settings(max_examples=25)
@given(st.lists(cases(n_unseen=(0, 4)), min_size=2, max_size=3), st.randoms(use_true_random=False))
def test_the_order_of_pairs_does_not_matter(drawn, dice):
    """Pairs of several rubrics at once: what is summed up is by key. The sizes hold to the last digit."""
    grades = [case.grade() for case in drawn]
    shuffled = list(grades)
    dice.shuffle(shuffled)
    one, two = tally_round(grades, fit=1), tally_round(shuffled, fit=1)
    assert (one.verdicts, one.score) == (two.verdicts, two.score)
    assert sorted((on.key, n) for on, n in one.missed_most) == sorted((on.key, n) for on, n in two.missed_most)
    assert one.score is not None
    assert one.score.lo <= one.score.hi


@settings(max_examples=40)
@given(cases(n_unseen=(0, 4)), st.integers(1, 3))
def test_a_priority_is_certain(case, n_pairs):
    """The same pair `n_pairs` times over: whatever is named is below fit in every completion, on each of them."""
    grade = case.grade()
    found = priorities_of([grade] * n_pairs, fit=case.rubric.fit)
    assert {one.on.key for one in found} == {
        one.key
        for one in grade.criteria
        if one.counts and one.seen is not None and all(level < case.rubric.fit for level in one.reachable)
    }
    for one in found:
        assert (one.n_short, one.n_seen) == (n_pairs, n_pairs)
        assert 0 < one.shortfall <= case.rubric.fit
    assert [one.size for one in found] == sorted((one.size for one in found), reverse=True)

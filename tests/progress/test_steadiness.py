"""The mentor's own steadiness: what is drawn for a second marking, and what two markings say."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.errors import InputError
from evalkit.progress.steadiness import pick_for_second_marking, repeats_of, steadiness_of
from tests.progress.boxes import BERIT, alike, box, criterion, rubric

KEYS = ("burr", "tips", "finish")


def second_of(result, rows, *, by="oda"):
    """A second marking of the round, pair by pair; None leaves a pair out."""
    again = box(result.round.key, [row or {} for row in rows]).marking
    kept = tuple(pair for pair, row in zip(again.pairs, rows, strict=True) if row is not None)
    return again.model_copy(update={"pairs": kept, "mentor_key": by})


def steadiness(first, second):
    (found,) = steadiness_of(repeats_of(first, second))
    return found


# --- picking -------------------------------------------------------------------------------------------------------


def graded(n: int = 12):
    return box("nia-1", [dict.fromkeys(KEYS, at % 4) for at in range(n)])


def test_the_same_seed_draws_the_same_pairs_and_another_may_not():
    draws = [tuple(one.number for one in pick_for_second_marking([graded()], n=4, seed=seed)) for seed in range(12)]
    again = [tuple(one.number for one in pick_for_second_marking([graded()], n=4, seed=seed)) for seed in range(12)]
    assert draws == again
    assert len(set(draws)) > 1


@pytest.mark.parametrize("seed", range(5))
def test_the_draw_is_spread_over_the_levels(seed):
    picks = pick_for_second_marking([graded()], n=8, seed=seed)
    assert sorted((one.number - 1) % 4 for one in picks) == [0, 0, 1, 1, 2, 2, 3, 3]
    assert [one.number for one in picks] == sorted(one.number for one in picks)


def test_a_pick_shows_nothing_of_the_first_marking():
    pick = pick_for_second_marking([graded()], n=1, seed=1)[0]
    assert set(pick.__dataclass_fields__) == {"round_key", "number", "tag", "pair"}


def test_what_was_marked_twice_is_not_drawn_again():
    done = {("nia-1", number) for number in range(1, 11)}
    assert {one.number for one in pick_for_second_marking([graded()], n=9, seed=1, done=done)} == {11, 12}
    with pytest.raises(InputError, match="no marked pair is left"):
        pick_for_second_marking([graded(2)], n=1, seed=1, done={("nia-1", 1), ("nia-1", 2)})


def test_unmarked_rounds_give_nothing():
    with pytest.raises(InputError, match="no marked pair is left"):
        pick_for_second_marking([box("nia-1", alike(4), is_marked=False)], n=1, seed=1)


# --- agreeing ------------------------------------------------------------------------------------------------------


def test_three_pairs_by_hand_counts_only():
    first = box("nia-1", [{"burr": 2, "tips": 2}, {"burr": 1, "tips": 3}, {"burr": 0, "finish": 2}])
    second = second_of(first, [{"burr": 2, "tips": 3}, {"burr": 3, "tips": 3}, {"burr": 0, "tips": 1}])
    found = steadiness(first, second)
    assert found.is_own
    assert (found.n_pairs, found.n_levels) == (3, 5)
    assert (found.same.k, found.same.n) == (3, 5)
    assert (found.within_one.k, found.within_one.n) == (4, 5)
    assert found.by == pytest.approx((0.5 + 1.0 + 0.0) / 3)
    assert found.kappa is None
    assert found.by_error is None
    assert {one.key: (one.same.k, one.same.n, one.mean_by) for one in found.criteria} == {
        "burr": (2, 3, pytest.approx(2 / 3)),
        "tips": (1, 2, pytest.approx(0.5)),
    }


def test_five_pairs_give_a_coefficient_and_an_error():
    first = box("nia-1", [dict.fromkeys(KEYS, level) for level in (0, 1, 2, 3, 2)])
    found = steadiness(first, second_of(first, [dict.fromkeys(KEYS, level) for level in (0, 1, 2, 3, 3)]))
    assert found.kappa.value > 0.8
    assert found.by == pytest.approx(0.2)
    assert found.by_error == pytest.approx(0.2)  # shifts 0 0 0 0 1: SD sqrt(0.2), over sqrt(5)
    assert (found.same_verdict.k, found.same_verdict.n) == (5, 5)


def test_another_mentor_is_told_apart():
    first = box("nia-1", alike(6, 2))
    repeats = (
        *repeats_of(first, second_of(first, alike(6, 1), by=BERIT.key)),
        *repeats_of(first, second_of(first, alike(6, 2))),
    )
    own, other = steadiness_of(repeats)
    assert (own.first, own.second, own.by) == ("oda", "oda", 0)
    assert (other.first, other.second, other.by) == ("oda", "berit", -1)


def test_a_marking_of_another_round_is_refused():
    with pytest.raises(InputError, match="of round nia-2"):
        repeats_of(box("nia-1", alike(2)), box("nia-2", alike(2)).marking)


def test_nothing_twice_is_nothing():
    assert steadiness_of([]) == ()
    assert repeats_of(box("nia-1", alike(2), is_marked=False), box("nia-1", alike(2)).marking) == ()


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 3), min_size=1, max_size=8))
def test_marking_the_same_twice_agrees_wholly(levels):
    rows = [dict.fromkeys(KEYS, level) for level in levels]
    first = box("nia-1", rows)
    found = steadiness(first, second_of(first, rows))
    assert found.same.value == 1
    assert found.by == 0
    assert sum(map(sum, found.table)) == found.n_levels == 3 * len(levels)


def test_a_criterion_bears_its_newest_name_whichever_round_was_marked_twice_first():
    old = rubric(criterion("burr"), key="old")
    new = rubric(criterion("burr").model_copy(update={"name": "Burr and nicks"}), key="new")
    rounds = [box("nia-1", alike(2, keys=("burr",)), by=old), box("nia-2", alike(2, keys=("burr",)), by=new, months=2)]
    repeats = [
        one
        for result in (rounds[1], rounds[0])
        for one in repeats_of(result, result.marking.model_copy(update={"letter": "again"}))
    ]
    (found,) = steadiness_of(repeats)
    assert [row.name for row in found.criteria] == ["Burr and nicks"]
    (alone,) = steadiness_of(repeats_of(rounds[0], rounds[0].marking))
    assert [row.name for row in alone.criteria] == ["Burr"]

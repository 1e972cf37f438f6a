"""Choosing under limits: against brute force over all sets, whose worth is reckoned here in another way."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest

from evalkit.maths.choosing import PLACE_PRICE, Chosen, Gain, Limit, Step, choose, nearest
from evalkit.maths.errors import UnusableInputError

N_STOCKS = 200


# --- the same objective by another road: exact fractions, and a gain read off as the least of its tangents ------------


def worth_by_tangents(gain: Gain, total: Fraction) -> Fraction:
    """A concave piecewise linear function is the least of the lines through its pieces, and level after the last."""
    lines, height, start = [], Fraction(0), Fraction(0)
    for step in gain.steps:
        slope, width = Fraction(step.worth), Fraction(step.width)
        lines.append(height + slope * (total - start))
        height, start = height + slope * width, start + width
    return min([*lines, height])


def objective(gains: Sequence[Gain], items: Iterable[int]) -> Fraction:
    taken = list(items)
    worth = sum((worth_by_tangents(gain, sum(Fraction(gain.amounts[i]) for i in taken)) for gain in gains), Fraction(0))
    return worth - Fraction(PLACE_PRICE) * sum(taken)


def is_kept(limits: Sequence[Limit], items: Sequence[int]) -> bool:
    return all(limit.at_least <= sum(Fraction(limit.amounts[i]) for i in items) <= limit.at_most for limit in limits)


def best_by_force(gains: Sequence[Gain], limits: Sequence[Limit], n: int, *, kept=(), barred=()):
    sets = (items for size in range(n + 1) for items in combinations(range(n), size))
    open_ = [s for s in sets if set(kept) <= set(s) and not set(barred) & set(s) and is_kept(limits, s)]
    return max(open_, key=lambda items: objective(gains, items), default=None)


# --- small random stocks ----------------------------------------------------------------------------------------------


def some_stock(seed: int) -> tuple[list[Gain], list[Limit], int]:
    """Up to ten pairs with covering gains, tapering ones, a value limit and so many of one sort; often with twins."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(4, 11))
    kinds = rng.integers(0, int(rng.integers(2, 6)), size=n)

    def by_kind(low: float, high: float) -> tuple[float, ...]:
        amounts = np.round(rng.uniform(low, high, 6), 3)
        return tuple(float(amounts[kind]) for kind in kinds)

    gains = []
    for _ in range(int(rng.integers(1, 4))):
        worths = sorted(np.round(rng.uniform(0, 0.2, 3), 4), reverse=True)
        gains.append(
            Gain(by_kind(0, 1), tuple(Step(float(w), float(x)) for w, x in zip((0.5, 1, 2), worths, strict=True)))
        )
    gains += [
        Gain(tuple((rng.random(n) < 0.3).astype(float)), (Step(1.0, round(float(rng.uniform(0, 0.3)), 3)),))
        for _ in range(int(rng.integers(0, 4)))
    ]
    size = int(rng.integers(1, n))
    limits = [Limit((1.0,) * n, size, size)]
    if rng.random() < 0.7:
        values = tuple(float(x) for x in rng.integers(5, 60, n) * 100)
        limits.append(Limit(values, at_most=float(rng.integers(12, 45) * 100 * size)))
    if rng.random() < 0.5:
        limits.append(Limit(tuple((rng.random(n) < 0.5).astype(float)), at_least=float(rng.integers(1, 3))))
    return gains, limits, n


def test_the_choice_is_that_of_brute_force_over_200_stocks():
    n_open = n_none = 0
    for seed in range(N_STOCKS):
        gains, limits, n = some_stock(seed)
        best = best_by_force(gains, limits, n)
        found = choose(gains, limits, n_items=n)
        if best is None:
            n_none += 1
            assert found is None, seed
            continue
        n_open += 1
        assert found is not None, seed
        assert is_kept(limits, found.items), seed
        assert abs(objective(gains, found.items) - objective(gains, best)) < PLACE_PRICE / 100, seed
        assert found.worth - PLACE_PRICE * sum(found.items) == pytest.approx(float(objective(gains, best)), abs=1e-12)
    assert n_open > 120
    assert n_none > 10


@pytest.mark.parametrize("seed", range(40))
def test_what_is_kept_and_barred_by_hand_binds(seed: int):
    gains, limits, n = some_stock(seed)
    kept, barred = [seed % n], [(seed + 1) % n]
    best = best_by_force(gains, limits, n, kept=kept, barred=barred)
    found = choose(gains, limits, n_items=n, kept=kept, barred=barred)
    assert (found is None) == (best is None)
    if found is not None:
        assert set(kept) <= set(found.items)
        assert not set(barred) & set(found.items)
        assert abs(objective(gains, found.items) - objective(gains, best)) < PLACE_PRICE / 100


def test_of_equal_sets_the_earlier_in_the_list_is_taken():
    gains = [Gain((1.0,) * 8, (Step(3, 0.1),)), Gain((0, 0, 1, 0, 0, 1, 0, 0), (Step(1, 0.2),))]
    found = choose(gains, [Limit((1.0,) * 8, 3, 3)], n_items=8)
    assert found == Chosen((0, 1, 2), (pytest.approx(0.3), 0.2))


def test_a_gain_counts_once_however_many_bring_it():
    gain = Gain((1, 1, 1, 0), (Step(1, 0.5),))
    assert [gain.worth_of(total) for total in (0, 0.5, 1, 3)] == [0, 0.25, 0.5, 0.5]
    assert choose([gain], [Limit((1.0,) * 4, 3, 3)], n_items=4).worth == 0.5


def test_a_limit_that_cannot_be_kept_tells_how_near_it_can_come():
    size, value = Limit((1.0,) * 4, 3, 3), Limit((500, 900, 1200, 1500), at_most=2000)
    assert choose([], [size, value], n_items=4) is None
    assert nearest([size, value], 1, n_items=4) == 2600  # the three cheapest: 5 + 9 + 12
    assert nearest([size, value], 0, n_items=4) == 2  # of so little money
    plain = Limit((1, 0, 0, 0), at_least=2)
    assert nearest([size, plain], 1, n_items=4) == 1
    assert nearest([size, value, plain], 2, n_items=4) is None  # easing that one alone mends nothing


@pytest.mark.parametrize("seed", range(60))
def test_the_nearest_is_that_of_brute_force(seed: int):
    _, limits, n = some_stock(seed)
    for at, limit in enumerate(limits):
        others = [one for i, one in enumerate(limits) if i != at]
        misses = [
            max(limit.at_least - total, total - limit.at_most, 0)
            for size in range(n + 1)
            for items in combinations(range(n), size)
            if is_kept(others, items)
            for total in (sum(limit.amounts[i] for i in items),)
        ]
        found = nearest(limits, at, n_items=n)
        if not misses:
            assert found is None
        else:
            assert max(limit.at_least - found, found - limit.at_most, 0) == pytest.approx(min(misses), abs=1e-9)


def test_nothing_to_choose_from():
    assert choose([], [], n_items=0) == Chosen((), ())
    assert choose([], [Limit((), at_least=1)], n_items=0) is None
    assert choose([], [Limit((1.0,), 1, 1)], n_items=1, barred=[0]) is None


@pytest.mark.parametrize(
    ("gains", "limits"),
    [
        ([Gain((1.0,), (Step(1, 0.1), Step(1, 0.2)))], []),
        ([Gain((1.0,), (Step(0, 0.1),))], []),
        ([Gain((-1.0,), (Step(1, 0.1),))], []),
        ([Gain((math.nan,), (Step(1, 0.1),))], []),
        ([Gain((1.0, 1.0), (Step(1, 0.1),))], []),
        ([], [Limit((math.inf,))]),
    ],
)
def test_what_is_not_concave_or_no_number_is_refused(gains: list[Gain], limits: list[Limit]):
    with pytest.raises(UnusableInputError):
        choose(gains, limits, n_items=1)

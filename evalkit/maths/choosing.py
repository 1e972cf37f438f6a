"""Choosing some of many things: an integer programme with gains that taper off and limits that hold. Exact.

The objective, over all sets of items that keep every limit:

    sum over gains of W(total of the gain's amounts)  -  PLACE_PRICE * sum of the chosen items' places (0, 1, 2, ...)

Each W is piecewise linear and concave: `steps` says how wide each piece is and what a unit on it is worth, the best
piece first; beyond the last piece a unit is worth nothing. So W needs one continuous variable for each piece and no 0/1
variable of its own (a concave sum is filled from the best piece by itself), and a gain with the one step (1, w) is the
usual covering term: w once if any chosen item has it. The price of places breaks ties: of sets whose worth is equal,
the one that stands earlier in the list.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.errors import NotSettledError, UnusableInputError

Floats = NDArray[np.float64]

PLACE_PRICE = 1e-7
"""What each place further down the list costs; gains that matter are meant to be far larger."""
LONGEST_S = 60.0
"""Seconds after which the solver gives up."""
_SCALE = 1e4
# The solver stops within 1e-6 of the best; scaled, that is a thousandth of the price of one place.
_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Step:
    """One piece of a gain: `width` units, each worth `worth`."""

    width: float
    worth: float


@dataclass(frozen=True, slots=True)
class Gain:
    """Something wanted: how much of it each item brings (n_items,), and what the units of the sum are worth."""

    amounts: tuple[float, ...]
    steps: tuple[Step, ...]

    def worth_of(self, total: float) -> float:
        """W of a total amount."""
        worth, start = 0.0, 0.0
        for step in self.steps:
            worth += step.worth * min(max(total - start, 0.0), step.width)
            start += step.width
        return worth


@dataclass(frozen=True, slots=True)
class Limit:
    """Something that must hold: the sum of the chosen items' amounts lies between the ends."""

    amounts: tuple[float, ...]
    at_least: float = 0.0
    at_most: float = math.inf

    def holds(self, total: float) -> bool:
        """Whether a sum keeps the limit, but for the last bits of a floating-point sum."""
        slack = _SLACK * max(1.0, abs(total))
        return self.at_least - slack <= total <= self.at_most + slack


@dataclass(frozen=True, slots=True)
class Chosen:
    """The best set: positions of the items, rising, and what each gain is worth in it."""

    items: tuple[int, ...]
    worths: tuple[float, ...]

    @property
    def worth(self) -> float:
        """Of all gains together, without the price of places."""
        return math.fsum(self.worths)


def total_of(amounts: Sequence[float], items: Collection[int]) -> float:
    """Sum of the amounts of some items."""
    return math.fsum(amounts[i] for i in items)


def worths_of(gains: Sequence[Gain], items: Collection[int]) -> tuple[float, ...]:
    """What each gain is worth in a set of items."""
    return tuple(gain.worth_of(total_of(gain.amounts, items)) for gain in gains)


def choose(
    gains: Sequence[Gain],
    limits: Sequence[Limit],
    *,
    n_items: int,
    kept: Collection[int] = (),
    barred: Collection[int] = (),
) -> Chosen | None:
    """The best set of items that holds all of `kept` and none of `barred`; None when no set keeps every limit.

    Raises UnusableInputError for amounts below 0 or steps that rise, NotSettledError when the solver gives up.
    """
    _check(gains, limits, n_items)
    programme = _Programme(n_items, (*gains, *limits), kept, barred, place_price=PLACE_PRICE)
    for gain in gains:
        programme.add_gain(gain)
    for limit in limits:
        programme.add_limit(limit)
    items = programme.solved()
    if items is None:
        return None
    if not all(limit.holds(total_of(limit.amounts, items)) for limit in limits):
        raise NotSettledError(1, step=_SLACK, what="The choice")
    return Chosen(items, worths_of(gains, items))


def nearest(
    limits: Sequence[Limit], at: int, *, n_items: int, kept: Collection[int] = (), barred: Collection[int] = ()
) -> float | None:
    """How near the sum of limit number `at` can come to its ends while all others hold; None when they cannot."""
    _check((), limits, n_items)
    programme = _Programme(n_items, limits, kept, barred, place_price=0.0)
    for i, limit in enumerate(limits):
        programme.add_limit(limit, is_eased=i == at)
    items = programme.solved()
    return None if items is None else total_of(limits[at].amounts, items)


def _check(gains: Sequence[Gain], limits: Sequence[Limit], n_items: int) -> None:
    parts: tuple[Gain | Limit, ...] = (*gains, *limits)
    for part in parts:
        if len(part.amounts) != n_items:
            raise UnusableInputError(f"There are {n_items} items, but {len(part.amounts)} amounts.")
        if any(not math.isfinite(x) or x < 0 for x in part.amounts):
            raise UnusableInputError("Amounts must be finite and not below 0.")
    for gain in gains:
        worths = [step.worth for step in gain.steps]
        if any(step.width <= 0 or step.worth < 0 for step in gain.steps) or worths != sorted(worths, reverse=True):
            raise UnusableInputError("The steps of a gain must be wide, worth something, and never rise.")


class _Programme:
    """Columns and rows for the solver. Items alike in everything share one whole-number column: how many are taken.

    Of such a class the first in the list are taken, so that their places are prices on unit pieces of the count.
    """

    def __init__(
        self,
        n_items: int,
        parts: Sequence[Gain | Limit],
        kept: Collection[int],
        barred: Collection[int],
        *,
        place_price: float,
    ) -> None:
        self.prices: list[float] = []
        self.widths: list[float] = []
        self.least: list[float] = []
        self.is_whole: list[bool] = []
        self.rows: list[dict[int, float]] = []
        self.ends: list[tuple[float, float]] = []
        classes: dict[tuple[float, ...], list[int]] = {}
        for i in set(range(n_items)) - set(kept) - set(barred):
            classes.setdefault(tuple(part.amounts[i] for part in parts), []).append(i)
        self.classes = [[i] for i in sorted(set(kept))] + [sorted(members) for members in classes.values()]
        for members in self.classes:
            price = place_price * members[0] if len(members) == 1 else 0.0
            self._column(price, len(members), least=float(members[0] in kept), is_whole=True)
        for at, members in enumerate(self.classes):
            if len(members) > 1:
                row = {at: 1.0}
                row.update({self._column(place_price * i, 1.0): -1.0 for i in members})
                self._row(row, 0.0, 0.0)

    def add_gain(self, gain: Gain) -> None:
        """The pieces filled may not add up to more than there is."""
        row = {self._column(-step.worth, step.width): 1.0 for step in gain.steps}
        row.update(self._taken(gain.amounts, -1.0))
        self._row(row, -math.inf, 0.0)

    def add_limit(self, limit: Limit, *, is_eased: bool = False) -> None:
        """Scaled by its largest amount. Eased, it may be missed, and the objective is by how little."""
        size = max((limit.amounts[members[0]] for members in self.classes), default=0.0) or 1.0
        row = self._taken(limit.amounts, 1.0 / size)
        if is_eased:
            row |= {self._column(1.0, math.inf): 1.0, self._column(1.0, math.inf): -1.0}
        self._row(row, limit.at_least / size, limit.at_most / size)

    def _taken(self, amounts: Sequence[float], factor: float) -> dict[int, float]:
        return {at: factor * amounts[members[0]] for at, members in enumerate(self.classes) if amounts[members[0]] != 0}

    def _column(self, price: float, width: float, *, least: float = 0.0, is_whole: bool = False) -> int:
        self.prices.append(price * _SCALE)
        self.widths.append(width)
        self.least.append(least)
        self.is_whole.append(is_whole)
        return len(self.prices) - 1

    def _row(self, row: dict[int, float], low: float, high: float) -> None:
        self.rows.append(row)
        self.ends.append((low, high))

    def solved(self) -> tuple[int, ...] | None:
        """The items taken, rising; None where nothing keeps every row."""
        if not self.classes:
            return () if all(low <= 0 <= high for low, high in self.ends) else None
        found = self._asked()
        if found.status == 2:  # infeasible
            return None
        if found.status != 0 or found.x is None:
            raise NotSettledError(1, step=float(found.mip_gap or math.inf), what="The choice")
        counts = np.rint(found.x[: len(self.classes)]).astype(int)
        return tuple(sorted(i for members, n in zip(self.classes, counts, strict=True) for i in members[:n]))

    def _asked(self) -> Any:  # noqa: ANN401 - the library has no types
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        entries = [(x, at, column) for at, row in enumerate(self.rows) for column, x in row.items()]
        values, at_row, at_column = zip(*entries, strict=True)
        matrix = csr_array((values, (at_row, at_column)), shape=(len(self.rows), len(self.prices)))
        low, high = zip(*self.ends, strict=True)
        return milp(
            np.array(self.prices),
            integrality=np.array(self.is_whole, dtype=int),
            bounds=Bounds(np.array(self.least), np.array(self.widths)),
            constraints=LinearConstraint(matrix, np.array(low), np.array(high)),
            options={"mip_rel_gap": 0.0, "time_limit": LONGEST_S},
        )

"""A box on its way: what left and what came, and since when nothing was heard of it; in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from evalkit.domain.amounts import amount_words
from evalkit.domain.arriving import losses_on
from evalkit.domain.round import LegKind, Round
from evalkit.reports.figures import pairs_words


@dataclass(frozen=True, slots=True)
class Way:
    """One way of a box that has come to its end: how many pairs set out, which did not come as they left.

    `unheard` were missing on the way out, and nothing says that they still are.
    """

    name: str
    n_left: int
    missing: tuple[int, ...]
    damaged: tuple[int, ...]
    unheard: tuple[int, ...] = ()

    @property
    def words(self) -> str:
        """'On the way out: 12 pairs set out, 11 came. Missing: pair 3.' - or that nothing was written down."""
        left = f"On the way {self.name}: {amount_words(self.n_left, 'pair')} set out"
        if not (self.missing or self.damaged or self.unheard):
            return f"{left}; nothing is written down as missing or damaged."
        parts = [f"{left}, {self.n_left - len(self.missing)} came."]
        parts += [f"Missing: {pairs_words(self.missing)}."] if self.missing else []
        parts += [f"Damaged: {pairs_words(self.damaged)}."] if self.damaged else []
        if self.unheard:
            parts.append(f"Missing on the way out, and not written down as missing since: {pairs_words(self.unheard)}.")
        return " ".join(parts)


def ways_of(round_: Round) -> tuple[Way, ...]:
    """The ways that have come to their end: out, then back."""
    numbers = set(round_.numbers)
    out, back = losses_on(round_, LegKind.RECEIVED), losses_on(round_, LegKind.RECEIVED_BACK)
    gone = set(out.missing) & numbers
    ways = []
    if round_.leg_on(LegKind.RECEIVED) is not None:
        ways.append(Way("out", len(numbers), _sorted(gone), _sorted(set(out.damaged) & numbers)))
    if round_.leg_on(LegKind.RECEIVED_BACK) is not None:
        missing = set(back.missing) & numbers
        ways.append(
            Way(
                "back",
                len(numbers - gone),
                _sorted(missing - gone),
                _sorted(set(back.damaged) & numbers),
                _sorted(gone - missing),
            )
        )
    return tuple(ways)


def ways_document(round_: Round) -> dict[str, Any]:
    """The same for other programs; null for a way that has not come to its end."""
    found = {way.name: way for way in ways_of(round_)}
    return {
        f"way_{name}": {"left": way.n_left, "missing": list(way.missing), "damaged": list(way.damaged)}
        if (way := found.get(name))
        else None
        for name in ("out", "back")
    }


def overdue_words(round_: Round, today: date, limit_days: int) -> str:
    """'overdue: 45 days'; '' where nothing is overdue."""
    days = round_.days_overdue(today, limit_days)
    return "" if days is None else f"overdue: {amount_words(days, 'day')}"


def _sorted(numbers: set[int]) -> tuple[int, ...]:
    return tuple(sorted(numbers))

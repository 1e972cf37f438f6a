"""What the chart groups share: a share of one round, and the point that shows it."""

from __future__ import annotations

from collections.abc import Callable

from evalkit.progress.agreeing import Proportion
from evalkit.progress.counting import RoundCounts
from evalkit.progress.history import History
from evalkit.reports.charts import Point

ShareOf = Callable[[RoundCounts], Proportion]
"""The share of one round that a chart shows."""


def last_month(history: History) -> float:
    """Months from the first round to the last."""
    return history.counts[-1].months if history.counts else 0.0


def share_ends(share: Proportion) -> tuple[float | None, float | None]:
    """Low and high end of the interval; None where there was nothing to count."""
    return (share.interval.low, share.interval.high) if share.interval else (None, None)


def share_point(one: RoundCounts, share: Proportion) -> Point:
    """Only for a share with something to count."""
    low, high = share_ends(share)
    return Point(one.months, share.value or 0.0, low, high, "disc", f"{one.key}: {share.k} of {share.n}")

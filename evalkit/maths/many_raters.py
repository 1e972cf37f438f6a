"""How far many observers agree: Fleiss' kappa on categories, Krippendorff's alpha where some did not see everything.

Where a figure cannot be known, its field is `None` and `undefined` says why in words; it is never NaN and never 0 in
disguise. Sources: Fleiss 1971; Fleiss, Nee & Landis 1979; Krippendorff 2011.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal, assert_never

from evalkit.maths.tables import Table, whole


class Metric(StrEnum):
    """How far apart two values are for Krippendorff's alpha."""

    NOMINAL = "nominal"
    ORDINAL = "ordinal"
    INTERVAL = "interval"
    RATIO = "ratio"


@dataclass(frozen=True, slots=True)
class CategoryKappa:
    """Fleiss' kappa of one category against all others; `share` of all ratings that fell into it."""

    share: float
    value: float | None
    se_h0: float | None
    undefined: str | None = None


@dataclass(frozen=True, slots=True)
class FleissKappa:
    """Fleiss' kappa of many raters, with its standard error under kappa = 0, overall and for each category."""

    n_subjects: int
    n_raters: int
    value: float | None = None
    se_h0: float | None = None
    categories: tuple[CategoryKappa, ...] = ()
    undefined: str | None = None


@dataclass(frozen=True, slots=True)
class Alpha:
    """Krippendorff's alpha. Units and values that cannot be paired are not counted in `n_units` and `n_values`."""

    metric: Metric
    n_units: int
    n_values: int
    value: float | None = None
    undefined: str | None = None


def fleiss_kappa(counts: Table) -> FleissKappa:
    """Fleiss' kappa of `counts[subject][category]`: how many raters put the subject there; equally many for each."""
    rows = [[whole(count) for count in row] for row in counts]
    sizes = {sum(row) for row in rows}
    if len(sizes) > 1 or len({len(row) for row in rows}) > 1:
        raise ValueError("every subject needs the same categories and number of raters; for gaps use Krippendorff.")
    n, m = len(rows), sizes.pop() if sizes else 0
    if n == 0 or m < 2:
        return FleissKappa(n, m, undefined="There is no subject that two or more raters judged.")
    totals = [sum(column) for column in zip(*rows, strict=True)]
    spread = [math.fsum(row[j] * (m - row[j]) for row in rows) / (n * m * (m - 1)) for j in range(len(totals))]
    shares = [total / (n * m) for total in totals]
    pq = [share * (1 - share) for share in shares]
    unit = math.sqrt(2 / (n * m * (m - 1)))
    categories = tuple(
        CategoryKappa(share, 1 - s / q, unit)
        if 0 < total < n * m
        else CategoryKappa(share, None, None, "Used by no rater." if total == 0 else "Used for everything.")
        for total, share, s, q in zip(totals, shares, spread, pq, strict=True)
    )
    if max(totals) == n * m:
        reason = "Every rating fell into one category, so agreement beyond chance cannot be judged."
        return FleissKappa(n, m, categories=categories, undefined=reason)
    chance = sum(pq)
    skew = sum(q * (1 - 2 * share) for q, share in zip(pq, shares, strict=True))
    se = unit * math.sqrt(chance**2 - skew) / chance
    return FleissKappa(n, m, 1 - sum(spread) / chance, se, categories)


def krippendorff_alpha(
    values_by_observer: Sequence[Sequence[float | None]],
    metric: Literal["nominal", "ordinal", "interval", "ratio"] = "ordinal",
) -> Alpha:
    """Krippendorff's alpha of `values_by_observer[observer][unit]`, None where that observer did not see the unit.

    A unit with fewer than two values says nothing about agreement and is left out.
    """
    chosen = Metric(metric)
    units = [[x for x in unit if x is not None] for unit in zip(*values_by_observer, strict=True)]
    pairable = [sorted(unit) for unit in units if len(unit) > 1]
    n = sum(map(len, pairable))
    if not pairable:
        return Alpha(chosen, 0, 0, undefined="No unit was judged by two or more observers.")
    values = sorted({x for unit in pairable for x in unit})
    if chosen is Metric.RATIO and values[0] < 0:
        raise ValueError("the ratio metric needs values of 0 or more; use the interval metric.")
    if len(values) == 1:
        reason = "Every value is the same, so agreement beyond chance cannot be judged."
        return Alpha(chosen, len(pairable), n, undefined=reason)
    index = {x: i for i, x in enumerate(values)}
    totals = [0] * len(values)
    for unit in pairable:
        for x in unit:
            totals[index[x]] += 1
    distance = _distances(chosen, values, totals)
    seen = math.fsum(
        2 * distance[index[x]][index[y]] / (len(unit) - 1)
        for unit in pairable
        for i, x in enumerate(unit)
        for y in unit[i + 1 :]
    )
    chance = math.fsum(
        2 * totals[c] * totals[k] * distance[c][k] for c in range(len(values)) for k in range(c + 1, len(values))
    )
    return Alpha(chosen, len(pairable), n, 1 - (n - 1) * seen / chance)


def _distances(metric: Metric, values: Sequence[float], totals: Sequence[int]) -> list[list[float]]:
    def distance(c: int, k: int) -> float:
        match metric:
            case Metric.NOMINAL:
                return float(c != k)
            case Metric.ORDINAL:
                lo, hi = min(c, k), max(c, k)
                return (sum(totals[lo : hi + 1]) - (totals[c] + totals[k]) / 2) ** 2
            case Metric.INTERVAL:
                return (values[c] - values[k]) ** 2
            case Metric.RATIO:
                return ((values[c] - values[k]) / (values[c] + values[k])) ** 2 if c != k else 0.0
            case _ as never:
                assert_never(never)

    return [[distance(c, k) for k in range(len(values))] for c in range(len(values))]

"""How far measured values lie apart: two observers (limits of agreement), one observer again (repeatability).

Where a figure cannot be known, its field is `None` and `undefined` says why in words; it is never NaN and never 0 in
disguise. Source: Bland & Altman 1986.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev


@dataclass(frozen=True, slots=True)
class Limits:
    """Bland and Altman's limits of agreement of a less b; intervals are (low, high) at `confidence`."""

    n: int
    k: float
    confidence: float
    bias: float | None = None
    sd: float | None = None
    low: float | None = None
    high: float | None = None
    bias_interval: tuple[float, float] | None = None
    low_interval: tuple[float, float] | None = None
    high_interval: tuple[float, float] | None = None
    undefined: str | None = None


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Spread of one observer's repeated values of the same thing.

    `sd` is the spread within a thing with `df` degrees of freedom, `sd_interval` its interval, and `coefficient` the
    difference that two repeats of the same thing rarely exceed (k times the spread of such differences).
    """

    n_things: int
    df: int
    k: float
    confidence: float
    sd: float | None = None
    coefficient: float | None = None
    sd_interval: tuple[float, float] | None = None
    undefined: str | None = None


def limits_of_agreement(
    a: Iterable[float | None], b: Iterable[float | None], k: float = 1.96, confidence: float = 0.95
) -> Limits:
    """Bias of a less b and the limits bias +- k SD, with t intervals; the error of a limit is sqrt(3 SD^2 / n).

    Bland & Altman 1986 used k = 2. Where either value is None the two are left out.
    """
    differences = [x - y for x, y in zip(a, b, strict=True) if x is not None and y is not None]
    n = len(differences)
    if n == 0:
        return Limits(n, k, confidence, undefined="Nothing was measured by both.")
    bias = fmean(differences)
    if n == 1:
        return Limits(n, k, confidence, bias, undefined="One difference shows no spread; two or more are needed.")
    sd = stdev(differences)
    if sd == 0:
        reason = "All differences are equal, so how far they may spread cannot be judged."
        return Limits(n, k, confidence, bias, sd, undefined=reason)
    low, high = bias - k * sd, bias + k * sd
    t = _t_quantile(n - 1, (1 + confidence) / 2)
    half_bias, half_limit = t * sd / math.sqrt(n), t * sd * math.sqrt(3 / n)

    def around(centre: float, half: float) -> tuple[float, float]:
        return centre - half, centre + half

    return Limits(
        n, k, confidence, bias, sd, low, high,
        around(bias, half_bias), around(low, half_limit), around(high, half_limit),
    )  # fmt: skip


def repeatability(repeats: Iterable[Sequence[float]], k: float = 1.96, confidence: float = 0.95) -> Repeatability:
    """Spread within each thing's repeats (one-way analysis of variance; the numbers of repeats may differ).

    `repeats[thing]` holds the values that one observer gave that thing. With two repeats each, the coefficient is k
    times the root mean square of the differences, as in Bland & Altman 1986 (k = 2 there).
    """
    things = [list(values) for values in repeats if len(values) > 1]
    df = sum(len(values) - 1 for values in things)
    if df == 0:
        return Repeatability(0, 0, k, confidence, undefined="Nothing was measured twice.")
    squares = 0.0
    for values in things:
        mean = fmean(values)
        squares += math.fsum((x - mean) ** 2 for x in values)
    if squares == 0:
        reason = "All repeats are equal: the scale is too coarse, or the repeats too few, to show the spread."
        return Repeatability(len(things), df, k, confidence, sd=0.0, undefined=reason)
    from scipy.special import chdtri

    sd = math.sqrt(squares / df)
    tail = (1 - confidence) / 2
    interval = (math.sqrt(squares / float(chdtri(df, tail))), math.sqrt(squares / float(chdtri(df, 1 - tail))))
    return Repeatability(len(things), df, k, confidence, sd, k * math.sqrt(2) * sd, interval)


def _t_quantile(df: int, chance: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(df, chance))

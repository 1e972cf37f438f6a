"""Shares of a count and how sure one may be of them: intervals, zero-failure plans, acceptance plans.

Every interval has the same shape: `<name>_interval(k, n, confidence)` for k successes of n gives an `Interval`, or
`None` when n is 0, because nothing tried is nothing known. The plain Wald interval is left out on purpose: at 0 or n
successes it has no width and claims a certainty that nobody has.

Sources: Wilson 1927; Clopper & Pearson 1934; Agresti & Coull 1998; Brown, Cai & DasGupta 2001 (Jeffreys);
Newcombe 1998 (Wilson with continuity correction, mid-p); Hanley & Lippman-Hand 1983 (zero failures).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from statistics import NormalDist


@dataclass(frozen=True, slots=True)
class Interval:
    """Low and high end, each between 0 and 1, at a confidence such as 0.95."""

    low: float
    high: float
    confidence: float


IntervalMethod = Callable[[int, int, float], Interval | None]


@dataclass(frozen=True, slots=True)
class Proportion:
    """k of n with an interval; `value` and `interval` are None when n is 0."""

    k: int
    n: int
    interval: Interval | None

    @property
    def value(self) -> float | None:
        return self.k / self.n if self.n else None


def wilson_interval(k: int, n: int, confidence: float = 0.95) -> Interval | None:
    """Wilson's score interval: the shares that a normal test would not reject. The house default."""
    _check(k, n, confidence)
    if n == 0:
        return None
    z2 = _z(confidence) ** 2
    centre = (k + z2 / 2) / (n + z2)
    half = math.sqrt(z2) / (n + z2) * math.sqrt(k * (n - k) / n + z2 / 4)
    return _interval(k, n, confidence, centre - half, centre + half)


def wilson_corrected_interval(k: int, n: int, confidence: float = 0.95) -> Interval | None:
    """Wilson's interval with continuity correction; wider, close to Clopper-Pearson (Newcombe 1998, method 4)."""
    _check(k, n, confidence)
    if n == 0:
        return None
    z = _z(confidence)
    p, q = k / n, 1 - k / n
    base, scale = 2 * k + z * z, 2 * (n + z * z)
    low = (base - 1 - z * math.sqrt(max(0.0, z * z - 2 - 1 / n + 4 * p * (n * q + 1)))) / scale
    high = (base + 1 + z * math.sqrt(max(0.0, z * z + 2 - 1 / n + 4 * p * (n * q - 1)))) / scale
    return _interval(k, n, confidence, low, high)


def agresti_coull_interval(k: int, n: int, confidence: float = 0.95) -> Interval | None:
    """Agresti and Coull: the Wald interval after adding z^2/2 successes and as many failures; cut to 0..1."""
    _check(k, n, confidence)
    if n == 0:
        return None
    z = _z(confidence)
    wide = n + z * z
    p = (k + z * z / 2) / wide
    half = z * math.sqrt(p * (1 - p) / wide)
    return Interval(max(0.0, p - half), min(1.0, p + half), confidence)


def clopper_pearson_interval(k: int, n: int, confidence: float = 0.95) -> Interval | None:
    """Clopper and Pearson's exact interval: covers at least as often as it says, usually more."""
    _check(k, n, confidence)
    if n == 0:
        return None
    tail = (1 - confidence) / 2
    return _interval(k, n, confidence, _beta_quantile(k, n - k + 1, tail), _beta_quantile(k + 1, n - k, 1 - tail))


def jeffreys_interval(k: int, n: int, confidence: float = 0.95) -> Interval | None:
    """Equal-tailed interval of a Beta(k + 1/2, n - k + 1/2); from 0 when k is 0 and up to 1 when k is n."""
    _check(k, n, confidence)
    if n == 0:
        return None
    tail = (1 - confidence) / 2
    a, b = k + 0.5, n - k + 0.5
    return _interval(k, n, confidence, _beta_quantile(a, b, tail), _beta_quantile(a, b, 1 - tail))


def mid_p_interval(k: int, n: int, confidence: float = 0.95) -> Interval | None:
    """Exact interval that counts half the chance of the result seen; shorter than Clopper-Pearson."""
    _check(k, n, confidence)
    if n == 0:
        return None
    from scipy.optimize import brentq
    from scipy.special import bdtrc

    def upper_tail(p: float) -> float:
        # Chance of more than k, and half the chance of k, at the share p; rises with p.
        at_least = 1.0 if k == 0 else float(bdtrc(k - 1, n, p))
        return (at_least + (0.0 if k == n else float(bdtrc(k, n, p)))) / 2

    tail = (1 - confidence) / 2
    low = 0.0 if k == 0 else brentq(lambda p: upper_tail(p) - tail, 0, 1, xtol=1e-14)
    high = 1.0 if k == n else brentq(lambda p: upper_tail(p) - (1 - tail), 0, 1, xtol=1e-14)
    return _interval(k, n, confidence, low, high)


def proportion(k: int, n: int, confidence: float = 0.95, method: IntervalMethod = wilson_interval) -> Proportion:
    """Give k of n with the interval of `method`."""
    return Proportion(k, n, method(k, n, confidence))


def lower_bound(k: int, n: int, confidence: float = 0.95) -> float | None:
    """Exact one-sided bound: with this confidence the share of successes is at least so much (Clopper-Pearson)."""
    _check(k, n, confidence)
    if n == 0:
        return None
    if k == n:
        return zero_failure_lower_bound(n, confidence)
    return 0.0 if k == 0 else _beta_quantile(k, n - k + 1, 1 - confidence)


def zero_failure_pairs(confidence: float, reliability: float) -> int:
    """The fewest trials which, all passed, show with `confidence` that at least `reliability` would pass."""
    _check_inside("confidence", confidence)
    _check_inside("reliability", reliability)
    exact = math.log1p(-confidence) / math.log(reliability)
    # 1 - C = R^n holds exactly for some plans (0.75 at 0.5 needs 2); rounding must not add a trial there.
    return max(1, math.ceil(exact - 1e-9))


def zero_failure_lower_bound(n: int, confidence: float = 0.95) -> float | None:
    """After n trials without a failure: with this confidence at least so large a share would pass; None for n = 0."""
    _check(0, n, confidence)
    return math.exp(math.log1p(-confidence) / n) if n else None


def acceptance_probability(share_bad: float, n: int, c: int) -> float:
    """Chance that a sample of n with a share bad holds at most c bad ones (binomial), so that the plan accepts."""
    if not (0 <= share_bad <= 1 and n >= 1 and c >= 0):
        raise ValueError(f"share {share_bad}, sample {n}, allowed {c}: use a share from 0 to 1, n >= 1 and c >= 0.")
    if c >= n or share_bad == 0:
        return 1.0
    if share_bad == 1:
        return 0.0
    good, bad = math.log1p(-share_bad), math.log(share_bad)
    logs = (math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1) + k * bad + (n - k) * good
            for k in range(c + 1))  # fmt: skip
    return min(1.0, math.fsum(map(math.exp, logs)))


def _interval(k: int, n: int, confidence: float, low: float, high: float) -> Interval:
    return Interval(0.0 if k == 0 else max(0.0, low), 1.0 if k == n else min(1.0, high), confidence)


def _beta_quantile(a: float, b: float, chance: float) -> float:
    from scipy.special import betaincinv

    return float(betaincinv(a, b, chance)) if a > 0 and b > 0 else float(a > 0)


def _z(confidence: float) -> float:
    return NormalDist().inv_cdf((1 + confidence) / 2)


def _check(k: int, n: int, confidence: float) -> None:
    if not 0 <= k <= n:
        raise ValueError(f"{k} of {n} is not possible; k must be between 0 and n.")
    _check_inside("confidence", confidence)


def _check_inside(name: str, value: float) -> None:
    if not 0 < value < 1:
        raise ValueError(f"{name} {value} is out of range; use a number between 0 and 1, such as 0.95.")

"""Whether a measured value lies in its band, when the measurement itself is in doubt (JCGM 106:2012).

`doubt_u_k2` is the expanded uncertainty U at k = 2, in the unit of the value; the standard uncertainty is half of it.
A band is (low, high); `None` at an end leaves it open there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist

Band = tuple[float | None, float | None]
_STANDARD = NormalDist()


@dataclass(frozen=True, slots=True)
class GlobalRisks:
    """Chances about the next thing measured: accepted though it does not conform; rejected though it does."""

    consumer: float
    producer: float
    nonconforming: float


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of the true values before measuring: a density over `support`; `landmarks` lie where it is high."""

    density: Callable[[float], float]
    support: tuple[float, float]
    landmarks: tuple[float, ...] = ()


def normal_prior(mean: float, sd: float) -> Prior:
    """A normal prior; what lies beyond nine standard deviations is left out (less than 1e-18)."""
    dist = NormalDist(mean, sd)
    return Prior(dist.pdf, (mean - 9 * sd, mean + 9 * sd), tuple(mean + j * sd for j in (-3, -1, 0, 1, 3)))


def conformance_probability(value: float, doubt_u_k2: float, low: float | None, high: float | None) -> float:
    """Chance that the true value lies from `low` to `high`, given the value measured and a normal doubt (7.2 - 7.4).

    Without doubt the answer is 1 or 0, the ends belonging to the band.
    """
    _check_band((low, high))
    if not (math.isfinite(value) and 0 <= doubt_u_k2 < math.inf):
        raise ValueError(f"value {value}, doubt {doubt_u_k2}: both must be finite and the doubt 0 or more.")
    bottom, top = _ends((low, high))
    u = doubt_u_k2 / 2
    if u == 0:
        return float(bottom <= value <= top)
    a, b = (bottom - value) / u, (top - value) / u
    # Taken in the lower tail, where the difference of two chances keeps its digits.
    return _cdf(b) - _cdf(a) if a < 0 else _cdf(-a) - _cdf(-b)


def guard_band_for_value(doubt_u_k2: float, chance: float) -> float:
    """How far inside a one-sided limit a value must lie to conform with this chance: z times U/2 (7.3.3)."""
    return _STANDARD.inv_cdf(chance) * doubt_u_k2 / 2


def acceptance_band(band: Band, guard: float) -> Band | None:
    """The band drawn in by `guard` at each closed end; None when nothing is left to accept."""
    _check_band(band)
    low = None if band[0] is None else band[0] + guard
    high = None if band[1] is None else band[1] - guard
    return None if low is not None and high is not None and low > high else (low, high)


def global_risks(prior: Prior, doubt_u_k2: float, band: Band, accepted: Band | None) -> GlobalRisks:
    """Global consumer's and producer's risk (9.5.2, 9.5.3) of accepting what is measured within `accepted`.

    Integrates the prior density by quadrature; `accepted` None accepts nothing.
    """
    from scipy.integrate import quad

    _check_band(band)
    if doubt_u_k2 <= 0:
        raise ValueError(f"doubt {doubt_u_k2} leaves no risk to compute; use a doubt above 0.")
    bottom, top = _ends(band)

    def is_accepted(truth: float) -> float:
        return 0.0 if accepted is None else conformance_probability(truth, doubt_u_k2, *accepted)

    consumer, producer, nonconforming = [], [], []
    cuts = _cuts(prior, doubt_u_k2 / 2, band, accepted)
    for start, end in pairwise(cuts):

        def integral(g: Callable[[float], float], start: float = start, end: float = end) -> float:
            return float(quad(g, start, end, epsabs=1e-13, epsrel=1e-11)[0])

        if bottom <= (start + end) / 2 <= top:
            producer.append(integral(lambda x: prior.density(x) * (1 - is_accepted(x))))
        else:
            consumer.append(integral(lambda x: prior.density(x) * is_accepted(x)))
            nonconforming.append(integral(prior.density))
    return GlobalRisks(math.fsum(consumer), math.fsum(producer), math.fsum(nonconforming))


def guard_band_for_risk(prior: Prior, doubt_u_k2: float, band: Band, consumer_risk: float) -> float:
    """The smallest guard band (0 or more) whose global consumer's risk does not exceed `consumer_risk` (9.5.4)."""
    from scipy.optimize import brentq

    if not 0 < consumer_risk < 1:
        raise ValueError(f"consumer's risk {consumer_risk} is out of range; use a chance between 0 and 1.")

    def excess(guard: float) -> float:
        return global_risks(prior, doubt_u_k2, band, acceptance_band(band, guard)).consumer - consumer_risk

    if excess(0.0) <= 0:
        return 0.0
    guard = doubt_u_k2
    while excess(guard) > 0:
        guard *= 2
    return float(brentq(excess, 0.0, guard, xtol=1e-12))


def _cuts(prior: Prior, u: float, band: Band, accepted: Band | None) -> list[float]:
    # Smooth pieces: the limits, the landmarks of the prior, and the zone in which acceptance fades.
    start, end = prior.support
    edges = [x for x in (accepted or (None, None)) if x is not None]
    points = [x for x in band if x is not None] + list(prior.landmarks)
    points += [edge + j * u for edge in edges for j in (-8, -3, 0, 3, 8)]
    return sorted({start, end, *(x for x in points if start < x < end)})


def _ends(band: Band) -> tuple[float, float]:
    return (-math.inf if band[0] is None else band[0]), (math.inf if band[1] is None else band[1])


def _check_band(band: Band) -> None:
    low, high = band
    if low is not None and high is not None and low > high:
        raise ValueError(f"the band runs from {low} to {high}; its low end must not be above its high end.")


def _cdf(z: float) -> float:
    return math.erfc(-z / math.sqrt(2)) / 2

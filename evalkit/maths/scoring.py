"""How good forecasts of chances were: Brier score and its parts, ranked probability score. Lower is better.

Sources: Brier 1950; Murphy 1973 (the parts); Epstein 1969 (ranked probability score). No forecast gives `None`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate


@dataclass(frozen=True, slots=True)
class ForecastGroup:
    """All forecasts of one chance: how often it was given (a count or a share) and how often the event came."""

    forecast: float
    share_happened: float
    weight: float


@dataclass(frozen=True, slots=True)
class BrierParts:
    """Murphy's parts: the Brier score is reliability less resolution plus uncertainty."""

    reliability: float
    resolution: float
    uncertainty: float

    @property
    def score(self) -> float:
        return self.reliability - self.resolution + self.uncertainty

    @property
    def skill(self) -> float | None:
        """1 less the score over that of always forecasting the base rate; None when the base rate is 0 or 1."""
        return (self.resolution - self.reliability) / self.uncertainty if self.uncertainty else None


def brier_score(forecasts: Sequence[float], happened: Sequence[bool]) -> float | None:
    """Mean square of forecast chance less outcome (1 or 0); 0 is perfect, 0.25 is saying a half to everything."""
    squares = [(_chance(p) - bool(y)) ** 2 for p, y in zip(forecasts, happened, strict=True)]
    return math.fsum(squares) / len(squares) if squares else None


def forecast_groups(forecasts: Sequence[float], happened: Sequence[bool]) -> tuple[ForecastGroup, ...]:
    """The forecasts gathered by their exact value, in rising order; weights are counts."""
    outcomes: dict[float, list[bool]] = defaultdict(list)
    for p, y in zip(forecasts, happened, strict=True):
        outcomes[_chance(p)].append(bool(y))
    return tuple(ForecastGroup(p, sum(ys) / len(ys), len(ys)) for p, ys in sorted(outcomes.items()))


def brier_parts(groups: Iterable[ForecastGroup]) -> BrierParts | None:
    """Murphy's decomposition. Exact when each group holds one forecast value; None when nothing was forecast."""
    kept = [group for group in groups if group.weight > 0]
    if not kept:
        return None
    total = math.fsum(group.weight for group in kept)
    base = math.fsum(group.weight * group.share_happened for group in kept) / total
    reliability = math.fsum(g.weight * (g.forecast - g.share_happened) ** 2 for g in kept) / total
    resolution = math.fsum(g.weight * (g.share_happened - base) ** 2 for g in kept) / total
    return BrierParts(reliability, resolution, base * (1 - base))


def ranked_probability_score(chances: Sequence[float], level: int, *, normalised: bool = False) -> float:
    """Sum of squared differences of cumulative chances and outcome; `chances[j]` of level j, `level` came about.

    Over K levels the sum lies between 0 and K - 1; `normalised` divides by K - 1.
    """
    if not 0 <= level < len(chances):
        raise ValueError(f"level {level} is not on the scale; use 0 to {len(chances) - 1}.")
    if abs(math.fsum(map(_chance, chances)) - 1) > 1e-6:
        raise ValueError(f"the chances add up to {math.fsum(chances)}; they must add up to 1.")
    steps = list(accumulate(chances))[:-1]
    total = math.fsum((cumulative - (j >= level)) ** 2 for j, cumulative in enumerate(steps))
    return total / len(steps) if normalised and steps else total


def mean_ranked_probability_score(
    forecasts: Sequence[Sequence[float]], levels: Sequence[int], *, normalised: bool = False
) -> float | None:
    """Mean of the scores of many forecasts."""
    scores = [ranked_probability_score(p, y, normalised=normalised) for p, y in zip(forecasts, levels, strict=True)]
    return math.fsum(scores) / len(scores) if scores else None


def _chance(p: float) -> float:
    if not 0 <= p <= 1:
        raise ValueError(f"{p} is not a chance; use a number from 0 to 1.")
    return float(p)

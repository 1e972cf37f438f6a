"""Two views over a round or many: how often they agree, and how surely that is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evalkit.domain.comparing import PairComparison
from evalkit.maths.agreement import Kappa, cohen_kappa
from evalkit.maths.differences import Limits, limits_of_agreement
from evalkit.maths.proportions import Proportion, proportion

__all__ = ["MIN_PAIRS", "Agreement", "Kappa", "Limits", "Proportion", "agreement_of"]
# The results of maths travel up under these names: above this room nobody sees maths itself.

MIN_PAIRS = 5
"""Under this many pairs: dots and counts, no coefficient."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """Agreement of settled levels, one per criterion and pair. `table` counts [trainee][mentor] on the full scale.

    `kappa` (quadratic weights) and `limits` (trainee's score minus mentor's) are None under MIN_PAIRS pairs.
    """

    n_pairs: int
    n_levels: int
    exact: Proportion
    within_one: Proportion
    mean_difference: float | None
    kappa: Kappa | None
    limits: Limits | None
    table: tuple[tuple[int, ...], ...]


def agreement_of(
    comparisons: Sequence[PairComparison], scores: Sequence[tuple[float, float]], *, n_levels: int
) -> Agreement:
    """Agreement over the graded pairs. `scores` holds (trainee, mentor) for each pair where both saw something."""
    by_pair = [[one.levels for one in pair.criteria if one.on.weight and one.levels] for pair in comparisons]
    both = [levels for pair in by_pair for levels in pair]
    n_pairs = sum(bool(pair) for pair in by_pair)
    table = [[0] * n_levels for _ in range(n_levels)]
    for theirs, hers in both:
        table[theirs][hers] += 1
    n = len(both)
    return Agreement(
        n_pairs=n_pairs,
        n_levels=n,
        exact=proportion(sum(theirs == hers for theirs, hers in both), n),
        within_one=proportion(sum(abs(theirs - hers) <= 1 for theirs, hers in both), n),
        mean_difference=sum(theirs - hers for theirs, hers in both) / n if n else None,
        kappa=cohen_kappa(table, weights="quadratic") if n_pairs >= MIN_PAIRS else None,
        limits=_limits(scores) if len(scores) >= MIN_PAIRS else None,
        table=tuple(tuple(row) for row in table),
    )


def _limits(scores: Sequence[tuple[float, float]]) -> Limits:
    return limits_of_agreement([theirs for theirs, _ in scores], [hers for _, hers in scores])

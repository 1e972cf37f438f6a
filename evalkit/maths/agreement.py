"""How far two observers agree: on ordered levels (kappa), on good and bad (rates), and whether they lean apart (tests).

A *table* holds counts over the full scale (maths/tables.py). Where a figure cannot be known, its field is `None` and
`undefined` (or `no_interval`) says why in words; it is never NaN and never 0 in disguise.

Sources: Cohen 1960, 1968; Fleiss, Cohen & Everitt 1969 (errors of kappa); Bowker 1948; Stuart 1955, Maxwell 1970.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from statistics import NormalDist
from typing import Literal, assert_never

from evalkit.maths.proportions import Proportion, clopper_pearson_interval, proportion, wilson_interval
from evalkit.maths.tables import Table, square_counts

Matrix = Sequence[Sequence[float]]

# Below this, a variance or a chance disagreement of order one is rounding noise of an exact zero.
_ZERO = 1e-13


class Weighting(StrEnum):
    """How much a disagreement by d levels counts: d squared, d, or 1 whatever d is."""

    QUADRATIC = "quadratic"
    LINEAR = "linear"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Kappa:
    """Agreement beyond chance; 1 is perfect, 0 is what chance alone would give.

    `se` belongs to the interval, `se_h0` to a test of kappa = 0; the two differ. `observed` and `expected` are
    weighted agreements: 1 less the mean disagreement, in units of the greatest disagreement on the scale.
    """

    n: int
    confidence: float
    value: float | None = None
    se: float | None = None
    se_h0: float | None = None
    low: float | None = None
    high: float | None = None
    observed: float | None = None
    expected: float | None = None
    undefined: str | None = None
    no_interval: str | None = None


@dataclass(frozen=True, slots=True)
class BadGoodRates:
    """A yes-or-no judge against the truth: bad things let through, and good things turned down, with intervals."""

    miss: Proportion
    false_alarm: Proportion


@dataclass(frozen=True, slots=True)
class ChiSquareTest:
    """A statistic with its degrees of freedom and the chance of one at least as large if the hypothesis holds."""

    df: int
    statistic: float | None = None
    p_value: float | None = None
    undefined: str | None = None


def disagreement_weights(weighting: Weighting, n_levels: int) -> list[list[float]]:
    """Square matrix of disagreements between levels i and j: (i-j)^2, |i-j|, or 1; the diagonal is 0."""
    span = range(n_levels)
    match weighting:
        case Weighting.QUADRATIC:
            return [[float((i - j) ** 2) for j in span] for i in span]
        case Weighting.LINEAR:
            return [[float(abs(i - j)) for j in span] for i in span]
        case Weighting.NONE:
            return [[float(i != j) for j in span] for i in span]
        case _ as never:
            assert_never(never)


def cohen_kappa(
    table: Table,
    weights: Literal["quadratic", "linear", "none"] | Matrix = "quadratic",
    confidence: float = 0.95,
) -> Kappa:
    """Weighted kappa 1 - D_o/D_e of a full-scale square table, with large-sample errors (delta method).

    `weights` names a weighting or gives disagreements (diagonal 0, none negative). The interval is cut at 1 and, for
    named weights, at -1, beyond which kappa cannot lie.
    """
    counts = square_counts(table)
    v = _weight_matrix(weights, len(counts))
    n = sum(map(sum, counts))
    if n == 0:
        return Kappa(n, confidence, undefined="The table is empty: nothing was judged by both.")
    p = [[count / n for count in row] for row in counts]
    by_chance = _independent(p)
    seen, chance, worst = _mean_weight(p, v), _mean_weight(by_chance, v), max(map(max, v))
    if chance <= _ZERO * worst:
        reason = "One level was used throughout; chance alone would agree, so agreement beyond it cannot be judged."
        return Kappa(n, confidence, undefined=reason)
    value = 1 - seen / chance
    se, se_h0 = _kappa_error(p, p, v, n), _kappa_error(by_chance, p, v, n)
    kappa = Kappa(
        n, confidence, value, se or None, se_h0 or None, observed=1 - seen / worst, expected=1 - chance / worst
    )
    if se == 0:
        return replace(kappa, no_interval=_why_no_kappa_interval(counts))
    half = NormalDist().inv_cdf((1 + confidence) / 2) * se
    floor = -1.0 if isinstance(weights, str) else -math.inf
    return replace(kappa, low=max(floor, value - half), high=min(1.0, value + half))


def bad_good_rates(table: Table, confidence: float = 0.95) -> BadGoodRates:
    """Miss and false-alarm rates of a 2 x 2 table: rows are the judge, columns the truth, in the order bad, good.

    A miss is a bad thing called good, out of all bad things; a false alarm a good thing called bad, out of all good.
    Wilson intervals. Rates as in the AIAG manual on measurement systems.
    """
    counts = square_counts(table)
    if len(counts) != 2:
        raise ValueError(f"rates need a 2 x 2 table in the order bad, good; this one has {len(counts)} rows.")
    (caught, false_alarms), (missed, passed) = counts
    return BadGoodRates(
        miss=proportion(missed, caught + missed, confidence, wilson_interval),
        false_alarm=proportion(false_alarms, false_alarms + passed, confidence, wilson_interval),
    )


def effectiveness(
    trials_by_thing: Sequence[Sequence[Hashable]], truths: Sequence[Hashable], confidence: float = 0.95
) -> Proportion:
    """Share of things judged right in every one of their trials, with its exact interval (AIAG manual).

    A thing without any trial was not judged; it is left out rather than counted as right or wrong.
    """
    judged = [(trials, truth) for trials, truth in zip(trials_by_thing, truths, strict=True) if trials]
    matched = sum(all(trial == truth for trial in trials) for trials, truth in judged)
    return proportion(matched, len(judged), confidence, clopper_pearson_interval)


def symmetry_test(table: Table) -> ChiSquareTest:
    """Bowker's test: are disagreements i-against-j as frequent as j-against-i? Empty couples of cells do not count."""
    counts = square_counts(table)
    couples = [(counts[i][j], counts[j][i]) for i in range(len(counts)) for j in range(i)]
    used = [(x, y) for x, y in couples if x + y]
    if not used:
        return ChiSquareTest(0, undefined="There is no disagreement to weigh.")
    return _chi_square(math.fsum((x - y) ** 2 / (x + y) for x, y in used), len(used))


def marginal_homogeneity_test(table: Table) -> ChiSquareTest:
    """Stuart and Maxwell's test: do both observers use each level equally often? Levels in full agreement drop out."""
    import numpy as np

    rows = square_counts(table)
    counts = np.array(rows, dtype=float).reshape(len(rows), len(rows))
    off = counts + counts.T
    off -= np.diag(np.diag(off))
    # The covariance is a Laplacian of disagreements: singular by nature, so its rank gives the degrees of freedom.
    covariance = np.diag(off.sum(axis=1)) - off
    df = int(np.linalg.matrix_rank(covariance)) if off.any() else 0
    if df == 0:
        return ChiSquareTest(0, undefined="There is no disagreement to weigh.")
    difference = counts.sum(axis=1) - counts.sum(axis=0)
    return _chi_square(float(difference @ np.linalg.pinv(covariance) @ difference), df)


def _weight_matrix(weights: str | Matrix, n_levels: int) -> list[list[float]]:
    if isinstance(weights, str):
        return disagreement_weights(Weighting(weights), n_levels)
    v = [[float(x) for x in row] for row in weights]
    if len(v) != n_levels or any(len(row) != n_levels for row in v):
        raise ValueError(f"the weights must be {n_levels} x {n_levels}, as the table is.")
    if any(not (0 <= x < math.inf) for row in v for x in row) or any(v[i][i] for i in range(n_levels)):
        raise ValueError("weights are disagreements: 0 on the diagonal, finite and not negative elsewhere.")
    return v


def _independent(p: Matrix) -> list[list[float]]:
    columns = [math.fsum(column) for column in zip(*p, strict=True)]
    return [[math.fsum(row) * column for column in columns] for row in p]


def _mean_weight(p: Matrix, v: Matrix) -> float:
    return math.fsum(x * w for row, weights in zip(p, v, strict=True) for x, w in zip(row, weights, strict=True))


def _kappa_error(cells: Matrix, p: Matrix, v: Matrix, n: int) -> float:
    """Delta-method error of kappa for multinomial counts with chances `cells`, whose margins are those of p."""
    span = range(len(p))
    rows, columns = [math.fsum(row) for row in p], [math.fsum(column) for column in zip(*p, strict=True)]
    row_mean = [math.fsum(v[i][j] * columns[j] for j in span) for i in span]
    column_mean = [math.fsum(v[i][j] * rows[i] for i in span) for j in span]
    chance = math.fsum(rows[i] * row_mean[i] for i in span)
    ratio = _mean_weight(cells, v) / chance
    slope = [[(ratio * (row_mean[i] + column_mean[j]) - v[i][j]) / chance for j in span] for i in span]
    mean = _mean_weight(cells, slope)
    variance = math.fsum(cells[i][j] * (slope[i][j] - mean) ** 2 for i in span for j in span)
    return math.sqrt(variance / n) if variance > _ZERO else 0.0


def _why_no_kappa_interval(counts: Table) -> str:
    # A zero large-sample error is a failure of the formula, not certainty.
    if sum(map(any, counts)) == 1 or sum(map(any, zip(*counts, strict=True))) == 1:
        return "One observer used a single level, so kappa is 0 whatever the other said; there is no interval."
    return "The observers agreed or differed without exception; the large-sample error says nothing about doubt here."


def _chi_square(statistic: float, df: int) -> ChiSquareTest:
    from scipy.special import chdtrc

    return ChiSquareTest(df, statistic, float(chdtrc(df, statistic)))

"""How far two or more observers agree: on ordered levels (kappa, alpha), on values (limits), on good and bad (rates).

A *table* holds counts: `table[i][j]` says how often the first observer said level i where the second said level j.
It spans the full scale, so a level that nobody used keeps its empty row and column. Where a figure cannot be known,
its field is `None` and `undefined` (or `no_interval`) says why in words; it is never NaN and never 0 in disguise.

Sources: Cohen 1960, 1968; Fleiss, Cohen & Everitt 1969 (errors of kappa); Fleiss 1971; Fleiss, Nee & Landis 1979;
Krippendorff 2011; Bland & Altman 1986; Bowker 1948; Stuart 1955, Maxwell 1970.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from statistics import NormalDist, fmean, stdev
from typing import Literal, assert_never

from evalkit.maths.proportions import Proportion, clopper_pearson_interval, proportion, wilson_interval

Table = Sequence[Sequence[int]]
Matrix = Sequence[Sequence[float]]

# Below this, a variance or a chance disagreement of order one is rounding noise of an exact zero.
_ZERO = 1e-13


class Weighting(StrEnum):
    """How much a disagreement by d levels counts: d squared, d, or 1 whatever d is."""

    QUADRATIC = "quadratic"
    LINEAR = "linear"
    NONE = "none"


class Metric(StrEnum):
    """How far apart two values are for Krippendorff's alpha."""

    NOMINAL = "nominal"
    ORDINAL = "ordinal"
    INTERVAL = "interval"
    RATIO = "ratio"


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


def paired_table(a: Iterable[int | None], b: Iterable[int | None], n_levels: int) -> tuple[tuple[int, ...], ...]:
    """Counts of levels 0..n_levels-1, rows from `a`, columns from `b`; where either is None the two are left out."""
    counts = [[0] * n_levels for _ in range(n_levels)]
    for first, second in zip(a, b, strict=True):
        for level in (first, second):
            if level is not None and not 0 <= level < n_levels:
                raise ValueError(f"level {level} is not on the scale; use 0 to {n_levels - 1}.")
        if first is not None and second is not None:
            counts[first][second] += 1
    return tuple(tuple(row) for row in counts)


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
    counts = _square_counts(table)
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


def fleiss_kappa(counts: Table) -> FleissKappa:
    """Fleiss' kappa of `counts[subject][category]`: how many raters put the subject there; equally many for each."""
    rows = [[_whole(count) for count in row] for row in counts]
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


def bad_good_rates(table: Table, confidence: float = 0.95) -> BadGoodRates:
    """Miss and false-alarm rates of a 2 x 2 table: rows are the judge, columns the truth, in the order bad, good.

    A miss is a bad thing called good, out of all bad things; a false alarm a good thing called bad, out of all good.
    Wilson intervals. Rates as in the AIAG manual on measurement systems.
    """
    counts = _square_counts(table)
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
    counts = _square_counts(table)
    couples = [(counts[i][j], counts[j][i]) for i in range(len(counts)) for j in range(i)]
    used = [(x, y) for x, y in couples if x + y]
    if not used:
        return ChiSquareTest(0, undefined="There is no disagreement to weigh.")
    return _chi_square(math.fsum((x - y) ** 2 / (x + y) for x, y in used), len(used))


def marginal_homogeneity_test(table: Table) -> ChiSquareTest:
    """Stuart and Maxwell's test: do both observers use each level equally often? Levels in full agreement drop out."""
    import numpy as np

    rows = _square_counts(table)
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


def _square_counts(table: Table) -> list[list[int]]:
    rows = [[_whole(count) for count in row] for row in table]
    if any(len(row) != len(rows) for row in rows):
        raise ValueError("the table must be square: one row and one column for each level of the full scale.")
    return rows


def _whole(count: float) -> int:
    if count < 0 or int(count) != count:
        raise ValueError(f"{count} is not a count; use whole numbers from 0.")
    return int(count)


def _chi_square(statistic: float, df: int) -> ChiSquareTest:
    from scipy.special import chdtrc

    return ChiSquareTest(df, statistic, float(chdtrc(df, statistic)))


def _t_quantile(df: int, chance: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(df, chance))

"""Running scores that signal: learnt (learning-curve CUSUM), drifting (Bernoulli and normal CUSUM), decided (SPRT).

A CUSUM adds a weight for each trial, never falls below 0, and signals on reaching its limit:
S_0 = 0, S_t = max(0, S_(t-1) + W_t), signal when S_t >= limit. Failures are `True`. Chances are exact: the score's
possible states are followed one by one, nothing is simulated.

Sources: Page 1954; Biau et al. 2008, Biau & Porcher 2010 (learning curve); Reynolds & Stoumbos 1999 (Bernoulli);
Brook & Evans 1972, Lucas & Crosier 1982 (run lengths); Wald 1947 (SPRT).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

# Scores are sums of two real weights; sums that are equal on paper may differ by rounding.
_SIGNALLED = 0
_TIE = 1e-9


@dataclass(frozen=True, slots=True)
class ScoreWeights:
    """What a success and a failure add to the score; one of them is positive, the other negative."""

    success: float
    failure: float

    def __post_init__(self) -> None:
        if not self.success * self.failure < 0:
            raise ValueError("one of the two weights must be positive and the other negative.")


@dataclass(frozen=True, slots=True)
class SprtPlan:
    """Wald's test of failure rate p1 (accept) against p2 (reject): two lines in the plane of trials and failures."""

    p1: float
    p2: float
    alpha: float
    beta: float
    h1: float
    h2: float
    slope: float

    def accept_line(self, n: int) -> float:
        """Accept when so many failures or fewer stand after n trials."""
        return self.slope * n - self.h1

    def reject_line(self, n: int) -> float:
        """Reject when so many failures or more stand after n trials."""
        return self.slope * n + self.h2


@dataclass(frozen=True, slots=True)
class SprtPerformance:
    """Exact chance of accepting, and mean number of trials to a decision, at one true failure rate."""

    p: float
    accept: float
    mean_trials: float


def learning_weights(p_adequate: float, p_inadequate: float) -> ScoreWeights:
    """Weights of the learning-curve CUSUM: successes raise the score, and its signal says 'adequate'.

    `p_adequate` is the failure rate to be reached, `p_inadequate` the rate that must not pass for it.
    """
    _check_rates(p_adequate, p_inadequate)
    return ScoreWeights(math.log((1 - p_adequate) / (1 - p_inadequate)), math.log(p_adequate / p_inadequate))


def drift_weights(p_in_control: float, p_drifted: float) -> ScoreWeights:
    """Weights of the Bernoulli CUSUM kept after learning: failures raise the score, and its signal is an alarm."""
    _check_rates(p_in_control, p_drifted)
    return ScoreWeights(math.log((1 - p_drifted) / (1 - p_in_control)), math.log(p_drifted / p_in_control))


def cusum_path(failures: Iterable[bool], weights: ScoreWeights) -> tuple[float, ...]:
    """The score after each trial; it runs on after a signal."""
    score, path = 0.0, []
    for failed in failures:
        score = max(0.0, score + (weights.failure if failed else weights.success))
        path.append(score)
    return tuple(path)


def first_signal(path: Sequence[float], limit: float) -> int | None:
    """The trial (counted from 1) at which the score first reaches the limit; None when it never does."""
    return next((t for t, score in enumerate(path, start=1) if score >= limit - _TIE), None)


def signal_chances(weights: ScoreWeights, limit: float, p_failure: float, n: int) -> tuple[float, ...]:
    """Exact chance of a signal within 1, 2, ... n trials when each fails independently with `p_failure`.

    A state is the number of successes and failures since the score last stood at 0, which fixes the score without
    rounding.
    """
    import numpy as np

    if limit <= 0 or not 0 <= p_failure <= 1 or n < 0:
        raise ValueError(f"limit {limit}, rate {p_failure}, trials {n}: use limit > 0, a rate from 0 to 1, n >= 0.")
    succeeded, failed = _moves(weights, limit, n)
    size = len(succeeded) + 1
    mass = np.zeros(size)
    mass[1] = 1.0
    chances = []
    for _ in range(n):
        going, gone = mass[1:], mass[_SIGNALLED]
        mass = np.bincount(succeeded, going * (1 - p_failure), size).astype(float)
        mass += np.bincount(failed, going * p_failure, size)
        mass[_SIGNALLED] += gone
        chances.append(min(1.0, float(mass[_SIGNALLED])))
    return tuple(chances)


def _moves(weights: ScoreWeights, limit: float, n: int) -> tuple[list[int], list[int]]:
    """Where a success and a failure lead from each state that n trials may reach; 0 is the signal, 1 the start."""
    numbers = {(0, 0): 1}
    moves: tuple[list[int], list[int]] = ([], [])
    waiting = [(0, 0)]
    for good, bad in waiting:
        for to, state in zip(moves, ((good + 1, bad), (good, bad + 1)), strict=True):
            score = state[0] * weights.success + state[1] * weights.failure
            if score >= limit - _TIE or sum(state) > n:
                to.append(_SIGNALLED)  # a state beyond the last trial is never stepped from
                continue
            known = state if score > _TIE else (0, 0)
            if known not in numbers:
                numbers[known] = len(numbers) + 1
                waiting.append(known)
            to.append(numbers[known])
    return moves


def signal_chance(weights: ScoreWeights, limit: float, p_failure: float, n: int) -> float:
    """Exact chance of a signal within n trials."""
    return signal_chances(weights, limit, p_failure, n)[-1] if n else 0.0


def choose_limit(weights: ScoreWeights, p_failure: float, n: int, chance: float) -> float:
    """The lowest limit whose chance of a (false) signal within n trials at `p_failure` is at most `chance`.

    Only finitely many scores can be reached, so every limit between two of them is the same plan; the midpoint is
    given, where rounding cannot matter. Raises when even the highest score is reached too often.
    """
    if not 0 < chance < 1 or n < 1:
        raise ValueError(f"chance {chance}, trials {n}: use a chance between 0 and 1 and at least one trial.")
    scores = _reachable_scores(weights, n)
    low, high = 0, len(scores) - 1
    while low < high:
        middle = (low + high) // 2
        if signal_chance(weights, scores[middle], p_failure, n) <= chance:
            high = middle
        else:
            low = middle + 1
    if low == len(scores) - 1 and signal_chance(weights, scores[low], p_failure, n) > chance:
        raise ValueError(
            f"no limit keeps the chance within {n} trials at {chance}; allow more trials or a greater one."
        )
    return (scores[low - 1] + scores[low]) / 2 if low else scores[0] / 2


def normal_cusum_run_length(shift: float, k: float, h: float, *, two_sided: bool = False) -> float:
    """Mean trials to a signal of the CUSUM of standard normal values moved by `shift` (in SD), reference k, limit h.

    Solves Page's integral equation by Gauss-Legendre quadrature; two one-sided charts are joined by Kemp's
    1/L = 1/L_up + 1/L_down.
    """
    if h <= 0 or k < 0:
        raise ValueError(f"h {h}, k {k}: use h above 0 and k of 0 or more.")
    if two_sided:
        up, down = normal_cusum_run_length(shift, k, h), normal_cusum_run_length(-shift, k, h)
        return 1 / (1 / up + 1 / down)
    import numpy as np
    from scipy.special import ndtr

    nodes, node_weights = np.polynomial.legendre.leggauss(max(60, math.ceil(12 * h)))
    x, w = h * (nodes + 1) / 2, h * node_weights / 2
    start = np.concatenate(([0.0], x))
    to_zero = ndtr(k - shift - start)
    density = np.exp(-((x[None, :] - start[:, None] + k - shift) ** 2) / 2) / math.sqrt(2 * math.pi)
    kernel = np.column_stack((to_zero, density * w))
    return float(np.linalg.solve(np.eye(len(start)) - kernel, np.ones(len(start)))[0])


def sprt_plan(p1: float, p2: float, alpha: float, beta: float) -> SprtPlan:
    """Wald's lines: alpha is the wanted chance of rejecting at p1, beta of accepting at p2; his bounds are cautious."""
    _check_rates(p1, p2)
    if not (alpha > 0 and beta > 0 and alpha + beta < 1):
        raise ValueError(f"alpha {alpha}, beta {beta}: both must be above 0 and their sum below 1.")
    spread = math.log(p2 * (1 - p1) / (p1 * (1 - p2)))
    return SprtPlan(
        p1, p2, alpha, beta,
        h1=math.log((1 - alpha) / beta) / spread,
        h2=math.log((1 - beta) / alpha) / spread,
        slope=math.log((1 - p1) / (1 - p2)) / spread,
    )  # fmt: skip


def sprt_performance(plan: SprtPlan, p: float, max_trials: int = 100_000) -> SprtPerformance:
    """Exact chance of accepting and mean trials at failure rate p, by following every undecided count of failures.

    Raises when after `max_trials` more than 1e-13 is still undecided.
    """
    if not 0 <= p <= 1:
        raise ValueError(f"failure rate {p} is out of range; use a number from 0 to 1.")
    undecided, accept, mean_trials, n = {0: 1.0}, 0.0, 0.0, 0
    while (mass := math.fsum(undecided.values())) > 1e-13:
        if n == max_trials:
            raise ValueError(f"still undecided with chance {mass:.1e} after {n} trials; allow more trials.")
        mean_trials += mass
        n += 1
        after: dict[int, float] = defaultdict(float)
        for failures, chance in undecided.items():
            for count, part in ((failures, chance * (1 - p)), (failures + 1, chance * p)):
                if count <= plan.accept_line(n) + _TIE:
                    accept += part
                elif count < plan.reject_line(n) - _TIE:
                    after[count] += part
        undecided = after
    return SprtPerformance(p, accept, mean_trials)


def _reachable_scores(weights: ScoreWeights, n: int) -> list[float]:
    grid = (good * weights.success + bad * weights.failure for good in range(n + 1) for bad in range(n + 1 - good))
    scores: list[float] = []
    for score in sorted(grid):
        if score > _TIE and (not scores or score - scores[-1] > 4 * _TIE):
            scores.append(score)
    return scores


def _check_rates(low: float, high: float) -> None:
    if not 0 < low < high < 1:
        raise ValueError(f"rates {low} and {high}: use 0 < the good rate < the bad rate < 1.")

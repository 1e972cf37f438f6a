"""Second opinions by a running score: has the trainee learnt it (LC-CUSUM), and has it drifted since a sign-off.

Both count pairs, every must-pass reached or not, and are blind to difficulty: a box of easy pairs flatters them.
Sources: Biau et al. 2008 (learning curve); Reynolds & Stoumbos 1999 (drift).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from evalkit.domain.pair import EdgeType
from evalkit.domain.signoff import SignOff
from evalkit.maths.cusum import (
    ScoreWeights,
    choose_limit,
    cusum_path,
    drift_weights,
    first_signal,
    learning_weights,
)
from evalkit.progress.counting import Passed, pairs_in_order, passed_of
from evalkit.progress.lining_up import LineUp

ADEQUATE_FAILURES = 0.10
INADEQUATE_FAILURES = 0.35
FALSE_SIGNAL_CHANCE = 0.10
WITHIN_PAIRS = 120
"""The limits are set so that a false signal within so many pairs has at most this chance."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One pair in the running score."""

    round_key: str
    number: int
    has_passed: bool
    score: float


@dataclass(frozen=True, slots=True)
class Signal:
    """A running score against its limit. `at` is the trial (from 1) that first reached it, None when none did."""

    trials: tuple[Trial, ...]
    limit: float
    at: int | None
    n_not_shown: int

    @property
    def signalled_by(self) -> Trial | None:
        return None if self.at is None else self.trials[self.at - 1]

    @property
    def score(self) -> float:
        return self.trials[-1].score if self.trials else 0.0


@dataclass(frozen=True, slots=True)
class DriftWatch:
    """What happened to a sign-off's edge types since it was given."""

    sign_off: SignOff
    signal: Signal


def learning_signal(line: LineUp, edge_types: Sequence[EdgeType] | None = None) -> Signal:
    """Signals 'learnt' when failures are rarer than INADEQUATE_FAILURES allows, by the plan's limits."""
    weights = learning_weights(ADEQUATE_FAILURES, INADEQUATE_FAILURES)
    return _signal(_shown(line, edge_types), weights, _limit(weights, INADEQUATE_FAILURES))


def drift_watch(line: LineUp, sign_off: SignOff) -> DriftWatch:
    """Signals 'drifted' when failures after the sign-off are more frequent than ADEQUATE_FAILURES allows."""
    weights = drift_weights(ADEQUATE_FAILURES, INADEQUATE_FAILURES)
    after = [
        one
        for round_, pair in pairs_in_order(line, sign_off.edge_types)
        if round_.on > sign_off.signed_on
        for one in ((round_.key, pair.number, passed_of(pair)),)
    ]
    return DriftWatch(sign_off, _signal(after, weights, _limit(weights, ADEQUATE_FAILURES)))


def _shown(line: LineUp, edge_types: Sequence[EdgeType] | None) -> list[tuple[str, int, Passed]]:
    return [(round_.key, pair.number, passed_of(pair)) for round_, pair in pairs_in_order(line, edge_types)]


def _signal(found: Sequence[tuple[str, int, Passed]], weights: ScoreWeights, limit: float) -> Signal:
    shown = [one for one in found if one[2] is not Passed.NOT_SHOWN]
    path = cusum_path([passed is Passed.NO for _, _, passed in shown], weights)
    trials = tuple(
        Trial(key, number, passed is Passed.YES, score)
        for (key, number, passed), score in zip(shown, path, strict=True)
    )
    return Signal(trials, limit, first_signal(path, limit), len(found) - len(shown))


@lru_cache(maxsize=8)
def _limit(weights: ScoreWeights, failures: float) -> float:
    return choose_limit(weights, failures, WITHIN_PAIRS, FALSE_SIGNAL_CHANCE)

"""A trainee's history, answered: what the rounds show, what the model adds, whether customers' shears may come."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.domain.comparing import PairComparison
from evalkit.domain.pair import EdgeType
from evalkit.domain.round import Person
from evalkit.domain.signoff import SignOff
from evalkit.progress.agreeing import Agreement, agreement_of
from evalkit.progress.assuming import are_fitting
from evalkit.progress.counting import LatestPairs, RoundCounts, count_rounds, latest_pairs
from evalkit.progress.deciding import ReadinessAnswer
from evalkit.progress.faults import FaultView, faults_then_and_now
from evalkit.progress.learning import DriftWatch, Signal, drift_watch, learning_signal
from evalkit.progress.lining_up import LineUp, line_up
from evalkit.progress.modelled import Modelled, model, n_fits, readiness_alone
from evalkit.progress.observing import Observed, observe, pairs_in
from evalkit.progress.results import RoundResult

if TYPE_CHECKING:
    from evalkit.domain.school_values import SchoolValues

OnStep = Callable[[int, int], None]
"""Told after each step: how many are done, of how many."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """When the trainee says a level, how often the mentor finds the pair fit. `table` counts [trainee][mentor]."""

    round_key: str
    agreement: Agreement


@dataclass(frozen=True, slots=True)
class EdgeHistory:
    """The short answer for one edge type."""

    edge_type: EdgeType
    n_pairs: int
    readiness: ReadinessAnswer
    latest: LatestPairs


@dataclass(frozen=True, slots=True)
class EdgesTogether:
    """The answers by edge type, weighted by how many marked pairs of each were sent.

    `is_apart`: it lies outside the 80 % band of the answer that takes all of them as alike.
    """

    chance: float
    n_pairs: int
    """Pairs of the edge types that have a figure."""
    is_apart: bool


@dataclass(frozen=True, slots=True)
class History:
    """All that is said of one trainee. `scope` are the edge types asked for; empty when all were taken."""

    trainee: Person
    scope: tuple[EdgeType, ...]
    line: LineUp
    observed: Observed
    counts: tuple[RoundCounts, ...]
    latest: LatestPairs
    readiness: ReadinessAnswer
    modelled: Modelled | None
    learning: Signal
    then: FaultView | None
    now: FaultView | None
    calibration: tuple[Calibration, ...]
    """Of each round with levels seen by both."""
    by_edge_type: tuple[EdgeHistory, ...]
    """Empty when one edge type makes the whole history."""
    sign_offs: tuple[SignOff, ...]
    watches: tuple[DriftWatch, ...]
    """Of the sign-offs that stand."""
    values: SchoolValues | None
    """What was learnt from the school and is used here; None where defaults stand for it."""

    @property
    def is_pooled(self) -> bool:
        """Does the one answer take several edge types together, as if they were alike?"""
        return len(self.observed.edge_types) > 1

    @property
    def edges_together(self) -> EdgesTogether | None:
        """None where no edge type has a figure, or the whole has none to set it against."""
        told = [(one.n_pairs, one.readiness.joint) for one in self.by_edge_type]
        known = [(n, joint) for n, joint in told if joint is not None]
        low, high = self.readiness.joint_lo, self.readiness.joint_hi
        if not known or low is None or high is None:
            return None
        n_pairs = sum(n for n, _ in known)
        chance = sum(n * joint for n, joint in known) / n_pairs
        return EdgesTogether(chance, n_pairs, is_apart=not low <= chance <= high)


def history_of(
    trainee: Person,
    results: Sequence[RoundResult],
    *,
    edge_types: Sequence[EdgeType] = (),
    sign_offs: Sequence[SignOff] = (),
    values: SchoolValues | None = None,
    is_brief: bool = False,
    on_step: OnStep = lambda _done, _of: None,
) -> History:
    """Answer a trainee's history from the rounds' answers alone; whatever is missing is said, never filled in.

    `values` are what the school has taught; those of another ladder of levels are not used, and left out of the answer.
    `is_brief` leaves out what takes most of the time: what stood at each round end, and each edge type by itself.
    """
    line = line_up(results, trainee.key)
    wanted = tuple(kind for kind in EdgeType if kind in edge_types) or None
    observed = observe(line, wanted)
    apart = (
        {kind: observe(line, (kind,)) for kind in observed.edge_types}
        if not is_brief and len(observed.edge_types) > 1
        else {}
    )
    total = n_fits(observed, with_ends=not is_brief) + sum(n_fits(one, is_alone=True) for one in apart.values())
    done = 0

    def tick() -> None:
        nonlocal done
        done += 1
        on_step(done, total)

    modelled, readiness = model(observed, values, with_ends=not is_brief, tick=tick)
    own = [one for one in sign_offs if one.trainee_key == trainee.key]
    then, now = faults_then_and_now(line, wanted)
    return History(
        trainee=trainee,
        scope=wanted or (),
        line=line,
        observed=observed,
        counts=count_rounds(line, wanted),
        latest=latest_pairs(line, wanted),
        readiness=readiness,
        modelled=modelled,
        learning=learning_signal(line, wanted),
        then=then,
        now=now,
        calibration=_calibration(line, wanted),
        by_edge_type=tuple(
            EdgeHistory(kind, one.n_pairs, readiness_alone(one, values, tick=tick), latest_pairs(line, (kind,)))
            for kind, one in apart.items()
        ),
        sign_offs=tuple(sorted(own, key=lambda one: one.signed_on)),
        watches=tuple(drift_watch(line, one) for one in own if one.stands),
        values=values if are_fitting(observed, values) else None,
    )


def _calibration(line: LineUp, wanted: tuple[EdgeType, ...] | None) -> tuple[Calibration, ...]:
    found = []
    for round_ in line.rounds:
        comparisons: list[PairComparison] = [pair.comparison for pair in pairs_in(round_, wanted)]
        agreement = agreement_of(comparisons, [], n_levels=len(line.levels))
        if agreement.n_levels:
            found.append(Calibration(round_.key, agreement))
    return tuple(found)

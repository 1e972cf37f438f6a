"""What a mentor can count: per round and over the latest pairs, each share with its interval; no model behind it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from statistics import median

from evalkit.domain.comparing import Catches, count_catches
from evalkit.domain.harm import Change, CriterionChange, changes_of
from evalkit.domain.pair import EdgeType
from evalkit.domain.verdict import Verdict
from evalkit.maths.proportions import Proportion, proportion, zero_failure_lower_bound
from evalkit.progress.aside import PutAside, pairs_aside
from evalkit.progress.lining_up import DatedRound, LineUp
from evalkit.progress.observing import difficulty_of, is_ordinary, pairs_in
from evalkit.progress.results import PairResult

N_LATEST = 20
"""How many of the latest ordinary pairs the plain share looks at."""
RUN_CONFIDENCE = 0.90
"""Confidence of the reading of a row without a failure."""


class Passed(StrEnum):
    """Whether a pair came back with every must-pass reached; 'not shown' while an unseen place could turn it."""

    YES = "every must-pass reached"
    NO = "a must-pass missed"
    NOT_SHOWN = "not shown"


@dataclass(frozen=True, slots=True)
class Spread:
    """A measured quantity over the pairs of a round that have it; None where none has."""

    n: int
    median: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class RoundCounts:
    """One round in plain counts, for some edge types."""

    key: str
    on: date
    months: float
    n_pairs: int
    aside: tuple[PutAside, ...]
    """Pairs of the box, of these edge types, that are in none of these counts but `found` and `imagined`."""
    n_ordinary: int
    n_harder: int
    n_easier: int
    accepted: Proportion
    """Accepted by the mentor, of all marked pairs; what is not shown is not accepted."""
    n_rework: int
    n_not_shown: int
    passed: Proportion
    """Every must-pass reached, of the pairs on which that is shown either way."""
    gone_out: Proportion
    """Sent back by the mentor, of the pairs that the trainee accepted and the mentor accepts or sends back."""
    n_accepted_unjudged: int
    """Pairs the trainee accepted and the mentor's marking leaves open: in no share."""
    catch: Proportion
    false_alarm: Proportion
    n_not_looked: int
    """Of the faults in `catch`: those the trainee did not look for."""
    harmed: Proportion
    """Criteria worse as returned (by the mentor's eyes) than as received (by the trainee's), of those that can be told.

    Two pairs of eyes: a trainee who is too kind as received makes work look like harm."""
    worse_own_eyes: Proportion
    """Criteria worse as finished than as received, both by the trainee's own eyes, of those that can be told."""
    worse_mentor_eyes: Proportion
    """Criteria worse as returned than before posting, both by the mentor's own eyes, on pairs she read then."""
    found: Proportion
    """Faults the trainee found as received, of those the mentor saw before posting.

    As in the report of the round it takes in every pair of the box that both read, left alone or lost since or not."""
    imagined: Proportion
    """Faults the trainee saw as received where the mentor saw none before posting, of what both looked at."""
    n_found_not_looked: int
    """Of the faults in `found`: those the trainee did not look for."""
    minutes: Spread
    removed_mm: Spread
    is_blind: bool

    @property
    def n_in_box(self) -> int:
        """Pairs of these edge types in the box, counted or not."""
        return self.n_pairs + sum(len(one.numbers) for one in self.aside)


@dataclass(frozen=True, slots=True)
class LatestPairs:
    """The latest ordinary pairs on which it is shown either way whether every must-pass was reached."""

    share: Proportion
    run: int
    """Passed in a row up to the newest; inside a round the order is that of the numbers."""
    run_bound: float | None
    """With RUN_CONFIDENCE at least so large a share would pass; None for a run of 0."""
    n_not_shown: int
    """Ordinary pairs that are left out because it is not shown."""
    n_passed: int
    n_shown: int
    """Over the whole history."""
    last_rounds: Proportion
    """The same over all pairs of the last two rounds, easy and hard ones too."""


def passed_of(pair: PairResult) -> Passed:
    """Over every way the unseen could turn out; a pair without any must-pass shows nothing."""
    asked = [(grade, need) for grade in pair.returned.criteria if (need := grade.on.must_pass) is not None]
    if any(grade.hi < need for grade, need in asked):
        return Passed.NO
    if asked and all(grade.lo >= need for grade, need in asked):
        return Passed.YES
    return Passed.NOT_SHOWN


def pairs_in_order(
    line: LineUp, edge_types: Iterable[EdgeType] | None = None
) -> tuple[tuple[DatedRound, PairResult], ...]:
    """Every marked pair with its round, oldest round first, by number inside a round."""
    wanted = None if edge_types is None else tuple(edge_types)
    return tuple((round_, pair) for round_ in line.rounds for pair in pairs_in(round_, wanted))


def count_rounds(line: LineUp, edge_types: Iterable[EdgeType] | None = None) -> tuple[RoundCounts, ...]:
    """Every round that holds a marked pair of these edge types, oldest first."""
    wanted = None if edge_types is None else tuple(edge_types)
    return tuple(
        _count(round_, pairs, _aside(round_, wanted), _at_first(round_, wanted))
        for round_ in line.rounds
        if (pairs := pairs_in(round_, wanted))
    )


def _aside(round_: DatedRound, wanted: Sequence[EdgeType] | None) -> tuple[PutAside, ...]:
    return pairs_aside(round_.result.round, round_.result.pairs, wanted)


def _at_first(round_: DatedRound, wanted: Sequence[EdgeType] | None) -> Catches:
    """What became as received of the faults the mentor saw before posting, on whatever pairs both read."""
    read = [
        pair.found
        for pair in round_.result.pairs
        if pair.found is not None and (wanted is None or pair.numbered.pair.edge_type in wanted)
    ]
    return count_catches(tuple(read))


def _count(
    round_: DatedRound, pairs: Sequence[PairResult], aside: tuple[PutAside, ...], at_first: Catches
) -> RoundCounts:
    verdicts = [pair.returned.verdict for pair in pairs]
    shown = [found for pair in pairs if (found := passed_of(pair)) is not Passed.NOT_SHOWN]
    own = [pair for pair in pairs if pair.assessed and pair.comparison.trainee_verdict is Verdict.ACCEPTED]
    judged = [pair for pair in own if pair.returned.verdict is not Verdict.NOT_SHOWN]
    catches = count_catches(tuple(pair.comparison for pair in pairs))
    steps = [difficulty_of(pair) for pair in pairs]
    n = len(pairs)
    return RoundCounts(
        key=round_.key,
        on=round_.on,
        months=round_.months,
        n_pairs=n,
        aside=aside,
        n_ordinary=sum(is_ordinary(pair) for pair in pairs),
        n_harder=sum(step > 0 for step in steps),
        n_easier=sum(step < 0 for step in steps),
        accepted=proportion(verdicts.count(Verdict.ACCEPTED), n),
        n_rework=verdicts.count(Verdict.REWORK),
        n_not_shown=verdicts.count(Verdict.NOT_SHOWN),
        passed=proportion(shown.count(Passed.YES), len(shown)),
        gone_out=proportion(sum(pair.comparison.would_have_gone_out for pair in judged), len(judged)),
        n_accepted_unjudged=len(own) - len(judged),
        catch=proportion(catches.caught, catches.n_faults),
        false_alarm=proportion(catches.false_alarm, catches.n_clean),
        n_not_looked=catches.not_looked,
        harmed=_worse(one for pair in pairs for one in changes_of(pair.received, pair.returned)),
        worse_own_eyes=_worse(one for pair in pairs for one in changes_of(pair.received, pair.finished)),
        worse_mentor_eyes=_worse(one for pair in pairs if pair.is_change_by_mentor for one in pair.changes),
        found=proportion(at_first.caught, at_first.n_faults),
        imagined=proportion(at_first.false_alarm, at_first.n_clean),
        n_found_not_looked=at_first.not_looked,
        minutes=_spread(
            [float(m) for pair in pairs if pair.assessed and (m := pair.assessed.work.minutes) is not None]
        ),
        removed_mm=_spread(
            [mm for pair in pairs if pair.assessed and (mm := pair.assessed.work.most_removed_mm) is not None]
        ),
        is_blind=round_.result.marking is not None and round_.result.marking.is_blind,
    )


def _worse(changes: Iterable[CriterionChange]) -> Proportion:
    """Harmed, of the criteria that count and can be told."""
    told = [one.change for one in changes if one.on.weight and one.change is not Change.CANNOT_TELL]
    return proportion(told.count(Change.HARMED), len(told))


def _spread(numbers: Sequence[float]) -> Spread:
    if not numbers:
        return Spread(0, None, None, None)
    return Spread(len(numbers), median(numbers), min(numbers), max(numbers))


def latest_pairs(line: LineUp, edge_types: Iterable[EdgeType] | None = None) -> LatestPairs:
    """The plain reading that stands beside every modelled chance: ordinary pairs only."""
    every = pairs_in_order(line, edge_types)
    found = [passed_of(pair) for _, pair in every if is_ordinary(pair)]
    shown = [one is Passed.YES for one in found if one is not Passed.NOT_SHOWN]
    latest = shown[-N_LATEST:]
    run = next((at for at, passed in enumerate(reversed(shown)) if not passed), len(shown))
    return LatestPairs(
        share=proportion(sum(latest), len(latest)),
        run=run,
        run_bound=zero_failure_lower_bound(run, RUN_CONFIDENCE),
        n_not_shown=len(found) - len(shown),
        n_passed=sum(shown),
        n_shown=len(shown),
        last_rounds=_last_rounds(every),
    )


def _last_rounds(every: Sequence[tuple[DatedRound, PairResult]]) -> Proportion:
    keys = list(dict.fromkeys(round_.key for round_, _ in every))[-2:]
    found = [passed_of(pair) for round_, pair in every if round_.key in keys]
    return proportion(found.count(Passed.YES), len(found) - found.count(Passed.NOT_SHOWN))

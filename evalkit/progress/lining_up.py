"""Rounds of one trainee put in the order of their dates; what cannot stand in that line is set aside and named."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from itertools import pairwise

from evalkit.domain.round import LegKind, RoundState
from evalkit.progress.results import PairResult, RoundResult

DAYS_IN_A_MONTH = 365.25 / 12


class DatedBy(StrEnum):
    """Which day stands for a round: the nearest that is known to the trainee's work on it."""

    RECEIVED_BACK = "the day it came back"
    MARKED = "the day it was marked"
    RETURNED = "the day it was posted back"
    PLANNED = "the day it was planned"


class Aside(StrEnum):
    """Why a round is not part of the history."""

    NOT_MARKED = "not marked yet"
    LOST = "lost on the way"
    MARKED_TWICE = "another marking of the same round counts"
    OTHER_LADDER = "judged on another ladder of levels, which cannot be mixed with this one"
    OTHER_TRAINEE = "another trainee's round"


@dataclass(frozen=True, slots=True)
class SetAside:
    """A round that is not part of the history, and why."""

    result: RoundResult
    why: Aside


@dataclass(frozen=True, slots=True)
class DatedRound:
    """A marked round in its place: `months` since the first round of the line."""

    result: RoundResult
    on: date
    dated_by: DatedBy
    months: float

    @property
    def key(self) -> str:
        return self.result.round.key

    @property
    def marked(self) -> tuple[PairResult, ...]:
        """Graded pairs that the mentor has marked."""
        return tuple(pair for pair in self.result.graded if pair.marked is not None)


@dataclass(frozen=True, slots=True)
class CriteriaChange:
    """Criteria that a round's rubric has and the one before had not, or the other way round; newest names by key."""

    round_key: str
    added: dict[str, str]
    dropped: dict[str, str]


@dataclass(frozen=True, slots=True)
class LineUp:
    """The history's rounds, oldest first. `levels` words the ladder, `fit` is the level fit for a customer."""

    rounds: tuple[DatedRound, ...]
    set_aside: tuple[SetAside, ...]
    levels: tuple[str, ...]
    fit: int
    changes: tuple[CriteriaChange, ...]
    doubtful_dates: tuple[str, ...]
    """Keys of rounds whose dates contradict each other."""

    @property
    def names(self) -> dict[str, str]:
        """Name of every criterion by key, in the newest rubric that has it: one key has one name on every page."""
        return _names([round_.result for round_ in self.rounds])

    def with_rounds(self, results: Sequence[RoundResult]) -> LineUp:
        """This line holding other rounds, on the same ladder."""
        return replace(self, rounds=_dated(results))


def line_up(results: Sequence[RoundResult], trainee_key: str) -> LineUp:
    """Put the marked rounds of one trainee in order. A round marked twice stands once; ladders are not mixed.

    The ladder is that of the newest round. Of two markings of one round the one by the round's own mentor counts.
    """
    mine, strangers = _split(results, lambda one: one.round.trainee.key == trainee_key)
    marked, unmarked = _split(mine, lambda one: one.marking is not None and bool(one.marking.pairs))
    once, twice = _each_once(marked)
    ordered = sorted(once, key=lambda one: (day_of(one)[0], one.round.planned_on, one.round.key))
    ladder = _ladder(ordered[-1]) if ordered else None
    kept, others = _split(ordered, lambda one: _ladder(one) == ladder)
    newest = kept[-1].rubric if kept else None
    aside = [
        *(SetAside(one, Aside.OTHER_TRAINEE) for one in strangers),
        *(SetAside(one, Aside.LOST if _is_lost(one) else Aside.NOT_MARKED) for one in unmarked),
        *(SetAside(one, Aside.MARKED_TWICE) for one in twice),
        *(SetAside(one, Aside.OTHER_LADDER) for one in others),
    ]
    return LineUp(
        rounds=_dated(kept),
        set_aside=tuple(aside),
        levels=newest.levels if newest else (),
        fit=newest.fit if newest else 0,
        changes=_changes(kept),
        doubtful_dates=tuple(one.round.key for one in kept if _is_doubtful(one)),
    )


def day_of(result: RoundResult) -> tuple[date, DatedBy]:
    """The day that stands for a round: back with the mentor, else marked, else posted back, else planned."""
    round_ = result.round
    found = (
        (round_.leg_on(LegKind.RECEIVED_BACK), DatedBy.RECEIVED_BACK),
        (result.marking.marked_on if result.marking else None, DatedBy.MARKED),
        (round_.leg_on(LegKind.RETURNED), DatedBy.RETURNED),
    )
    return next(((day, by) for day, by in found if day is not None), (round_.planned_on, DatedBy.PLANNED))


def months_between(first: date, last: date) -> float:
    """Mean months of the calendar."""
    return (last - first).days / DAYS_IN_A_MONTH


def _split(
    results: Iterable[RoundResult], holds: Callable[[RoundResult], bool]
) -> tuple[list[RoundResult], list[RoundResult]]:
    yes: list[RoundResult] = []
    no: list[RoundResult] = []
    for one in results:
        (yes if holds(one) else no).append(one)
    return yes, no


def _each_once(results: Sequence[RoundResult]) -> tuple[list[RoundResult], list[RoundResult]]:
    kept: dict[str, RoundResult] = {}
    twice = []
    for one in results:
        other = kept.get(one.round.key)
        if other is None:
            kept[one.round.key] = one
        elif _standing(one) > _standing(other):
            kept[one.round.key] = one
            twice.append(other)
        else:
            twice.append(one)
    return list(kept.values()), twice


def _standing(result: RoundResult) -> tuple[bool, date]:
    """The marking of the round's own mentor first, then the later one."""
    marking = result.marking
    if marking is None:
        return False, date.min
    return marking.mentor_key == result.round.mentor.key, marking.marked_on or date.min


def _is_lost(result: RoundResult) -> bool:
    return result.round.state is RoundState.LOST


def _ladder(result: RoundResult) -> tuple[int, int]:
    return result.rubric.top, result.rubric.fit


def _dated(results: Sequence[RoundResult]) -> tuple[DatedRound, ...]:
    if not results:
        return ()
    first, _ = day_of(results[0])
    return tuple(DatedRound(one, day, by, months_between(first, day)) for one in results for day, by in (day_of(one),))


def _names(results: Sequence[RoundResult]) -> dict[str, str]:
    """By key; a later rubric's name stands over an earlier one's."""
    return {one.key: one.name for result in results for one in result.rubric.criteria}


def _changes(results: Sequence[RoundResult]) -> tuple[CriteriaChange, ...]:
    changes, names = [], _names(results)
    for before, after in pairwise(results):
        old = [one.key for one in before.rubric.criteria]
        new = [one.key for one in after.rubric.criteria]
        added = {key: names[key] for key in new if key not in old}
        dropped = {key: names[key] for key in old if key not in new}
        if added or dropped:
            changes.append(CriteriaChange(after.round.key, added, dropped))
    return tuple(changes)


def _is_doubtful(result: RoundResult) -> bool:
    """A box that came back before it was sent, or was marked before it was back."""
    legs = [leg.happened_on for leg in result.round.legs]
    back = result.round.leg_on(LegKind.RECEIVED_BACK)
    marked = result.marking.marked_on if result.marking else None
    return legs != sorted(legs) or (back is not None and marked is not None and marked < back)

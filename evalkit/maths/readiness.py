"""The sequential decision: ready, not yet, undecided, or not enough evidence. Numbers in, one frozen answer out.

READY needs the chance of being at the target to reach the confidence at two round ends in a row after a lead-in, enough
pairs, enough scored cells on every must-pass criterion, ordinary pairs among them (or an answer that does not hang on
the worth of a step of difficulty), and an answer that does not hang on the prior. NOT YET needs the opposite chance.
The decision itself is the mentor's; this is what the numbers say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import assert_never

from evalkit.maths.errors import UnusableInputError


class Answer(StrEnum):
    """What the numbers say."""

    READY = "ready"
    NOT_YET = "not yet"
    UNDECIDED = "undecided"
    NOT_ENOUGH_EVIDENCE = "not enough evidence"


class Lack(StrEnum):
    """What stands between the evidence and an answer."""

    PAIRS = "pairs"
    """Too few pairs."""
    CELLS = "cells"
    """A must-pass criterion was scored too seldom; `criterion` says which."""
    ORDINARY_PAIRS = "ordinary pairs"
    """Too few ordinary pairs, and the answer hangs on what a step of difficulty is worth."""
    CHANCE = "chance"
    """The chance of being at the target lies between the two limits."""
    ROUND_ENDS = "round ends"
    """The chance reached its limits at too few round ends in a row, the lead-in counted with them."""
    PRIOR = "prior"
    """The answer changes when the initial mean is moved."""


@dataclass(frozen=True, slots=True)
class Rule:
    """The limits of the decision."""

    confidence: float = 0.9
    min_pairs: int = 20
    min_cells: int = 10
    min_ordinary_pairs: int = 5
    ends_in_a_row: int = 2
    """At so many round ends in a row the chance must reach the confidence ..."""
    lead_in: float | None = 0.85
    """... and at the one before them this, so that a jump is not taken for a standing; None asks for no lead-in.

    In simulations, two in a row alone signed off 9 % of trainees at .79 where the levels are narrow (limit 5 %); with
    a lead-in of .80 it was 4 %, of .85 2 %. See tests/bench/readiness_rates.py.
    """

    @property
    def ends_needed(self) -> int:
        """Round ends that READY looks at."""
        return self.ends_in_a_row + (self.lead_in is not None)

    def __post_init__(self) -> None:
        if not 0.5 < self.confidence < 1:
            raise UnusableInputError(f"The confidence must lie between 0.5 and 1, not {self.confidence}.")
        if self.ends_in_a_row < 1:
            raise UnusableInputError(f"At least one round end is needed, not {self.ends_in_a_row}.")
        if self.lead_in is not None and not 0 <= self.lead_in <= self.confidence:
            raise UnusableInputError(f"The lead-in must lie between 0 and the confidence, not {self.lead_in}.")


@dataclass(frozen=True, slots=True)
class RoundEnd:
    """What was known at the end of a round, from that round and those before it."""

    prob_at_target: float
    """Chance that the joint pass chance is at least the target."""
    n_pairs: int
    n_ordinary_pairs: int
    n_cells: tuple[int, ...]
    """Scored cells of each must-pass criterion."""
    prior_moved: tuple[float, ...] | None = None
    """The same chance with the initial mean moved down and up; None where it was not asked."""
    difficulty_moved: tuple[float, ...] | None = None
    """The same chance with the worth of a step of difficulty moved down and up; None where it was not asked."""


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that would change the answer: how much there is, and how much it would take."""

    lack: Lack
    have: float
    need: float
    criterion: int | None = None
    """Position among the must-pass criteria, for Lack.CELLS."""


@dataclass(frozen=True, slots=True)
class Readiness:
    """The answer, and every number it rests on."""

    answer: Answer
    ends: tuple[RoundEnd, ...]
    """The round ends the answer looked at, oldest first."""
    rule: Rule
    ends_at_limit: int
    """Round ends in a row, up to the last, at which the chance reached the confidence."""
    settled_against_prior: bool | None
    """Whether moving the initial mean leaves the answer as it is; None where it was not asked."""
    settled_against_difficulty: bool | None
    """Whether moving the worth of a step of difficulty does; None where it was not asked."""
    needs: tuple[Need, ...]
    """What would change the answer; empty when READY."""


def decide(ends: Sequence[RoundEnd], rule: Rule | None = None) -> Readiness:
    """Apply the rule to the round ends so far, oldest first; the last needs `prior_moved`.

    Without any round end, or without a must-pass criterion, there is not enough evidence, never an error.
    """
    rule = rule or Rule()
    if not ends:
        lacking = Need(Lack.PAIRS, 0, rule.min_pairs)
        return Readiness(Answer.NOT_ENOUGH_EVIDENCE, (), rule, 0, None, None, (lacking,))
    for end in ends:
        _check(end)
    last = ends[-1]
    leaning = _leaning(last.prob_at_target, rule)
    prior = _stays(leaning, last.prior_moved, rule)
    difficulty = _stays(leaning, last.difficulty_moved, rule)
    at_limit = _at_limit(ends, rule)
    scarce = _scarcity(last, rule, settled_against_difficulty=difficulty)
    open_points = _open_points(last, rule, leaning, _in_standing(ends, rule), settled_against_prior=prior)
    if scarce:
        answer = Answer.NOT_ENOUGH_EVIDENCE
    elif open_points:
        answer = Answer.UNDECIDED
    else:
        answer = leaning
    needs = (*scarce, *open_points, *_from_not_yet(answer, last, rule))
    looked_at = tuple(ends[-max(rule.ends_needed, at_limit) :])
    return Readiness(answer, looked_at, rule, at_limit, prior, difficulty, needs)


def _check(end: RoundEnd) -> None:
    for chance in (end.prob_at_target, *(end.prior_moved or ()), *(end.difficulty_moved or ())):
        if not 0 <= chance <= 1:
            raise UnusableInputError(f"A chance must lie between 0 and 1, not {chance}.")


def _leaning(prob: float, rule: Rule) -> Answer:
    if prob >= rule.confidence:
        return Answer.READY
    return Answer.NOT_YET if prob <= 1 - rule.confidence else Answer.UNDECIDED


def _stays(leaning: Answer, moved: tuple[float, ...] | None, rule: Rule) -> bool | None:
    return None if moved is None else all(_leaning(prob, rule) is leaning for prob in moved)


def _at_limit(ends: Sequence[RoundEnd], rule: Rule) -> int:
    count = 0
    for end in reversed(ends):
        if end.prob_at_target < rule.confidence:
            break
        count += 1
    return count


def _in_standing(ends: Sequence[RoundEnd], rule: Rule) -> int:
    """How many of the round ends that READY looks at are as it wants them, counted from the last."""
    limits = [rule.confidence] * rule.ends_in_a_row + ([] if rule.lead_in is None else [rule.lead_in])
    count = 0
    for end, limit in zip(reversed(ends), limits, strict=False):
        if end.prob_at_target < limit:
            break
        count += 1
    return count


def _scarcity(last: RoundEnd, rule: Rule, *, settled_against_difficulty: bool | None) -> tuple[Need, ...]:
    needs = []
    if last.n_pairs < rule.min_pairs:
        needs.append(Need(Lack.PAIRS, last.n_pairs, rule.min_pairs))
    if not last.n_cells:
        needs.append(Need(Lack.CELLS, 0, rule.min_cells))
    needs += [Need(Lack.CELLS, n, rule.min_cells, c) for c, n in enumerate(last.n_cells) if n < rule.min_cells]
    if last.n_ordinary_pairs < rule.min_ordinary_pairs and not settled_against_difficulty:
        needs.append(Need(Lack.ORDINARY_PAIRS, last.n_ordinary_pairs, rule.min_ordinary_pairs))
    return tuple(needs)


def _open_points(
    last: RoundEnd, rule: Rule, leaning: Answer, in_standing: int, *, settled_against_prior: bool | None
) -> tuple[Need, ...]:
    needs = []
    match leaning:
        case Answer.READY:
            if in_standing < rule.ends_needed:
                needs.append(Need(Lack.ROUND_ENDS, in_standing, rule.ends_needed))
        case Answer.UNDECIDED:
            needs.append(Need(Lack.CHANCE, last.prob_at_target, rule.confidence))
        case Answer.NOT_YET | Answer.NOT_ENOUGH_EVIDENCE:
            pass
        case _:
            assert_never(leaning)
    if leaning is not Answer.UNDECIDED and not settled_against_prior:
        worst = last.prob_at_target if last.prior_moved is None else _farthest(leaning, last.prior_moved)
        needs.append(Need(Lack.PRIOR, worst, _limit(leaning, rule)))
    return tuple(needs)


def _farthest(leaning: Answer, moved: tuple[float, ...]) -> float:
    return min(moved) if leaning is Answer.READY else max(moved)


def _limit(leaning: Answer, rule: Rule) -> float:
    return rule.confidence if leaning is Answer.READY else 1 - rule.confidence


def _from_not_yet(answer: Answer, last: RoundEnd, rule: Rule) -> tuple[Need, ...]:
    if answer is not Answer.NOT_YET:
        return ()
    return (Need(Lack.CHANCE, last.prob_at_target, rule.confidence),)

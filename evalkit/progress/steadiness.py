"""The mentor's own steadiness: pairs for a blind second marking, and how the two markings agree."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from random import Random

from evalkit.domain.grading import CriterionGrade, PairGrade
from evalkit.domain.marking import Marking
from evalkit.domain.verdict import Verdict
from evalkit.errors import InputError
from evalkit.maths.agreement import Kappa, cohen_kappa
from evalkit.maths.proportions import Proportion, proportion
from evalkit.progress.agreeing import MIN_PAIRS
from evalkit.progress.results import PairResult, RoundResult, answer_round


@dataclass(frozen=True, slots=True)
class Pick:
    """A pair to mark a second time. What it got the first time is left out on purpose."""

    round_key: str
    number: int
    tag: str
    pair: str


@dataclass(frozen=True, slots=True)
class CriterionSteadiness:
    """One criterion in both markings: how often the level was the same, and by how much the second lay higher."""

    key: str
    name: str
    same: Proportion
    mean_by: float


@dataclass(frozen=True, slots=True)
class Steadiness:
    """Two markings of the same pairs. `kappa` (quadratic, full scale) is None under MIN_PAIRS pairs: counts only.

    `by` is the mean of second less first level over pairs, `by_error` its standard error from the spread between
    pairs (None under MIN_PAIRS); `table` counts [first][second].
    """

    first: str
    second: str
    """Keys of who marked; the same for a mentor's own steadiness."""
    n_pairs: int
    n_levels: int
    same: Proportion
    within_one: Proportion
    same_verdict: Proportion
    """Of the pairs on which both markings show accepted or rework."""
    kappa: Kappa | None
    by: float | None
    by_error: float | None
    criteria: tuple[CriterionSteadiness, ...]
    table: tuple[tuple[int, ...], ...]

    @property
    def is_own(self) -> bool:
        return self.first == self.second


@dataclass(frozen=True, slots=True)
class Repeat:
    """One pair in two markings of it."""

    round_key: str
    planned_on: date
    first_by: str
    second_by: str
    first: PairGrade
    second: PairGrade
    top: int


def pick_for_second_marking(
    results: Sequence[RoundResult], *, n: int, seed: int, done: Collection[tuple[str, int]] = ()
) -> tuple[Pick, ...]:
    """Up to `n` marked pairs, drawn by `seed` and spread over the levels they got, in the order of their numbers.

    `done` holds (round, number) of pairs that were marked twice already. Raises InputError when none is left.
    """
    rungs: dict[int, list[tuple[RoundResult, PairResult]]] = {}
    for result in results:
        for pair in result.graded:
            rung = _rung(pair.returned)
            if pair.marked is not None and rung is not None and (result.round.key, pair.number) not in done:
                rungs.setdefault(rung, []).append((result, pair))
    if not rungs:
        raise InputError(
            "no marked pair is left to mark a second time.", mend="Mark a round first, or name another round."
        )
    luck = Random(seed)  # noqa: S311 - a draw that can be repeated, not a secret
    for pairs in rungs.values():
        luck.shuffle(pairs)
    order = sorted(rungs)
    luck.shuffle(order)
    picked: list[tuple[RoundResult, PairResult]] = []
    while len(picked) < n and any(rungs.values()):
        picked += [rungs[rung].pop() for rung in order if rungs[rung]][: n - len(picked)]
    picked.sort(key=lambda one: (one[0].round.key, one[1].number))
    return tuple(
        Pick(result.round.key, pair.number, pair.numbered.pair.tag, pair.numbered.pair.words) for result, pair in picked
    )


def _rung(grade: PairGrade) -> int | None:
    """The lowest settled level of a criterion that counts; None when none is settled."""
    return min((one.level for one in grade.criteria if one.counts and one.level is not None), default=None)


def repeats_of(first: RoundResult, second: Marking) -> tuple[Repeat, ...]:
    """The pairs that stand in both markings of a round. Raises InputError when `second` is not of that round."""
    if second.round_key != first.round.key or second.rubric_digest != first.round.rubric_digest:
        raise InputError(
            f"this marking is of round {second.round_key}, or by another rubric.",
            mend="Give the second marking of the same round.",
            where=f"round {first.round.key}",
        )
    if first.marking is None:
        return ()
    again = {pair.number: pair for pair in answer_round(first.round, first.rubric, None, second).pairs if pair.marked}
    return tuple(
        Repeat(
            first.round.key,
            first.round.planned_on,
            first.marking.mentor_key,
            second.mentor_key,
            pair.returned,
            again[pair.number].returned,
            first.rubric.top,
        )
        for pair in first.pairs
        if pair.marked is not None and pair.number in again
    )


def steadiness_of(repeats: Sequence[Repeat]) -> tuple[Steadiness, ...]:
    """One answer for each couple of who marked first and who second, own steadiness first.

    A criterion bears the name that the newest of these rounds gives it: one key has one name on every page.
    """
    in_order = sorted(repeats, key=lambda one: (one.planned_on, one.round_key))
    names = {grade.key: grade.on.name for one in in_order for grade in one.first.criteria}
    couples = sorted({(one.first_by, one.second_by) for one in repeats}, key=lambda who: (who[0] != who[1], who))
    return tuple(
        _steadiness(*couple, [one for one in repeats if (one.first_by, one.second_by) == couple], names)
        for couple in couples
    )


def _steadiness(first: str, second: str, repeats: Sequence[Repeat], names: Mapping[str, str]) -> Steadiness:
    by_pair = [found for one in repeats if (found := _levels_of(one))]
    levels = [both for found in by_pair for both in found]
    top = max(one.top for one in repeats)
    table = [[0] * (top + 1) for _ in range(top + 1)]
    for _, a, b in levels:
        table[a][b] += 1
    shifts = [sum(b - a for _, a, b in found) / len(found) for found in by_pair]
    verdicts = [
        one.first.verdict is one.second.verdict
        for one in repeats
        if Verdict.NOT_SHOWN not in (one.first.verdict, one.second.verdict)
    ]
    is_enough = len(by_pair) >= MIN_PAIRS
    return Steadiness(
        first=first,
        second=second,
        n_pairs=len(by_pair),
        n_levels=len(levels),
        same=proportion(sum(a == b for _, a, b in levels), len(levels)),
        within_one=proportion(sum(abs(a - b) <= 1 for _, a, b in levels), len(levels)),
        same_verdict=proportion(sum(verdicts), len(verdicts)),
        kappa=cohen_kappa(table, weights="quadratic") if is_enough else None,
        by=sum(shifts) / len(shifts) if shifts else None,
        by_error=_error(shifts) if is_enough else None,
        criteria=_by_criterion(levels, names),
        table=tuple(tuple(row) for row in table),
    )


def _levels_of(repeat: Repeat) -> list[tuple[CriterionGrade, int, int]]:
    again = {one.key: one.level for one in repeat.second.criteria}
    return [
        (one, one.level, b)
        for one in repeat.first.criteria
        if one.counts and one.level is not None and (b := again.get(one.key)) is not None
    ]


def _by_criterion(
    levels: Sequence[tuple[CriterionGrade, int, int]], names: Mapping[str, str]
) -> tuple[CriterionSteadiness, ...]:
    found: dict[str, list[tuple[CriterionGrade, int, int]]] = {}
    for one in levels:
        found.setdefault(one[0].key, []).append(one)
    return tuple(
        CriterionSteadiness(
            key=key,
            name=names[key],
            same=proportion(sum(a == b for _, a, b in rows), len(rows)),
            mean_by=sum(b - a for _, a, b in rows) / len(rows),
        )
        for key, rows in found.items()
    )


def _error(shifts: Sequence[float]) -> float:
    n = len(shifts)
    mean = sum(shifts) / n
    variance = sum((shift - mean) ** 2 for shift in shifts) / (n - 1)
    return float((variance / n) ** 0.5)

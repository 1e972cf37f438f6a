"""A whole round summed up: verdicts counted, the mean score with its range, and what to practise next."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from evalkit.domain.criterion import CriterionOn
from evalkit.domain.grading import PairGrade
from evalkit.domain.verdict import Verdict

MUST_PASS_FACTOR = 2
N_PRIORITIES = 3


@dataclass(frozen=True, slots=True)
class Priority:
    """What to practise: weight x shortfall x share of pairs, doubled for a must-pass.

    `shortfall` is the mean number of levels below fit on the pairs that fall short; `n_short` of `n_seen` pairs do.
    """

    on: CriterionOn
    shortfall: float
    n_short: int
    n_seen: int
    numbers: tuple[int, ...]

    @property
    def size(self) -> float:
        doubled = MUST_PASS_FACTOR if self.on.criterion.must_pass is not None else 1
        return self.on.criterion.weight * self.shortfall * (self.n_short / self.n_seen) * doubled


@dataclass(frozen=True, slots=True)
class MeanScore:
    """Means over graded pairs: of what was seen (over the `n_seen` pairs with something seen), and of the range."""

    seen: float | None
    lo: float
    hi: float
    n_pairs: int
    n_seen: int


@dataclass(frozen=True, slots=True)
class RoundTally:
    """The round in figures. `missed_most` counts pairs that surely miss each must-pass, most first."""

    verdicts: dict[Verdict, int]
    score: MeanScore | None
    missed_most: tuple[tuple[CriterionOn, int], ...]
    priorities: tuple[Priority, ...]


def tally_round(grades: Sequence[PairGrade], *, fit: int) -> RoundTally:
    """Sum up the graded pairs of a round; pairs outside the average are not among them."""
    return RoundTally(
        verdicts={verdict: sum(grade.verdict is verdict for grade in grades) for verdict in Verdict},
        score=mean_score(grades),
        missed_most=_missed_most(grades),
        priorities=priorities_of(grades, fit=fit)[:N_PRIORITIES],
    )


def mean_score(grades: Sequence[PairGrade]) -> MeanScore | None:
    """None when there is no graded pair."""
    if not grades:
        return None
    seen = [grade.score.seen for grade in grades if grade.score.seen is not None]
    return MeanScore(
        seen=_mean(seen) if seen else None,
        lo=_mean([grade.score.lo for grade in grades]),
        hi=_mean([grade.score.hi for grade in grades]),
        n_pairs=len(grades),
        n_seen=len(seen),
    )


def priorities_of(grades: Iterable[PairGrade], *, fit: int) -> tuple[Priority, ...]:
    """Every criterion that surely falls short of fit somewhere, the one to practise first in front."""
    seen: dict[str, int] = {}
    short: dict[str, list[tuple[CriterionOn, int, int]]] = {}
    for pair in grades:
        for grade in pair.criteria:
            if not grade.counts or grade.seen is None or grade.is_transit:
                continue
            if grade.hi < fit:
                short.setdefault(grade.key, []).append((grade.on, pair.number, fit - grade.hi))
            elif grade.lo < fit:
                continue
            seen[grade.key] = seen.get(grade.key, 0) + 1
    found = [
        Priority(
            on=falls[0][0],
            shortfall=_mean([by for _, _, by in falls]),
            n_short=len(falls),
            n_seen=seen[key],
            numbers=tuple(sorted(number for _, number, _ in falls)),
        )
        for key, falls in short.items()
    ]
    return tuple(sorted(found, key=lambda priority: (-priority.size, priority.on.key)))


def _missed_most(grades: Iterable[PairGrade]) -> tuple[tuple[CriterionOn, int], ...]:
    counts: dict[str, tuple[CriterionOn, int]] = {}
    for pair in grades:
        for grade in pair.missed:
            if grade.on.must_pass is not None:
                on, n = counts.get(grade.key, (grade.on, 0))
                counts[grade.key] = (on, n + 1)
    return tuple(sorted(counts.values(), key=lambda found: (-found[1], found[0].key)))


def _mean(numbers: Sequence[float]) -> float:
    return math.fsum(numbers) / len(numbers)  # exact before it divides, so the order of pairs cannot show

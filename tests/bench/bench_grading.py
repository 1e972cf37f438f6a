"""What it costs to grade and compare one round of 12 pairs x 14 criteria x 6 places, beside pydantic reading it.

Both sides of the ratio handle the same readings: the trainee's as finished and the mentor's as returned. The runs are
interleaved, so that a busy machine slows both alike, and medians of processor time are taken. Not a test: it prints
figures and judges none.

    python -m tests.bench.bench_grading
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Sequence
from decimal import Decimal
from statistics import median

from pydantic import TypeAdapter

from evalkit.domain.bands import Band, Limit, LimitOf
from evalkit.domain.comparing import Catches, compare_pair, count_catches
from evalkit.domain.criterion import Combine, Criterion, Kind
from evalkit.domain.grading import grade_round_stage
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Pair, Station
from evalkit.domain.reading import (
    CutResult,
    Medium,
    NotSeen,
    Reading,
    Seen,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Stage,
    Unseen,
)
from evalkit.domain.rubric import Rubric

N_PAIRS = 12
N_CRITERIA = 14
REPEATS = 41
ALLOWED = 2.0
"""Grading and comparing may cost this many times what validating the same readings costs."""

READINGS = TypeAdapter(tuple[Reading, ...])
WORDS = ("fails", "works in part", "fit for a customer", "as new")
CUTS = {
    CutResult.CLEAN: 3, CutResult.CATCH: 1, CutResult.FOLD: 0, CutResult.PUSH: 1, CutResult.TEAR: 0,
    CutResult.NOT_CUT: 0,
}  # fmt: skip
Sides = tuple[tuple[Reading, ...], tuple[Reading, ...]]


def bench_rubric() -> Rubric:
    """Eight judged, three measured and three cut criteria, each read at six places, with limits and must-passes."""
    return Rubric(
        key="bench", name="Bench", levels=WORDS, criteria=tuple(_criterion(at) for at in range(N_CRITERIA))
    )  # fmt: skip


def _criterion(at: int) -> Criterion:
    kind = Kind.CUT if at % 5 == 3 else Kind.MEASURED if at % 3 == 2 else Kind.JUDGED
    own: dict[str, object] = {}
    if kind is Kind.MEASURED:
        own["unit"] = Unit.DEG_INCLUDED
        own["bands"] = (Band(level=3, low=43, high=47), Band(level=2, low=40, high=50), Band(level=1, low=35, high=55))
        own["limits"] = (Limit(of=LimitOf.SPREAD, at_most={2: 4.0, 3: 2.0}),)
    elif kind is Kind.CUT:
        own["media"] = (Medium.DRY_TISSUE,)
        own["cuts"] = CUTS
        own["push_mm"] = {2: 1.0, 1: 5.0}
    else:
        own["limits"] = (Limit(of=LimitOf.FAILING, at_most={2: 0.0, 1: 2.0}),) if at % 2 else ()
    return Criterion.model_validate(
        {
            "key": f"criterion-{at}", "name": f"Criterion {at}", "kind": kind, "levels": WORDS,
            "blades": tuple(Blade), "stations": tuple(Station), "combine": tuple(Combine)[at % 3],
            "weight": 1 + at % 4, "must_pass": 2 if at % 4 == 0 else None, **own,
        }
    )  # fmt: skip


def bench_pairs() -> tuple[tuple[int, Pair], ...]:
    """Twelve numbered pairs."""
    return tuple(
        (number, Pair(tag=f"P{number}", edge_type=EdgeType.CONVEX, size_in=Decimal(6)))
        for number in range(1, N_PAIRS + 1)
    )  # fmt: skip


def bench_sides(rubric: Rubric, seed: int, *, unseen: float = 0.03) -> Sides:
    """Both sides' readings of one round, drawn at random; a share `unseen` of them says that nothing was seen."""
    dice = random.Random(seed)
    return _side(rubric, Stage.AS_FINISHED, dice, unseen), _side(rubric, Stage.AS_RETURNED, dice, unseen)


def _side(rubric: Rubric, stage: Stage, dice: random.Random, unseen: float) -> tuple[Reading, ...]:
    return tuple(
        Reading(
            number=number, stage=stage, criterion=on.key, blade=place.blade, station=place.station,
            seen=_seen(on.kind, dice, unseen),
        )
        for number in range(1, N_PAIRS + 1)
        for on in rubric.on(EdgeType.CONVEX)
        for place in on.places
    )  # fmt: skip


def _seen(kind: Kind, dice: random.Random, unseen: float) -> Seen:
    if dice.random() < unseen:
        return NotSeen(why=Unseen.NOT_TESTED)
    if kind is Kind.MEASURED:
        return SeenMeasure(number=round(dice.gauss(45, 1.5), 1), unit=Unit.DEG_INCLUDED, doubt=1.0)
    if kind is Kind.CUT:
        is_clean = dice.random() < 0.9
        cut = CutResult.CLEAN if is_clean else CutResult.PUSH
        return SeenCut(medium=Medium.DRY_TISSUE, result=cut, push_mm=None if is_clean else 0.5)
    return SeenLevel(level=dice.choices((1, 2, 3), (1, 20, 40))[0])


def grade_and_compare(rubric: Rubric, pairs: Sequence[tuple[int, Pair]], sides: Sides) -> Catches:
    """The work that is measured."""
    theirs = grade_round_stage(rubric, pairs, sides[0], Stage.AS_FINISHED)
    hers = grade_round_stage(rubric, pairs, sides[1], Stage.AS_RETURNED)
    return count_catches(
        tuple(
            compare_pair(trainee, mentor, own_verdict=None, fit=rubric.fit)
            for trainee, mentor in zip(theirs, hers, strict=True)
        )
    )


def seconds(work: Callable[[], object]) -> float:
    """How long one call takes."""
    begin = time.process_time()
    work()
    return time.process_time() - begin


def ratio_of(rubric: Rubric, sides: Sides) -> tuple[float, float]:
    """(median seconds of pydantic, median seconds of grading and comparing), interleaved."""
    pairs = bench_pairs()
    texts = [READINGS.dump_json(side) for side in sides]
    validating, grading = [], []
    for _ in range(REPEATS):
        validating.append(seconds(lambda: [READINGS.validate_json(text) for text in texts]))
        grading.append(seconds(lambda: grade_and_compare(rubric, pairs, sides)))
    return median(validating), median(grading)


def rounds_ms(rubric: Rubric, n_rounds: int, drawn: Sequence[Sides]) -> float:
    """Milliseconds per round over `n_rounds` rounds, one after the other."""
    pairs = bench_pairs()

    def work() -> None:
        for at in range(n_rounds):
            grade_and_compare(rubric, pairs, drawn[at % len(drawn)])

    return 1000 * seconds(work) / n_rounds


def costs_ms(rubric: Rubric) -> dict[int, float]:
    """Milliseconds per round over 10, 100 and 1000 rounds; the short runs are spread around the long one."""
    drawn = [bench_sides(rubric, seed) for seed in range(10)]
    found: dict[int, list[float]] = {}
    for n_rounds in [10, 100] * 5 + [1000] + [10, 100] * 5:
        found.setdefault(n_rounds, []).append(rounds_ms(rubric, n_rounds, drawn))
    return {n_rounds: sum(costs) / len(costs) for n_rounds, costs in found.items()}


def main() -> None:
    """Print the ratios, then the cost per round over more and more rounds."""
    rubric = bench_rubric()
    n = N_PAIRS * N_CRITERIA * 6
    print(f"One round: {N_PAIRS} pairs x {N_CRITERIA} criteria x 6 places, {n} readings on each side")
    for unseen in (0.0, 0.03, 0.5):
        validating, grading = ratio_of(rubric, bench_sides(rubric, seed=1, unseen=unseen))
        print(
            f"  {unseen:4.0%} not seen: validating {1000 * validating:6.2f} ms, grading and comparing"
            f" {1000 * grading:6.2f} ms, ratio {grading / validating:.2f} (at most {ALLOWED:g})"
        )
    costs = costs_ms(rubric)
    for n_rounds, cost in costs.items():
        print(f"  {n_rounds:5} rounds: {cost:6.2f} ms a round, {cost / costs[10]:.2f} x that of 10 rounds")


def test_figures_are_printed():
    """Reached by `make bench` only, because of this file's name."""
    main()


if __name__ == "__main__":
    main()

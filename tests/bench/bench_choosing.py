"""How long a box of 12 from 500 pairs takes: python -m tests.bench.bench_choosing.

The rival is one fit of the same trainee's skill, measured in the same run; the target is under 2 s.
"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")

import random
import time
from collections.abc import Callable
from decimal import Decimal

from evalkit.domain.pair import EdgeType, KnownFault, Pair
from evalkit.maths.skill import skill_mixture
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import read_observations
from evalkit.progress.box_candidates import Wish
from evalkit.progress.lining_up import line_up
from evalkit.progress.next_box import propose_box
from evalkit.progress.observing import observe
from evalkit.progress.results import RoundResult
from tests.progress.boxes import NIA, box, criterion, days_later, rubric

N_STOCK = 500
TARGET_S = 2.0
RUBRIC = rubric(*(criterion(f"c{at}", must_pass=2 if at < 8 else None) for at in range(14)))


def best_of(times: int, act: Callable[[], object]) -> float:
    """Seconds of processor time of the fastest of several runs, so that a busy machine does not count."""
    seconds = []
    for _ in range(times):
        start = time.process_time()
        act()
        seconds.append(time.process_time() - start)
    return min(seconds)


def stock(n: int = N_STOCK) -> list[Pair]:
    """Pairs of every edge type, some difficulties and 20 fault types, each with a value of its own to the cent."""
    luck = random.Random(4)
    return [
        Pair(
            tag=f"S-{at:04}",
            edge_type=luck.choice(list(EdgeType)),
            size_in=Decimal("5.5"),
            difficulty=luck.choice((1, 2, 2, 2, 2, 3, 3, 4, 5)),
            faults=tuple(KnownFault(tag=f"fault-{luck.randrange(20)}") for _ in range(luck.randint(1, 2))),
            declared_value=Decimal(luck.randint(800, 12_000)) / 100,
            currency="EUR",
        )
        for at in range(n)
    ]


def history() -> list[RoundResult]:
    """Six rounds of twelve pairs, as in the demo."""
    luck = random.Random(5)
    rows = [[{one.key: luck.choice((1, 2, 2, 3)) for one in RUBRIC.criteria} for _ in range(12)] for _ in range(6)]
    return [box(f"nia-{at}", levels, months=1.5 * at, by=RUBRIC) for at, levels in enumerate(rows)]


def main() -> None:
    """Print the figures."""
    results, pairs, today = history(), stock(), days_later(10)
    seen = read_observations(observe(line_up(results, NIA.key)).observations)
    fit = best_of(5, lambda: skill_mixture(seen, Hyper()))
    print(f"one fit of the trainee (6 rounds x 12 pairs x 14 criteria): {fit:.3f} s")
    for words, wish in (
        ("no limit", Wish(12)),
        ("value 400, 5 ordinary", Wish(12, 5, value_at_most=Decimal(400))),
        ("value 250, 6 ordinary, 2 sword, 2 toothed", Wish(12, 6, _two_kinds(), value_at_most=Decimal(250))),
        ("value 170, nearly the cheapest box", Wish(12, 0, value_at_most=Decimal(170))),
    ):
        for what, known in (("with a history", results), ("without one", [])):
            seconds = best_of(3, lambda w=wish, k=known: propose_box(NIA, k, pairs, {}, RUBRIC, w, today=today))
            said = "met" if seconds < TARGET_S else "MISSED"
            print(f"12 of {N_STOCK}, {words}, {what}: {seconds:.2f} s, {seconds / fit:.1f} fits; under 2 s: {said}")


def _two_kinds() -> dict[EdgeType, int]:
    return {kind: 2 if kind in (EdgeType.SWORD, EdgeType.TOOTHED) else 0 for kind in EdgeType}


if __name__ == "__main__":
    main()

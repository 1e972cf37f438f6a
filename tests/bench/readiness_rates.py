"""How often the readiness rule errs, on simulated trainees at a constant, known joint chance.

Run `python -m tests.bench.readiness_rates --trainees 400 --processes 2`. Each trainee is sent 10 pairs a month for a
year (120 pairs); after every round the whole rule is asked, gaps between levels learnt and the doubt about the worth
of difficulty carried, as in production. Printed: share signed off at any time, with a 95 % Wilson interval.
"""

from __future__ import annotations

import os

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # small matrices: one thread for each process is fastest

import argparse
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from evalkit.maths.readiness import Answer, RoundEnd, Rule, decide
from evalkit.maths.simulate import Boxes, Course, Setting, simulate_trainee
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.rounds import Outlook, checked, outlook, round_end, rule_of

HYPER = Hyper(
    draws=1024,
    tag_effect={"x": {"c0": 0.6, "c1": 0.6, "c2": 0.6}, "y": {"c3": 0.6, "c4": 0.6, "c5": 0.6}},
)
NARROW = (0.9, 0.9)
GRANTED = {"prior_moved": (1.0, 1.0), "n_ordinary_pairs": 99}


@dataclass(frozen=True)
class Cell:
    """One kind of trainee and the limit that holds for it."""

    name: str
    joint: float
    setting: Setting
    at_most: float | None = None
    at_least: float | None = None


@dataclass(frozen=True)
class Outcome:
    """When one trainee was signed off: by the whole rule, and by its chance part alone; 0 for never."""

    pairs: int
    pairs_by_chance: int
    not_yet_pairs: int


def cells() -> list[Cell]:
    """The promised cells, then cells that show the shape of the rule and what a wrong difficulty does."""
    kinds = {
        "mixed": Setting(),
        "easy only": Setting(boxes=Boxes.EASY),
        "hard only": Setting(boxes=Boxes.HARD),
        "narrow levels": Setting(gaps=NARROW),
    }
    promised = [
        Cell(name, joint, setting, at_most=limit if joint < 0.8 else None, at_least=limit if joint > 0.8 else None)
        for name, setting in kinds.items()
        for joint, limit in ((0.75, 0.01), (0.79, 0.05), (0.95, 0.98))
    ]
    shown = [Cell("mixed", joint, Setting()) for joint in (0.65, 0.70, 0.85, 0.90)]
    wrong = [
        Cell(f"{name}, true difficulty effect {effect}", joint, replace(setting, difficulty_effect=effect))
        for effect in (0.53, 1.2)
        for name, setting in kinds.items()
        if name != "narrow levels"
        for joint in (0.75, 0.79)
    ]
    asked = [
        Cell(f"{boxes.value}, then ordinary ones", joint, Setting(boxes=boxes))
        for boxes in (Boxes.EASY_FIRST, Boxes.HARD_FIRST)
        for joint in (0.75, 0.79, 0.95)
    ]
    wide = [Cell("wide upper level", joint, Setting(gaps=(1.8, 4.5))) for joint in (0.75, 0.79, 0.95)]
    return promised + shown + asked + wide + wrong


def follow(seen: Seen, hyper: Hyper, rule: Rule) -> Outcome:
    """Ask the rule after every round until it says READY."""
    ends: list[RoundEnd] = []
    base: Outlook | None = None
    by_chance = not_yet = 0
    for n in range(1, seen.n_rounds + 1):
        known = seen.through(n)
        base = outlook(known, hyper, base.log_gap if base else None)
        ends.append(round_end(known, base))
        pairs, now = ends[-1].n_pairs, ends[-1].prob_at_target
        # Only an answer that the chance part would give is worth the checks of prior and difficulty.
        agreed = decide([*ends[:-1], replace(ends[-1], **GRANTED)], rule).answer is Answer.READY
        by_chance = by_chance or (pairs if agreed else 0)
        if not agreed and (not_yet or now > 1 - rule.confidence):
            continue
        answer = decide([*ends[:-1], checked(ends[-1], known, hyper, base, rule)], rule).answer
        if answer is Answer.READY:
            return Outcome(pairs, by_chance, not_yet)
        not_yet = not_yet or (pairs if answer is Answer.NOT_YET else 0)
    return Outcome(0, by_chance, not_yet)


def _one(task: tuple[Cell, int]) -> Outcome:
    cell, seed = task
    rng = np.random.default_rng(seed)
    simulated = simulate_trainee(rng, cell.setting, HYPER, course=Course.CONSTANT, joint=cell.joint)
    return follow(simulated.seen, HYPER, rule_of(HYPER))


def wilson(count: int, n: int) -> tuple[float, float]:
    """95 % interval of a share."""
    z, p = 1.96, count / n
    centre, half = p + z * z / (2 * n), z * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return (centre - half) / (1 + z * z / n), (centre + half) / (1 + z * z / n)


def _line(cell: Cell, outcomes: list[Outcome], seconds: float) -> str:
    n = len(outcomes)
    signed = [o.pairs for o in outcomes if o.pairs]
    low, high = wilson(len(signed), n)
    share = len(signed) / n
    verdict = ""
    if cell.at_most is not None:
        verdict = f"at most {cell.at_most:.0%}: {'met' if share <= cell.at_most else 'MISSED'}"
    if cell.at_least is not None:
        verdict = f"at least {cell.at_least:.0%}: {'met' if share >= cell.at_least else 'MISSED'}"
    chance_only = sum(o.pairs_by_chance > 0 for o in outcomes) / n
    not_yet = sum(o.not_yet_pairs > 0 for o in outcomes) / n
    median = np.median(signed) if signed else float("nan")
    return (
        f"{cell.name:45s} {cell.joint:.2f}  {len(signed):4d}/{n:<4d} {share:6.3f} [{low:.3f}, {high:.3f}]  "
        f"chance part alone {chance_only:.3f}  told 'not yet' {not_yet:.3f}  "
        f"pairs {median:5.1f}  {seconds:5.0f} s  {verdict}"
    )


def main(arguments: Iterable[str] | None = None) -> None:
    """Print one line for each cell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trainees", type=int, default=400)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seed", type=int, default=31415)
    parser.add_argument("--only", default="", help="cells whose name begins so")
    parser.add_argument("--joint", type=float, nargs="*", help="only these true joint chances")
    parser.add_argument("--promised", action="store_true", help="only the cells that carry a limit")
    chosen = parser.parse_args(None if arguments is None else list(arguments))
    print("kind of box or scale, true joint chance, share signed off within 120 pairs")
    begun = time.time()
    with ProcessPoolExecutor(chosen.processes) as pool:
        for number, cell in enumerate(cells()):
            wanted = cell.name.startswith(chosen.only) and (not chosen.joint or cell.joint in chosen.joint)
            if not wanted or (chosen.promised and cell.at_most is cell.at_least is None):
                continue
            start = time.time()
            tasks = [(cell, chosen.seed * 1_000_003 + 10_007 * number + i) for i in range(chosen.trainees)]
            outcomes = list(pool.map(_one, tasks, chunksize=4))
            print(_line(cell, outcomes, time.time() - start), flush=True)
    print(f"{time.time() - begun:.0f} s in all, {chosen.trainees} trainees a cell, {chosen.processes} processes")


if __name__ == "__main__":
    main()

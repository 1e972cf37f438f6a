"""How often the readiness rule errs, on simulated trainees at a constant, known joint chance.

Run `python -m tests.bench.readiness_rates --trainees 400 --processes 2`. Each trainee is sent 10 pairs a month for a
year (120 pairs); after every round the whole rule is asked, gaps between levels learnt and the doubt about the worth
of difficulty carried, as in production. Printed: share signed off at any time, with a 95 % Wilson interval.

With `--school 5` five earlier trainees of the same school, six mixed boxes each, have first taught what a step of
difficulty and a level are worth, as `learn_from_school` lets them (a fresh school for every four trainees); without
it the defaults stand, with their doubt. It matters where a trainee is only ever sent easy pairs: whoever passes nearly
all of them shows neither.
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
from functools import lru_cache

import numpy as np

from evalkit.maths.readiness import Answer, RoundEnd, Rule, decide
from evalkit.maths.simulate import Boxes, Course, Setting, simulate_trainee
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.rounds import Outlook, checked, outlook, round_end, rule_of
from evalkit.maths.skill.school import learn_hyper

HYPER = Hyper(
    draws=1024,
    tag_effect={"x": {"c0": 0.6, "c1": 0.6, "c2": 0.6}, "y": {"c3": 0.6, "c4": 0.6, "c5": 0.6}},
)
NARROW = (0.9, 0.9)
SCHOOL_ROUNDS = 6
TAUGHT_BY_ONE = 4
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
    was_not_yet: bool = False
    """Whether it was told NOT YET at any round end, where that was asked."""


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


class Asked:
    """One trainee's round ends, each fitted only when it is asked for."""

    def __init__(self, seen: Seen, hyper: Hyper, rule: Rule) -> None:
        self._seen, self._hyper, self._rule = seen, hyper, rule
        self._known: dict[int, tuple[RoundEnd, Outlook]] = {}

    def end(self, n: int) -> RoundEnd:
        """The end of round n, without the checks."""
        if n not in self._known:
            known = self._seen.through(n)
            base = outlook(known, self._hyper)
            self._known[n] = round_end(known, base), base
        return self._known[n][0]

    def answer(self, n: int, *, is_checked: bool) -> Answer:
        """What the rule says after round n; unchecked: with ordinary pairs and the check of the prior granted."""
        ends = [self.end(k) for k in range(max(1, n - self._rule.ends_needed + 1), n + 1)]
        last = replace(ends[-1], **GRANTED)
        if is_checked:
            last = checked(ends[-1], self._seen.through(n), self._hyper, self._known[n][1], self._rule)
        return decide([*ends[:-1], last], self._rule).answer


def follow(seen: Seen, hyper: Hyper, rule: Rule) -> Outcome:
    """Ask the rule after every round until it says READY, passing over rounds after which it cannot."""
    asked = Asked(seen, hyper, rule)
    least = rule.confidence if rule.lead_in is None else rule.lead_in
    by_chance, n = 0, rule.ends_needed
    while n <= seen.n_rounds:
        end = asked.end(n)
        if end.prob_at_target < rule.confidence:
            # This end can serve later answers as their lead-in at most.
            n += rule.ends_needed - (end.prob_at_target >= least)
            continue
        if asked.answer(n, is_checked=False) is Answer.READY:
            by_chance = by_chance or end.n_pairs
            if asked.answer(n, is_checked=True) is Answer.READY:
                return Outcome(end.n_pairs, by_chance)
        n += 1
    return Outcome(0, by_chance)


def is_told_not_yet(seen: Seen, hyper: Hyper, rule: Rule) -> bool:
    """Whether the rule says NOT YET after any round."""
    asked = Asked(seen, hyper, rule)
    return any(
        asked.end(n).prob_at_target <= 1 - rule.confidence and asked.answer(n, is_checked=True) is Answer.NOT_YET
        for n in range(1, seen.n_rounds + 1)
    )


@lru_cache(maxsize=4)
def taught(setting: Setting, n_trainees: int, seed: int) -> Hyper:
    """What so many trainees of the same school have taught, each a skill walking as the model believes."""
    rng = np.random.default_rng([seed, n_trainees])
    earlier = replace(setting, n_rounds=SCHOOL_ROUNDS, boxes=Boxes.MIXED)
    return replace(
        learn_hyper([simulate_trainee(rng, earlier, HYPER).seen for _ in range(n_trainees)], HYPER).hyper,
        draws=HYPER.draws,
    )


def _one(task: tuple[Cell, int, int, bool]) -> Outcome:
    cell, seed, n_school, asks_not_yet = task
    rng = np.random.default_rng(seed)
    simulated = simulate_trainee(rng, cell.setting, HYPER, course=Course.CONSTANT, joint=cell.joint)
    known = taught(cell.setting, n_school, seed // TAUGHT_BY_ONE) if n_school else HYPER
    found = follow(simulated.seen, known, rule_of(known))
    return replace(found, was_not_yet=asks_not_yet and is_told_not_yet(simulated.seen, known, rule_of(known)))


def wilson(count: int, n: int) -> tuple[float, float]:
    """95 % interval of a share."""
    z, p = 1.96, count / n
    centre, half = p + z * z / (2 * n), z * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return (centre - half) / (1 + z * z / n), (centre + half) / (1 + z * z / n)


def _line(cell: Cell, outcomes: list[Outcome], seconds: float, *, asks_not_yet: bool) -> str:
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
    not_yet = f"told 'not yet' {sum(o.was_not_yet for o in outcomes) / n:.3f}  " if asks_not_yet else ""
    median = np.median(signed) if signed else float("nan")
    return (
        f"{cell.name:45s} {cell.joint:.2f}  {len(signed):4d}/{n:<4d} {share:6.3f} [{low:.3f}, {high:.3f}]  "
        f"chance part alone {chance_only:.3f}  {not_yet}"
        f"pairs {median:5.1f}  {seconds:5.0f} s  {verdict}"
    )


def main(arguments: Iterable[str] | None = None) -> None:
    """Print one line for each cell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trainees", type=int, default=400)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seed", type=int, default=31415)
    parser.add_argument("--school", type=int, default=0, help="so many earlier trainees (5 or more) have taught first")
    parser.add_argument("--not-yet", action="store_true", help="how often it says 'not yet', too: takes twice the time")
    parser.add_argument("--only", default="", help="cells whose name begins so")
    parser.add_argument("--joint", type=float, nargs="*", help="only these true joint chances")
    parser.add_argument("--promised", action="store_true", help="only the cells that carry a limit")
    chosen = parser.parse_args(None if arguments is None else list(arguments))
    known = f"learnt from {chosen.school} earlier trainees" if chosen.school else "the defaults, with their doubt"
    print(f"worth of difficulty and of levels: {known}; seed {chosen.seed}")
    print("kind of box or scale, true joint chance, share signed off within 120 pairs")
    begun = time.time()
    with ProcessPoolExecutor(chosen.processes) as pool:
        for number, cell in enumerate(cells()):
            wanted = cell.name.startswith(chosen.only) and (not chosen.joint or cell.joint in chosen.joint)
            if not wanted or (chosen.promised and cell.at_most is cell.at_least is None):
                continue
            start = time.time()
            first = chosen.seed * 1_000_003 + 10_007 * number
            tasks = [(cell, first + i, chosen.school, chosen.not_yet) for i in range(chosen.trainees)]
            outcomes = list(pool.map(_one, tasks, chunksize=4))
            print(_line(cell, outcomes, time.time() - start, asks_not_yet=chosen.not_yet), flush=True)
    print(f"{time.time() - begun:.0f} s in all, {chosen.trainees} trainees a cell, {chosen.processes} processes")


if __name__ == "__main__":
    main()

"""Whether the 80 % interval of the joint pass chance holds the truth 80 times in 100 when the model is true.

Run `python -m tests.bench.coverage --trainees 240 --processes 2`. Each trainee's skill walks as the model believes, and
what the model learns or doubts is drawn from its prior: the gaps between levels and the worth of a step of difficulty.
Asked after every round; also printed for the courses that the model does not believe in.
"""

from __future__ import annotations

import os

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # small matrices: one thread for each process is fastest

import argparse
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np

from evalkit.maths.simulate import Course, Setting, simulate_trainee
from evalkit.maths.skill import skill_path
from evalkit.maths.skill.hyper import Hyper

HYPER = Hyper(
    draws=1024,
    tag_effect={"x": {"c0": 0.6, "c1": 0.6, "c2": 0.6}, "y": {"c3": 0.6, "c4": 0.6, "c5": 0.6}},
)
NEAR = replace(HYPER, initial_mean=2.5)
ASKED_AFTER = (1, 2, 4, 6, 8)
# What is printed, the course, and the numbers that are both truth and prior.
KINDS = (
    ("walk", Course.WALK, HYPER),
    ("walk near the standard", Course.WALK, NEAR),
    ("steady", Course.STEADY, HYPER),
    ("plateau", Course.PLATEAU, HYPER),
    ("relapse", Course.RELAPSE, HYPER),
)


def _one(task: tuple[Course, Hyper, int]) -> list[tuple[bool, bool, float, float]]:
    """For each round end asked: truth inside 80 %, truth below it, chance given to being at the target, truth of it."""
    course, hyper, seed = task
    rng = np.random.default_rng(seed)
    gaps = np.exp(np.log(hyper.gap_median) + np.asarray(hyper.gap_log_sd) * rng.standard_normal(2))
    effect = hyper.difficulty_effect + hyper.difficulty_effect_sd * rng.standard_normal()
    setting = Setting(n_rounds=max(ASKED_AFTER), gaps=tuple(gaps.tolist()), difficulty_effect=float(effect))
    simulated = simulate_trainee(rng, setting, hyper, course=course)
    found = []
    for n in ASKED_AFTER:
        chance = skill_path(simulated.seen.through(n), hyper).chance
        truth = simulated.joint[n - 1]
        inside = chance.joint_lo80 <= truth <= chance.joint_hi80
        at_target = float(truth >= hyper.target)
        found.append((inside, truth < chance.joint_lo80, chance.prob_joint_at_least_target, at_target))
    return found


def main(arguments: Iterable[str] | None = None) -> None:
    """Print the figures, one line for each course and round end."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trainees", type=int, default=240)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seed", type=int, default=4711)
    parser.add_argument("--only-walk", action="store_true", help="only the course that the model believes in")
    chosen = parser.parse_args(None if arguments is None else list(arguments))
    kinds = [kind for kind in KINDS if kind[1] is Course.WALK or not chosen.only_walk]
    begun = time.time()
    print("course, after how many rounds, share of true joint chances inside the 80 % interval (below it, above it)")
    with ProcessPoolExecutor(chosen.processes) as pool:
        for name, course, hyper in kinds:
            tasks = [(course, hyper, chosen.seed * 100_003 + i) for i in range(chosen.trainees)]
            found = np.array(list(pool.map(_one, tasks, chunksize=4)))
            for k, n in enumerate((*ASKED_AFTER, 0)):
                part = found[:, k] if n else found.reshape(-1, 4)
                inside, below, prob, at = part.mean(axis=0)
                said = "met" if 0.75 <= inside <= 0.85 else "MISSED"
                verdict = f"75 to 85 %: {said}" if course is Course.WALK and not n else ""
                when = f"after {n:2d} rounds" if n else "all together   "
                print(
                    f"{name:22s} {when}  {inside:.3f} ({below:.3f}, {1 - inside - below:.3f})  "
                    f"mean chance of being at the target {prob:.3f}, true share {at:.3f}  {verdict}",
                    flush=True,
                )
    print(f"{time.time() - begun:.0f} s in all, {chosen.trainees} trainees a course, {chosen.processes} processes")


if __name__ == "__main__":
    main()

"""The speed of the skill model, as ratios in one run, and the time and memory of a school.

Run `python -m tests.bench.bench_skill`. Prints: one trainee, 24 rounds x 10 pairs x 12 criteria, against NUTS with
4 x 1,000 draws (NumPyro, when it is installed) and against one statsmodels OrderedModel for each criterion and round;
10,000 trainees x 8 rounds x 10 pairs x 10 criteria at given hyper-parameters; empirical Bayes from 200 of them; what
the imports cost.
"""

from __future__ import annotations

import argparse
import importlib.util
import resource
import subprocess
import sys
import time
import warnings
from collections.abc import Callable, Iterable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # also runs as a plain file

import numpy as np

from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.simulate import Course, Setting, simulate_trainee
from evalkit.maths.skill import skill_mixture, skill_path
from evalkit.maths.skill.hyper import Hyper, Method
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.many import fit_many
from evalkit.maths.skill.school import learn_hyper

GIVEN = Hyper(thresholds=(-1.8, 0.0, 1.8), difficulty_effect_sd=0.0, draws=1024)
NUTS_LIMIT, TRAINEES = 300, 10_000


def best_of(times: int, act: Callable[[], object]) -> float:
    """Seconds of the fastest of several runs."""
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        seconds.append(time.perf_counter() - start)
    return min(seconds)


def one_trainee() -> Seen:
    """24 rounds x 10 pairs x 12 criteria."""
    setting = Setting(n_rounds=24, n_pairs=10, n_criteria=12, n_must_pass=6)
    return simulate_trainee(np.random.default_rng(1), setting, GIVEN, course=Course.STEADY).seen


def ordered_models(seen: Seen) -> tuple[int, int]:
    """Fit statsmodels' OrderedModel to each criterion of each round; count the fits and those it could not make."""
    from statsmodels.miscmodels.ordinal_model import OrderedModel

    fits = failed = 0
    for r in range(seen.n_rounds):
        for c in range(len(seen.criteria)):
            known = seen.level[r, :, c] != NOT_SEEN
            fits += 1
            try:
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore")
                    model = OrderedModel(seen.level[r, known, c], seen.difficulty[r, known, None], distr="logit")
                    model.fit(method="bfgs", disp=False)
            except (ValueError, np.linalg.LinAlgError):
                failed += 1
    return fits, failed


def bench_one(*, with_nuts: bool) -> None:
    """One trainee against the two rivals."""
    seen = one_trainee()
    skill_path(seen, GIVEN)
    ours = best_of(3, lambda: skill_mixture(seen, GIVEN))
    whole = best_of(3, lambda: skill_path(seen, GIVEN))
    bulk = best_of(3, lambda: skill_mixture(seen, Hyper(**_with(Method.GVB))))
    learnt = best_of(1, lambda: skill_path(seen, Hyper(draws=1024)))
    print(f"one trainee, 24 x 10 x 12: laplace2 {ours:.3f} s (with chances {whole:.3f} s), gvb {bulk:.3f} s")
    print(f"  the same with gaps learnt and difficulty in doubt {learnt:.3f} s")
    start = time.perf_counter()
    fits, failed = ordered_models(seen)
    rival = time.perf_counter() - start
    ratio = rival / whole
    print(f"  OrderedModel, {fits} fits ({failed} failed): {rival:.1f} s, {ratio:.0f} x ours  {_said(ratio > 1)}")
    if not with_nuts or importlib.util.find_spec("numpyro") is None:
        print("  NUTS left out (numpyro is not installed, or --no-nuts)")
        return
    from tests.bench.nuts import sample

    nuts = sample(seen, GIVEN, n_draws=1000, n_warmup=1000)
    ratio = nuts.seconds / ours
    print(
        f"  NUTS 4 x 1,000: {nuts.seconds:.1f} s (R-hat at most {nuts.largest_r_hat:.3f}), {ratio:.0f} x laplace2, "
        f"{nuts.seconds / bulk:.0f} x gvb; at least {NUTS_LIMIT} x: {_said(ratio >= NUTS_LIMIT)}"
    )
    off = np.abs((skill_path(seen, GIVEN).mean - nuts.skill.mean(axis=0)) / nuts.skill.std(axis=0)).max()
    print(f"  largest difference of a mean from NUTS: {off:.3f} SD")


def _with(method: Method) -> dict[str, object]:
    return {"thresholds": (-1.8, 0.0, 1.8), "difficulty_effect_sd": 0.0, "draws": 1024, "method": method}


def _said(holds: bool) -> str:
    return "met" if holds else "MISSED"


def school(n: int, seed: int = 2) -> Iterable[Seen]:
    """Trainees of 8 rounds x 10 pairs x 10 criteria, made as they are asked for."""
    rng = np.random.default_rng(seed)
    for _ in range(n):
        yield simulate_trainee(rng, Setting(n_rounds=8), GIVEN).seen


def bench_school(n: int) -> None:
    """A school at given hyper-parameters: time without the making of the data, and peak memory."""
    made = list(school(min(n, 1000)))
    for size in (n // 4, n):
        start = time.perf_counter()
        count = sum(1 for _ in fit_many((made[i % len(made)] for i in range(size)), GIVEN))
        seconds = time.perf_counter() - start
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"school of {count}: {seconds:.1f} s, {1000 * seconds / count:.2f} ms each, peak {peak:.0f} MiB")
    kept = {standing.fingerprint: standing for standing in fit_many(made, GIVEN)}
    start = time.perf_counter()
    sum(1 for _ in fit_many(made, GIVEN, kept=kept))
    print(f"  the same {len(made)} again, nothing changed: {time.perf_counter() - start:.2f} s")


def bench_learning() -> None:
    """Empirical Bayes from 200 trainees."""
    trainees, calls = list(school(200)), []
    start = time.perf_counter()
    learnt = learn_hyper(trainees, on_progress=calls.append)
    print(f"empirical Bayes, 200 trainees: {time.perf_counter() - start:.1f} s, {calls[-1]} passes")
    for unknown, estimate, se in zip(learnt.unknowns, learnt.estimate, learnt.se, strict=True):
        print(f"  {unknown.name:18s} {estimate:7.3f} +- {se:.3f}   (true {unknown.prior_mean:.3f})")


def bench_imports() -> None:
    """Seconds to import each part, in a fresh interpreter."""
    for module in ("numpy", "scipy.special", "scipy.stats", "evalkit.maths.skill", "evalkit.maths.skill.school"):
        code = f"import time; t = time.perf_counter(); import {module}; print(time.perf_counter() - t)"
        seconds = [
            float(subprocess.run([sys.executable, "-c", code], check=True, capture_output=True).stdout) for _ in "123"
        ]
        print(f"import {module}: {min(seconds):.2f} s")


def main(arguments: Iterable[str] | None = None) -> None:
    """Print all figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trainees", type=int, default=TRAINEES)
    parser.add_argument("--no-nuts", action="store_true")
    chosen = parser.parse_args(None if arguments is None else list(arguments))
    bench_imports()
    bench_one(with_nuts=not chosen.no_nuts)
    bench_school(chosen.trainees)
    bench_learning()


if __name__ == "__main__":
    main()

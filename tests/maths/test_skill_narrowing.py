"""What a box is expected to narrow: against dense algebra, numerical integrals, and refits of simulated boxes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import norm

from evalkit.maths.simulate import Course, Setting, simulate_trainee
from evalkit.maths.skill import skill_mixture, skill_path
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.narrowing import (
    Outlook,
    PairKind,
    after,
    chance_sd,
    chances_on,
    information_of,
    learnt_each,
    narrowed,
    outlook_of,
)

GIVEN = Hyper(thresholds=(-1.8, 0.0, 1.8), difficulty_effect_sd=0.2, horizon_months=1.0)
LEARNT = Hyper(horizon_months=1.0)
ALL = (True,) * 6
ORDINARY, EASY, HARDEST = (PairKind(step, ALL) for step in (0.0, -1.0, 3.0))
MIXED = [EASY] * 2 + [ORDINARY] * 5 + [PairKind(1.0, ALL)] * 2 + [PairKind(2.0, ALL)]


@pytest.fixture(scope="module")
def seen() -> Seen:
    setting = Setting(n_rounds=4, n_pairs=10, n_criteria=6, n_must_pass=3)
    return simulate_trainee(np.random.default_rng(5), setting, GIVEN, course=Course.CONSTANT, joint=0.5).seen


@pytest.fixture(scope="module")
def given(seen: Seen) -> Outlook:
    return outlook_of(seen, GIVEN, skill_mixture(seen, GIVEN))


# --- the algebra ------------------------------------------------------------------------------------------------------


def information_by_integral(mean: float, var: float, thresholds: Sequence[float]) -> float:
    """Fisher information of an ordered level, averaged over a normal predictor: sum of (dp/deta)^2 / p."""

    def at(eta: float) -> float:
        reach = [1.0, *(expit(eta - kappa) for kappa in thresholds), 0.0]
        slope = [0.0, *(expit(eta - kappa) * expit(kappa - eta) for kappa in thresholds), 0.0]
        parts = zip(reach, reach[1:], slope, slope[1:], strict=False)
        return sum((a - b) ** 2 / (p - q) for p, q, a, b in parts if p - q > 1e-300)

    sd = math.sqrt(var)
    return quad(lambda x: at(x) * norm.pdf(x, mean, sd), mean - 9 * sd, mean + 9 * sd, epsabs=1e-12)[0]


def after_by_dense_algebra(outlook: Outlook, box: Sequence[PairKind]) -> np.ndarray:
    """Every pair effect kept as an unknown of its own, every cell as one row; nothing is eliminated beforehand."""
    n = outlook.mean.shape[1]
    precision = np.zeros((n + 1 + len(box),) * 2)
    precision[: n + 1, : n + 1] = np.linalg.inv(outlook.whole())
    for i, kind in enumerate(box):
        precision[n + 1 + i, n + 1 + i] = outlook.pair_sd**-2
        mean, var = outlook.predictor(kind.difficulty)
        for c in np.flatnonzero(kind.is_judged):
            row = np.zeros(len(precision))
            row[[c, n, n + 1 + i]] = 1.0, -kind.difficulty, 1.0
            weight = sum(
                share * information_by_integral(m, v, kappa)
                for share, m, v, kappa in zip(outlook.weight, mean[:, c], var[:, c], outlook.thresholds, strict=True)
            )
            precision += weight * np.outer(row, row)
    return np.linalg.inv(precision)[: n + 1, : n + 1]


@pytest.mark.parametrize(
    "box",
    [[ORDINARY], [HARDEST] * 2, [EASY, PairKind(2.0, (True, False, True, False, False, True)), ORDINARY]],
    ids=["one ordinary", "two of the hardest", "mixed, some criteria not judged"],
)
def test_the_covariance_after_a_box_is_that_of_dense_algebra(given: Outlook, box: list[PairKind]):
    information = sum(information_of(given, kind) for kind in box)
    assert after(given.whole(), information) == pytest.approx(after_by_dense_algebra(given, box), abs=1e-6)


def test_with_two_levels_the_information_is_that_of_a_yes_or_no():
    # p (1 - p) for a logit (McCullagh & Nelder 1989, section 4.4), without doubt about the skill or the pair.
    outlook = Outlook(np.ones(1), np.zeros((1, 1)), np.array([[0.7]]), np.zeros((1, 2, 2)), np.array([0.8]), 1e-9)
    p = 1 / (1 + math.exp(-(0.7 - 0.8)))
    found = information_of(outlook, PairKind(1.0, (True,)))
    assert found == pytest.approx(p * (1 - p) * np.array([[1, -1], [-1, 1]]), abs=1e-9)
    assert chances_on(outlook, 1.0) == pytest.approx([p])


def test_the_outlook_agrees_with_the_chances_of_the_next_pair(seen: Seen):
    for hyper in (GIVEN, LEARNT, replace(GIVEN, difficulty_effect_sd=0.0), replace(GIVEN, slope_sd=0.1)):
        path = skill_path(seen, hyper)
        outlook = outlook_of(seen, hyper, path.mixture)
        assert chances_on(outlook, 0.0) == pytest.approx(path.chance.per_criterion, abs=1e-4)
        harder = chances_on(outlook, 1.0)
        assert np.all(harder < chances_on(outlook, 0.0))
        assert np.all(np.isfinite(np.array(narrowed(outlook, MIXED))))


def test_what_is_not_judged_is_learnt_only_through_what_the_skills_share(given: Outlook):
    first_only = PairKind(0.0, (True, *(False,) * 5))
    now, then = narrowed(given, [first_only] * 10)
    left = then / now
    assert left[0] < 0.75
    assert np.all(left[1:] < 1.0)
    assert np.all(left[1:] > 0.85)
    assert narrowed(given, [])[1] == pytest.approx(now)


def test_the_chance_of_a_skill_in_doubt_has_the_spread_of_its_draws(given: Outlook):
    cov = given.whole()
    skill = given.mean[0] + np.sqrt(cov.diagonal()[:-1]) * np.random.default_rng(1).standard_normal((4000, 1))
    pair = given.pair_sd * np.random.default_rng(2).standard_normal((200, 1, 1))
    spread = expit(skill + pair).mean(axis=0).std(axis=0)
    assert chance_sd(given, cov) == pytest.approx(spread, rel=0.15)  # the mean slope is a first-order reading


def test_precision_by_pair_adds_up_to_what_a_mixed_box_brings(given: Outlook):
    now = np.diagonal(given.whole())[:-1]
    summed = sum(learnt_each(given, kind, len(MIXED)) for kind in MIXED)
    _, then = narrowed(given, MIXED)
    before, _ = narrowed(given, [])
    assert 1 / (1 + now * summed) == pytest.approx((then / before) ** 2, rel=0.06)
    alike = len(MIXED) * learnt_each(given, ORDINARY, len(MIXED))
    assert 1 / (1 + now * alike) == pytest.approx((narrowed(given, [ORDINARY] * 10)[1] / before) ** 2, rel=1e-9)


# --- the outside: boxes sent to simulated trainees, and refitted ------------------------------------------------------


def with_box(seen: Seen, difficulty: np.ndarray, levels: np.ndarray) -> Seen:
    """The history with one more round, a month later."""
    n_rounds, n_pairs = seen.difficulty.shape

    def longer(old: np.ndarray, blank: object, new: np.ndarray | None = None) -> np.ndarray:
        whole = np.full((n_rounds + 1, n_pairs, *old.shape[2:]), blank, dtype=old.dtype)
        whole[:-1] = old
        if new is not None:
            whole[-1] = new
        return whole

    return replace(
        seen,
        round_names=(*seen.round_names, "next"),
        months=np.append(seen.months, seen.months[-1] + 1.0),
        level=longer(seen.level, -1, levels),
        self_level=longer(seen.self_level, -1),
        difficulty=longer(seen.difficulty, 0.0, difficulty),
        present=longer(seen.present, True),
        mentor=longer(seen.mentor, -1),
    )


def variance_after_refits(seen: Seen, outlook: Outlook, hyper: Hyper, box: Sequence[PairKind], n: int) -> np.ndarray:
    """Mean variance of the skills when the box was sent, levels drawn as the outlook believes, and all was refitted."""
    rng = np.random.default_rng(7)
    step = np.array([kind.difficulty for kind in box])
    at_once = replace(hyper, horizon_months=0.0)
    found = []
    for _ in range(n):
        g = rng.choice(len(outlook.weight), p=outlook.weight)
        true = rng.multivariate_normal([*outlook.mean[g], outlook.step[g]], outlook.cov[g])
        pair = outlook.pair_sd * rng.standard_normal((len(box), 1))
        eta = true[:-1] + pair - true[-1] * step[:, None]
        levels = ((eta + rng.logistic(size=eta.shape))[..., None] > outlook.thresholds[g]).sum(axis=-1)
        longer = with_box(seen, step, levels)
        found.append(outlook_of(longer, at_once, skill_mixture(longer, at_once)).whole().diagonal()[:-1])
    return np.mean(found, axis=0)


@pytest.mark.parametrize(("hyper", "n"), [(GIVEN, 60), (LEARNT, 25)], ids=["ladder given", "ladder learnt"])
def test_what_a_box_should_narrow_is_what_refits_of_simulated_boxes_narrow(seen: Seen, hyper: Hyper, n: int):
    outlook = outlook_of(seen, hyper, skill_mixture(seen, hyper))
    removed, promised = {}, {}
    for name, box in {"ordinary": [ORDINARY] * 10, "hardest": [HARDEST] * 10, "mixed": MIXED}.items():
        refitted = variance_after_refits(seen, outlook, hyper, box, n)
        now, then = narrowed(outlook, box)
        promised[name] = 1 - (then / now) ** 2
        removed[name] = 1 - refitted / outlook.whole().diagonal()[:-1]
        assert promised[name] == pytest.approx(removed[name], abs=0.06), name
        assert np.all(removed[name] > 0.3)
    # Direction: on every criterion on which the box of ordinary pairs promises clearly more, refits find more.
    clearly = promised["ordinary"] - promised["hardest"] > 0.05
    assert clearly.sum() >= 3
    assert np.all((removed["ordinary"] > removed["hardest"])[clearly])

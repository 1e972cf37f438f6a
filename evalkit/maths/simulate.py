"""Simulated trainees whose true skill is known: for checking what the model and the readiness rule promise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, assert_never

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from evalkit.maths.ordinal import NOT_SEEN, thresholds_from_gaps
from evalkit.maths.skill.chance import joint_chance
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.prior import share_matrix

Floats = NDArray[np.float64]


class Course(StrEnum):
    """How the true skill moves."""

    CONSTANT = "constant"
    STEADY = "steady"
    PLATEAU = "plateau"
    RELAPSE = "relapse"
    WALK = "walk"
    """As the model believes: a random walk from the prior."""


class Boxes(StrEnum):
    """Which pairs are sent."""

    MIXED = "mixed"
    ORDINARY = "ordinary"
    EASY = "easy"
    HARD = "hard"
    EASY_FIRST = "easy first"
    """Easy ones for three rounds, then ordinary ones, as when a mentor does what the answer asks for."""
    HARD_FIRST = "hard first"


@dataclass(frozen=True, slots=True)
class Setting:
    """The size of a simulated trainee's history and how it is seen."""

    n_rounds: int = 12
    n_pairs: int = 10
    n_criteria: int = 10
    n_must_pass: int = 5
    n_levels: int = 4
    required_level: int = 2
    months_between: float = 1.0
    share_missing: float = 0.1
    share_tagged: float = 0.3
    boxes: Boxes = Boxes.MIXED
    gaps: tuple[float, ...] = (1.8, 1.8)
    difficulty_effect: float = 0.8


@dataclass(frozen=True, slots=True)
class Simulated:
    """One simulated trainee: what was seen, and the truth behind it."""

    seen: Seen
    skill: Floats
    """True skill, (R, C)."""
    joint: Floats
    """True joint pass chance of an ordinary pair at each round, (R,)."""
    bias: Floats
    """True bias of the self levels, (R, C)."""


def skill_course(
    rng: np.random.Generator, course: Course, setting: Setting, hyper: Hyper, joint: float | None
) -> Floats:
    """True skills (R, C); `joint` sets the level of a constant course."""
    root = np.linalg.cholesky(share_matrix(np.array([hyper.general_share]), setting.n_criteria)[0])
    n_rounds, shape = setting.n_rounds, (setting.n_rounds, setting.n_criteria)
    start = hyper.initial_mean + hyper.initial_sd * root @ rng.standard_normal(setting.n_criteria)
    progress = np.linspace(0.0, 1.0, n_rounds)[:, None]
    match course:
        case Course.CONSTANT:
            if joint is None:
                raise ValueError("A constant course needs its joint chance.")
            return np.broadcast_to(at_joint_chance(start, joint, setting.n_must_pass, hyper.pair_sd), shape)
        case Course.STEADY:
            return np.asarray(start + 3.0 * progress)
        case Course.PLATEAU:
            return np.asarray(start + np.minimum(4.0 * progress, 1.5))
        case Course.RELAPSE:
            return np.asarray(start + 3.0 * progress - 2.0 * (progress > 0.66))
        case Course.WALK:
            steps = hyper.rw_sd * np.sqrt(setting.months_between) * rng.standard_normal(shape) @ root.T
            steps[0] = 0.0
            return np.asarray(start + np.cumsum(steps, axis=0))
        case _:
            assert_never(course)


def at_joint_chance(skill: Floats, joint: float, n_must_pass: int, pair_sd: float) -> Floats:
    """Skills shifted together until the joint chance of the first `n_must_pass` is as wanted."""
    must = skill[:n_must_pass]

    def miss(shift: float) -> float:
        return float(joint_chance(must + shift, pair_sd)) - joint

    return np.asarray(skill + brentq(miss, -30.0, 30.0))


def _difficulties(rng: np.random.Generator, setting: Setting) -> Floats:
    shape = (setting.n_rounds, setting.n_pairs)
    match setting.boxes:
        case Boxes.MIXED:
            return rng.choice([-1.0, 0.0, 1.0], size=shape, p=[0.25, 0.5, 0.25])
        case Boxes.ORDINARY:
            return np.zeros(shape)
        case Boxes.EASY:
            return np.full(shape, -1.0)
        case Boxes.HARD:
            return np.full(shape, 1.0)
        case Boxes.EASY_FIRST | Boxes.HARD_FIRST:
            first = -1.0 if setting.boxes is Boxes.EASY_FIRST else 1.0
            return np.where(np.arange(shape[0])[:, None] < 3, first, np.zeros(shape))
        case _:
            assert_never(setting.boxes)


def _levels(rng: np.random.Generator, eta: Floats, thresholds: Floats) -> NDArray[np.int8]:
    blurred = eta + rng.logistic(size=eta.shape)
    return np.asarray((blurred[..., None] > thresholds).sum(axis=-1), dtype=np.int8)


def simulate_trainee(
    rng: np.random.Generator,
    setting: Setting,
    hyper: Hyper,
    *,
    course: Course = Course.WALK,
    joint: float | None = None,
    mentors: tuple[str, ...] = (),
    mentor: NDArray[np.int64] | None = None,
) -> Simulated:
    """One trainee. `hyper` gives the truth about walk, pair effect, tags and bias; `setting` gaps and difficulty.

    `mentor` (R, N) gives the position among `mentors` of who marks each pair; -1 or None for nobody in particular.
    """
    shape = (setting.n_rounds, setting.n_pairs)
    skill = skill_course(rng, course, setting, hyper, joint)
    difficulty = _difficulties(rng, setting)
    criteria = tuple(f"c{c}" for c in range(setting.n_criteria))
    tags = {name: rng.random(shape) < setting.share_tagged / max(len(hyper.tag_effect), 1) for name in hyper.tag_effect}
    blank = np.full((*shape, setting.n_criteria), NOT_SEEN, dtype=np.int8)
    months = setting.months_between * np.arange(setting.n_rounds, dtype=float)
    seen = Seen(
        setting.n_levels, setting.required_level, criteria, tuple(range(setting.n_must_pass)),
        tuple(range(1, setting.n_rounds + 1)), months, blank, blank, difficulty, np.ones(shape, dtype=bool), mentors,
        np.full(shape, -1) if mentor is None else mentor, tags,
    )  # fmt: skip
    pair = hyper.pair_sd * rng.standard_normal(shape)[..., None]
    offset = seen.offset(hyper.moved(difficulty_effect=setting.difficulty_effect - hyper.difficulty_effect))
    eta = skill[:, None, :] + pair - offset
    missing = rng.random(eta.shape) < setting.share_missing
    level = _levels(rng, eta, thresholds_from_gaps(np.array(setting.gaps), setting.required_level))
    bias = _bias_course(rng, setting, hyper)
    self_eta = bias[:, None, :] + hyper.bias_pair_sd * rng.standard_normal(shape)[..., None] + hyper.self_slope * level
    self_level = _levels(rng, self_eta, np.asarray(hyper.self_slope * (np.arange(1, setting.n_levels) - 0.5)))
    level[missing] = self_level[missing] = NOT_SEEN
    seen = Seen(
        seen.n_levels, seen.required_level, criteria, seen.must_pass, seen.round_names, months, level, self_level,
        difficulty, seen.present, mentors, seen.mentor, tags,
    )  # fmt: skip
    return Simulated(seen, skill, joint_chance(skill[:, : setting.n_must_pass], hyper.pair_sd), bias)


def _bias_course(rng: np.random.Generator, setting: Setting, hyper: Hyper) -> Floats:
    root = np.linalg.cholesky(share_matrix(np.array([hyper.bias_share]), setting.n_criteria)[0])
    steps = rng.standard_normal((setting.n_rounds, setting.n_criteria)) @ root.T
    steps[0] *= hyper.bias_sd
    steps[1:] *= hyper.bias_rw_sd * np.sqrt(setting.months_between)
    return np.asarray(np.cumsum(steps, axis=0))


def as_observations(seen: Seen) -> Mapping[str, Any]:
    """The JSON object that `skill.fit` takes."""

    def scores(row: NDArray[np.int8]) -> dict[str, int | None]:
        return {name: None if y == NOT_SEEN else int(y) for name, y in zip(seen.criteria, row, strict=True)}

    pairs = [
        {
            "round": seen.round_names[r],
            "pair": i + 1,
            "difficulty": float(seen.difficulty[r, i]),
            "tags": [name for name, worn in seen.tags.items() if worn[r, i]],
            "mentor": seen.mentors[seen.mentor[r, i]] if seen.mentor[r, i] >= 0 else None,
            "scores": scores(seen.level[r, i]),
            "self": scores(seen.self_level[r, i]),
        }
        for r in range(seen.n_rounds)
        for i in range(seen.present.shape[1])
        if seen.present[r, i]
    ]
    return {
        "levels": seen.n_levels,
        "required_level": seen.required_level,
        "criteria": list(seen.criteria),
        "must_pass": [seen.criteria[c] for c in seen.must_pass],
        "rounds": [{"round": n, "months": float(t)} for n, t in zip(seen.round_names, seen.months, strict=True)],
        "pairs": pairs,
    }

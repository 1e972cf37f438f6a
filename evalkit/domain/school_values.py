"""What a school's own rounds say of the numbers that progress reckons with; until then, defaults stand for them."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field

from evalkit.domain.value import Key, Value

Above0 = Annotated[float, Field(gt=0)]
Share = Annotated[float, Field(ge=0, lt=1)]
Counted = Annotated[int, Field(ge=0)]


class Contrast(Value):
    """How much stricter `one` marks than `other`, on the skill scale, with its standard error. Below nought: kinder."""

    one: Key
    other: Key
    by: float
    error: float = Field(ge=0)


class SchoolValues(Value):
    """Learnt values on the skill scale (logits) and in months, and what they rest on.

    They hold for one ladder of levels: `top` is its highest level, `fit` the one fit for a customer. `gaps` are the
    distances between neighbouring thresholds, `gap_doubts` how far each is in doubt as a standard deviation of its log.
    """

    learnt_on: date
    n_trainees: Counted
    n_rounds: Counted
    n_pairs: Counted
    n_levels: Counted
    top: int = Field(ge=1)
    fit: int = Field(ge=1)
    first_skill: float
    first_skill_sd: Above0
    walk_sd: Above0
    """Of a skill's walk per square root of a month."""
    shared: Share
    """Of the variance of skills: what all criteria have in common."""
    pair_sd: Above0
    step: float
    """What one step of difficulty takes from the skill."""
    step_error: Above0
    gaps: tuple[Above0, ...]
    gap_doubts: tuple[Above0, ...]
    faults: dict[Key, dict[Key, float]]
    """What a known fault takes from the skill on each criterion it makes harder."""
    strictness: dict[Key, float]
    """What each mentor's marking takes from it; only mentors whom a shared trainee ties to another."""
    parts: tuple[tuple[Key, ...], ...]
    """Mentors tied to each other; between parts nothing is said."""
    contrasts: tuple[Contrast, ...]

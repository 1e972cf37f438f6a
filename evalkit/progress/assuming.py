"""What the model takes as given for one history: the school's own values where there are any, defaults elsewhere."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from evalkit.maths.skill.hyper import DEFAULT_GAP, DEFAULT_GAP_LOG_SD, DEFAULT_TAG_EFFECT, Hyper
from evalkit.progress.observing import Observed

if TYPE_CHECKING:
    from evalkit.domain.school_values import SchoolValues


def hyper_of(observed: Observed, values: SchoolValues | None) -> Hyper:
    """Values learnt on another ladder of levels are not used. A known fault weighs on the criteria it makes harder."""
    known = values if are_fitting(observed, values) else None
    hyper = Hyper() if known is None else _learnt(known)
    learnt = {} if known is None else known.faults
    weights = {
        fault.tag: {key: learnt.get(fault.tag, {}).get(key, DEFAULT_TAG_EFFECT) for key in fault.criteria}
        for fault in observed.faults
        if fault.criteria
    }
    return replace(hyper, tag_effect=weights)


def are_fitting(observed: Observed, values: SchoolValues | None) -> bool:
    """Were they learnt on this history's ladder?"""
    told = observed.observations
    return values is not None and (values.top + 1, values.fit) == (told["levels"], told["required_level"])


def _learnt(values: SchoolValues) -> Hyper:
    return Hyper(
        gap_median=values.gaps or DEFAULT_GAP,
        gap_log_sd=values.gap_doubts or DEFAULT_GAP_LOG_SD,
        initial_mean=values.first_skill,
        initial_sd=values.first_skill_sd,
        rw_sd=values.walk_sd,
        general_share=values.shared,
        pair_sd=values.pair_sd,
        difficulty_effect=values.step,
        difficulty_effect_sd=values.step_error,
        severity=values.strictness,
    )


class Assumed(StrEnum):
    """What is assumed until the school has taught it, on the skill scale."""

    FIRST = "skill at the first round"
    FIRST_SD = "how far trainees differ there"
    WALK = "how far skill moves in a month"
    SHARED = "share of it that all criteria have in common"
    PAIR = "what one pair by itself does to all its levels"
    STEP = "what a step of difficulty costs"
    WIDTH = "how wide a level is"
    FAULT = "what a known fault costs where it weighs"


@dataclass(frozen=True, slots=True)
class Compared:
    """One learnt value beside the default it takes the place of. `of` is the level, or the fault and its criterion."""

    what: Assumed
    learnt: float
    default: float
    of: tuple[str, ...] = ()


def compare(values: SchoolValues) -> tuple[Compared, ...]:
    """Every learnt value, faults last."""
    default = Hyper()
    return (
        Compared(Assumed.STEP, values.step, default.difficulty_effect),
        Compared(Assumed.PAIR, values.pair_sd, default.pair_sd),
        Compared(Assumed.FIRST, values.first_skill, default.initial_mean),
        Compared(Assumed.FIRST_SD, values.first_skill_sd, default.initial_sd),
        Compared(Assumed.WALK, values.walk_sd, default.rw_sd),
        Compared(Assumed.SHARED, values.shared, default.general_share),
        *(Compared(Assumed.WIDTH, gap, DEFAULT_GAP, (str(level),)) for level, gap in enumerate(values.gaps, 1)),
        *(
            Compared(Assumed.FAULT, effect, DEFAULT_TAG_EFFECT, (tag, key))
            for tag, effects in values.faults.items()
            for key, effect in effects.items()
        ),
    )

"""What truly came off the bench: levels from a hidden skill, and what the trainee makes of them.

The chances are those of a cumulative-logit ladder: P(level >= k) = sig(skill - gap * (k - fit)), with the pair's own
luck and its difficulty taken off the skill; and, for the trainee's eyes, P(own >= k) =
sig(slope * (true - k + 1/2) + bias).
"""

from __future__ import annotations

import math
from enum import Enum
from random import Random

from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.triage import IntakeClass

TOP = 3
FIT = 2
GAP = 1.8
PAIR_LUCK = 0.5
HARDER = 0.45
ORDINARY_DIFFICULTY = 2
EYE_SLOPE = 2.6
ORDINARY_HABIT = 0.8
WET, DRY, HAIR = "wet-tissue", "dry-tissue", "hair"

Levels = dict[str, int]


class Side(Enum):
    """On which side of its band a drop test falls short: too far closed, or too far open."""

    LOOSE = 1
    TIGHT = 2


BEYOND_REPAIR = ("cracked-pivot", "broken-tip")
BY_CLASS: dict[IntakeClass, dict[str, tuple[int, ...]]] = {
    IntakeClass.A: {DRY: (0,), WET: (0,), HAIR: (0, 1)},
    IntakeClass.B: {DRY: (2, 3), WET: (0, 1), HAIR: (0, 1)},
    IntakeClass.C: {DRY: (2, 3), WET: (2, 3), HAIR: (1,)},
    IntakeClass.D: {DRY: (3,), WET: (2, 3), HAIR: (2,)},
    IntakeClass.E: {DRY: (3,), WET: (3,), HAIR: (3,)},
    IntakeClass.X: {DRY: (2,), WET: (1,), HAIR: (1,)},
}
BY_FAULT: dict[str, Levels] = {
    "nick": {"burr": 0},
    "small nick": {"burr": 1},
    "loose-screw": {"tension": 0, "play": 1},
    "dry-pivot": {"tension": 1, "action": 1, "finish": 1},
    "missing-bumper": {"tips": 0},
    "worn-washer": {"tension": 1, "play": 1},
    "rust": {"finish": 1, "burr": 1},
    "scored-half-moon": {"set": 1, "action": 1},
    "prior-bevel": {"face": 0},
    "throat-dip": {"face": 1},
    "wide-ride-line": {"ride-line": 2},
    "cracked-pivot": {"play": 0},
    "broken-tip": {"tips": 0},
}


SIDES: dict[Side, tuple[str, ...]] = {Side.LOOSE: ("loose-screw", "worn-washer"), Side.TIGHT: ("dry-pivot",)}
"""Which way a fault pulls the screw; dirt imitates tightness, but a screw come loose beats it."""

TIGHT_SHARE = 0.4
"""How often a screw set wrong with no fault behind it is too tight. From memory."""

CLOSING = ("dry-tissue", "wet-tissue", "hair", "slide-cut", "tips", "set", "tension", "action")
"""What cannot be tried without closing the pair."""


def luck_of(*parts: object) -> Random:
    """Luck for one purpose, named by `parts`: the same on every run, and apart from that of every other purpose."""
    return Random("/".join(str(part) for part in parts))  # noqa: S311 -- fills in a story, guards nothing


def chance(logit: float) -> float:
    """The logistic function."""
    return 1 / (1 + math.exp(-logit))


def true_levels(skill: float, skills: dict[str, float], difficulty: int, rng: Random) -> Levels:
    """A level for every criterion that `skills` names, and no two that could not stand on one pair."""
    luck = rng.gauss(0, PAIR_LUCK) - HARDER * (difficulty - ORDINARY_DIFFICULTY)
    levels = {key: _draw(skill + more + luck, rng) for key, more in skills.items()}
    if levels.get("burr", TOP) < FIT:
        levels[WET] = min(levels[WET], 1)
    if levels.get("tips", TOP) == 0:
        levels[HAIR] = min(levels[HAIR], 1)
    return levels


def _draw(logit: float, rng: Random) -> int:
    luck = rng.random()
    return sum(luck < chance(logit - GAP * (k - FIT)) for k in range(1, TOP + 1))


def own_levels(truth: Levels, bias: float, habits: dict[str, float], rng: Random) -> Levels:
    """What the trainee's eyes make of the true levels; `habits` says how much of the bias each criterion gets."""
    levels = {}
    for key, level in truth.items():
        luck = rng.random()
        lean = bias * habits.get(key, ORDINARY_HABIT)
        levels[key] = sum(luck < chance(EYE_SLOPE * (level - k + 0.5) + lean) for k in range(1, TOP + 1))
    return levels


def seen_before_posting(received: Levels, bias: float, habits: dict[str, float], rng: Random) -> Levels:
    """What the mentor saw before posting where the trainee then saw `received`: `own_levels`, read backwards."""
    levels = {}
    for key, level in received.items():
        lean = bias * habits.get(key, ORDINARY_HABIT)
        near = [true for true in range(TOP + 1) if abs(true - level) <= 1]
        levels[key] = rng.choices(near, [_chance_of_own(level, true, lean) for true in near])[0]
    return levels


def _chance_of_own(own: int, true: int, lean: float) -> float:
    at_least = [1.0, *(chance(EYE_SLOPE * (true - k + 0.5) + lean) for k in range(1, TOP + 1)), 0.0]
    return at_least[own] - at_least[own + 1]


def intake_of(pair: Pair, rng: Random) -> IntakeClass:
    """The class in which a pair came, from what is known to be wrong with it."""
    faults = {fault.tag: fault.severity for fault in pair.faults}
    if any(tag in faults for tag in BEYOND_REPAIR):
        return IntakeClass.X
    if "dull" not in faults:
        return IntakeClass.E
    if faults["dull"] == TOP or faults.get("nick", 0) > 1:
        return IntakeClass.A
    found = rng.choice((IntakeClass.C, IntakeClass.D) if faults["dull"] == 1 else (IntakeClass.B, IntakeClass.C))
    is_kind_to_wet = pair.edge_type in (EdgeType.MICRO_SERRATED, EdgeType.BEVEL, EdgeType.TOOTHED)
    return IntakeClass.C if found is IntakeClass.B and is_kind_to_wet else found


def side_of(pair: Pair, rng: Random) -> Side:
    """The side on which the pair's tension falls short when it does: by its faults, else by luck."""
    tags = {fault.tag for fault in pair.faults}
    told = next((side for side, faults in SIDES.items() if tags.intersection(faults)), None)
    if told is not None:
        return told
    return Side.TIGHT if rng.random() < TIGHT_SHARE else Side.LOOSE


def received_levels(pair: Pair, intake: IntakeClass, rng: Random) -> Levels:
    """What is to be seen on a pair before any work, by its class and its known faults."""
    levels: Levels = {key: rng.choice((2, 2, 3)) for key in ("tips", "ride-line", "burr", "tension", "play", "face")}
    levels |= {key: rng.choice(choices) for key, choices in BY_CLASS[intake].items()}
    for fault in pair.faults:
        name = "small nick" if fault.tag == "nick" and fault.severity == 1 else fault.tag
        levels |= BY_FAULT.get(name, {})
    if pair.edge_type is EdgeType.TOOTHED and not {fault.tag for fault in pair.faults}.intersection(SIDES[Side.LOOSE]):
        levels["tension"] = max(levels["tension"], FIT)  # a toothed pair may stay where it was let go: never too tight
    return levels

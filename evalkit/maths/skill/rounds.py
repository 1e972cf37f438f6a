"""What could be said at the end of each round, from that round and those before it: the food of the readiness rule."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.readiness import Readiness, RoundEnd, Rule, decide
from evalkit.maths.skill.chance import joint_draws, skills_ahead
from evalkit.maths.skill.fitting import PRIOR_MOVE, skill_mixture
from evalkit.maths.skill.gaps import LogGaps
from evalkit.maths.skill.hyper import DEFAULT_DIFFICULTY_SD, Hyper
from evalkit.maths.skill.input import Seen

ORDINARY_WITHIN = 0.5
"""A pair whose difficulty lies this near to 0 counts as ordinary."""
DIFFICULTY_SDS = 1.0
"""By how many SDs of its doubt the difficulty effect is moved where ordinary pairs are lacking."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """The chance at one round end, and where the gaps lay, from which a similar fit may start."""

    prob_at_target: float
    log_gap: LogGaps | None


def outlook(seen: Seen, hyper: Hyper, start: LogGaps | None = None) -> Outlook:
    """Chance that the joint pass chance is at least the target."""
    mixture = skill_mixture(seen, hyper, start)
    joint = joint_draws(skills_ahead(seen, hyper, mixture), seen.must_pass, hyper.pair_sd, hyper.draws)
    return Outlook(float((joint >= hyper.target).mean()), mixture.log_gap)


def rule_of(hyper: Hyper) -> Rule:
    """The readiness rule with the limits that hyper gives."""
    return Rule(confidence=hyper.confidence, min_pairs=hyper.min_pairs, min_cells=hyper.min_cells)


def round_end(seen: Seen, base: Outlook) -> RoundEnd:
    """The end of the last round of `seen`, without the checks of prior and difficulty."""
    scored = seen.level != NOT_SEEN
    with_levels = scored.any(axis=2)
    return RoundEnd(
        prob_at_target=base.prob_at_target,
        n_pairs=int(with_levels.sum()),
        n_ordinary_pairs=int((with_levels & (np.abs(seen.difficulty) < ORDINARY_WITHIN)).sum()),
        n_cells=tuple(int(scored[:, :, c].sum()) for c in seen.must_pass),
    )


def checked(end: RoundEnd, seen: Seen, hyper: Hyper, base: Outlook, rule: Rule) -> RoundEnd:
    """The same with the check of the prior, and where ordinary pairs are lacking that of difficulty."""
    prior_moved = _moved(seen, hyper, base, "initial_mean", PRIOR_MOVE)
    difficulty_moved = None
    if end.n_ordinary_pairs < rule.min_ordinary_pairs:
        move = DIFFICULTY_SDS * (hyper.difficulty_effect_sd or DEFAULT_DIFFICULTY_SD)
        difficulty_moved = _moved(seen, hyper, base, "difficulty_effect", move)
    return replace(end, prior_moved=prior_moved, difficulty_moved=difficulty_moved)


def _moved(seen: Seen, hyper: Hyper, base: Outlook, name: str, move: float) -> tuple[float, float]:
    low, high = (outlook(seen, hyper.moved(**{name: sign * move}), base.log_gap).prob_at_target for sign in (-1.0, 1.0))
    return low, high


def readiness(seen: Seen, hyper: Hyper, rule: Rule | None = None) -> Readiness:
    """The readiness rule applied to the last round ends of one trainee."""
    rule = rule or rule_of(hyper)
    if not seen.must_pass:
        return decide([], rule)
    ends: list[RoundEnd] = []
    base: Outlook | None = None
    for n in range(max(1, seen.n_rounds - rule.ends_needed + 1), seen.n_rounds + 1):
        known = seen.through(n)
        if not (known.level != NOT_SEEN).any():
            continue
        base = outlook(known, hyper, base.log_gap if base else None)
        ends.append(round_end(known, base))
    if base is not None:
        ends[-1] = checked(ends[-1], seen, hyper, base, rule)
    return decide(ends, rule)

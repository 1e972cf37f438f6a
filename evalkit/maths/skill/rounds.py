"""What could be said at the end of each round, from that round and those before it: the food of the readiness rule."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.readiness import Readiness, RoundEnd, Rule, decide
from evalkit.maths.skill.chance import joint_draws, skills_ahead
from evalkit.maths.skill.fitting import PRIOR_MOVE, skill_mixture
from evalkit.maths.skill.gaps import LogGaps, Mixture
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


MixtureOf = Callable[[Seen, Hyper, LogGaps | None], Mixture]
"""Where the posteriors come from: fitted when asked for, or all of them before, together."""


def outlook(seen: Seen, hyper: Hyper, start: LogGaps | None = None, mixture_of: MixtureOf = skill_mixture) -> Outlook:
    """Chance that the joint pass chance is at least the target."""
    mixture = mixture_of(seen, hyper, start)
    joint = joint_draws(skills_ahead(seen, hyper, mixture), seen.must_pass, hyper.pair_sd, hyper.draws)
    return Outlook(float((joint >= hyper.target).mean()), mixture.log_gap)


def rule_of(hyper: Hyper) -> Rule:
    """The readiness rule with the limits that hyper gives."""
    return Rule(confidence=hyper.confidence, min_pairs=hyper.min_pairs, min_cells=hyper.min_cells)


def n_ordinary(seen: Seen) -> int:
    """Ordinary pairs with a level."""
    with_levels = (seen.level != NOT_SEEN).any(axis=2)
    return int((with_levels & (np.abs(seen.difficulty) < ORDINARY_WITHIN)).sum())


def round_end(seen: Seen, base: Outlook) -> RoundEnd:
    """The end of the last round of `seen`, without the checks of prior and difficulty."""
    scored = seen.level != NOT_SEEN
    with_levels = scored.any(axis=2)
    return RoundEnd(
        prob_at_target=base.prob_at_target,
        n_pairs=int(with_levels.sum()),
        n_ordinary_pairs=n_ordinary(seen),
        n_cells=tuple(int(scored[:, :, c].sum()) for c in seen.must_pass),
    )


def moves_of(seen: Seen, hyper: Hyper, rule: Rule) -> dict[str, float]:
    """What is moved, and how far, to see whether the answer hangs on it."""
    moves = {"initial_mean": PRIOR_MOVE}
    if n_ordinary(seen) < rule.min_ordinary_pairs:
        moves["difficulty_effect"] = DIFFICULTY_SDS * (hyper.difficulty_effect_sd or DEFAULT_DIFFICULTY_SD)
    return moves


def checked(
    end: RoundEnd, seen: Seen, hyper: Hyper, base: Outlook, rule: Rule, mixture_of: MixtureOf = skill_mixture
) -> RoundEnd:
    """The same with the check of the prior, and where ordinary pairs are lacking that of difficulty."""
    moved = {
        name: tuple(
            outlook(seen, hyper.moved(**{name: sign * move}), base.log_gap, mixture_of).prob_at_target
            for sign in (-1.0, 1.0)
        )
        for name, move in moves_of(seen, hyper, rule).items()
    }
    return replace(end, prior_moved=moved["initial_mean"], difficulty_moved=moved.get("difficulty_effect"))


def ends_looked_at(seen: Seen, rule: Rule) -> list[Seen]:
    """What was known at the round ends that the rule looks at, oldest first; those with nothing seen left out."""
    ends = (seen.through(n) for n in range(max(1, seen.n_rounds - rule.ends_needed + 1), seen.n_rounds + 1))
    return [known for known in ends if (known.level != NOT_SEEN).any()]


def readiness(
    seen: Seen, hyper: Hyper, rule: Rule | None = None, *, mixture_of: MixtureOf = skill_mixture
) -> Readiness:
    """The readiness rule applied to the last round ends of one trainee."""
    rule = rule or rule_of(hyper)
    if not seen.must_pass:
        return decide([], rule)
    ends: list[RoundEnd] = []
    base: Outlook | None = None
    for known in ends_looked_at(seen, rule):
        base = outlook(known, hyper, base.log_gap if base else None, mixture_of)
        ends.append(round_end(known, base))
    if base is not None:
        ends[-1] = checked(ends[-1], seen, hyper, base, rule, mixture_of)
    return decide(ends, rule)

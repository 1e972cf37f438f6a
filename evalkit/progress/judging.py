"""What the trainee's own eyes see, round by round: how kind they are, and whether they have changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.judgement import Judgement, let_through
from evalkit.maths.skill.views import Z80, as_lists
from evalkit.progress.moves import Step
from evalkit.progress.observing import Observed

MIN_PAIRS = 5
"""A criterion is spoken of when it has so many levels by both."""


@dataclass(frozen=True, slots=True)
class RoundJudgement:
    """How the trainee's own levels lay to the mentor's in one round, freed from floor and ceiling.

    `let_through` is the share of near misses (the mentor one level below fit) that would have been let pass, over the
    criteria; its 80 % ends are cautious: the criteria are taken to be in doubt all together.
    """

    key: str
    n_both: int
    bias: float
    bias_sd: float
    let_through: float
    let_through_lo: float
    let_through_hi: float


@dataclass(frozen=True, slots=True)
class JudgementAnswer:
    """The trainee's judgement over the rounds. Bias above nought is too kind; drift is last round less first."""

    n_both: int
    rounds: tuple[RoundJudgement, ...]
    drift: Step | None
    too_kind: tuple[str, ...]
    """Criteria on which the trainee is surely kinder than the mentor (80 %), the kindest first."""
    too_strict: tuple[str, ...]


def judgement_of(seen: Seen, found: Judgement, observed: Observed, hyper: Hyper) -> JudgementAnswer:
    """The fitted judgement in the trade's words."""
    both = ((seen.level != NOT_SEEN) & (seen.self_level != NOT_SEEN)).sum(axis=1)
    slope, names = hyper.self_slope, [one.name for one in observed.criteria]
    passed, low, high = (as_lists(let_through(found.mean + by * found.sd, slope)) for by in (0.0, -Z80, Z80))
    bias, sd = as_lists(found.mean), as_lists(found.sd)
    rounds = tuple(
        RoundJudgement(
            key=str(key),
            n_both=int(both[r].sum()),
            bias=_mean(bias[r]),
            bias_sd=_mean(sd[r]),
            let_through=_mean(passed[r]),
            let_through_lo=_mean(low[r]),
            let_through_hi=_mean(high[r]),
        )
        for r, key in enumerate(seen.round_names)
    )
    told = [(bias[-1][c], sd[-1][c], name) for c, name in enumerate(names) if int(both[:, c].sum()) >= MIN_PAIRS]
    return JudgementAnswer(
        n_both=found.n_cells,
        rounds=rounds,
        drift=Step(found.drift_mean, found.drift_sd) if seen.n_rounds > 1 else None,
        too_kind=tuple(name for b, s, name in sorted(told, reverse=True) if b - Z80 * s > 0),
        too_strict=tuple(name for b, s, name in sorted(told) if b + Z80 * s < 0),
    )


def _mean(numbers: Sequence[float]) -> float:
    return sum(numbers) / len(numbers)

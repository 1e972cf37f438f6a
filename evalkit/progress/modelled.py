"""What the skill model says of one trainee, as plain lists in the order of rounds and criteria."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from evalkit.maths.errors import NotSettledError, UnusableInputError
from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.skill import SkillPath, evidence, skill_path
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen, read_observations
from evalkit.maths.skill.judgement import Judgement, judge_self, let_through
from evalkit.maths.skill.rounds import readiness, rule_of
from evalkit.maths.skill.views import Z80, as_lists, chance_bands, chance_each_needs, round_steps
from evalkit.progress.deciding import NoFigure, ReadinessAnswer, answer_of, answer_without_fit
from evalkit.progress.observing import Observed

MIN_PAIRS = 5
"""Under this many pairs: dots only, no trend and no modelled figure."""
SURE = 1.96
"""A step or a drift is spoken of when it lies so many SDs from nought: 95 %, both sides."""

Found = TypeVar("Found")

Tick = Callable[[], None]
"""Called after each fit, for a progress bar."""


class Move(StrEnum):
    """What a change between two rounds, or over the whole history, amounts to."""

    UP = "rose"
    DOWN = "fell"
    NOT_SHOWN = "no change shown"


@dataclass(frozen=True, slots=True)
class Step:
    """A change with its doubt, in logits."""

    mean: float
    sd: float

    @property
    def move(self) -> Move:
        if abs(self.mean) <= SURE * self.sd:
            return Move.NOT_SHOWN
        return Move.UP if self.mean > 0 else Move.DOWN


@dataclass(frozen=True, slots=True)
class CriterionSkill:
    """One criterion over the rounds. Chances are those of an ordinary pair to reach the required level.

    `is_trend` is False with fewer than MIN_PAIRS settled levels: then only the dots may be shown.
    """

    key: str
    name: str
    is_must_pass: bool
    skill: tuple[float, ...]
    skill_sd: tuple[float, ...]
    chance: tuple[float, ...]
    chance_lo: tuple[float, ...]
    chance_hi: tuple[float, ...]
    next_pair: tuple[float, float, float]
    """Mean, and the ends of 80 %, for the next ordinary pair."""
    n_seen: tuple[int, ...]
    """Settled levels of each round."""
    n_reached: tuple[int, ...]

    @property
    def is_trend(self) -> bool:
        return sum(self.n_seen) >= MIN_PAIRS


@dataclass(frozen=True, slots=True)
class RoundEndSkill:
    """What could be said when a round had been marked, from it and those before; None while under MIN_PAIRS pairs."""

    key: str
    months: float
    n_pairs: int
    joint: float | None
    joint_lo: float | None
    joint_hi: float | None
    prob_at_target: float | None


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


@dataclass(frozen=True, slots=True)
class Modelled:
    """All modelled figures of one history. Rounds and criteria stand in the order of the observations."""

    criteria: tuple[CriterionSkill, ...]
    ends: tuple[RoundEndSkill, ...]
    steps: tuple[Step, ...]
    """Of the mean skill over the must-passes, from each round to the next."""
    each_needs: float | None
    """The chance each must-pass needs, were all alike, for all together to reach the target."""
    judgement: JudgementAnswer | None
    levels_never_used: tuple[int, ...]
    never_scored: tuple[str, ...]


def model(
    observed: Observed, hyper: Hyper | None = None, *, with_ends: bool = True, tick: Tick = lambda: None
) -> tuple[Modelled | None, ReadinessAnswer]:
    """Fit one history. Without a fit there is no figure, and the answer says why."""
    known = hyper or Hyper()
    found = _tried(observed, lambda: _model(observed, known, with_ends=with_ends, tick=tick))
    return (None, _without_fit(observed, found, known)) if isinstance(found, NoFigure) else found


def readiness_alone(observed: Observed, hyper: Hyper | None = None, *, tick: Tick = lambda: None) -> ReadinessAnswer:
    """The same answer as `model` gives, without whatever else it fits."""
    known = hyper or Hyper()
    found = _tried(observed, lambda: _answer(*_fitted(observed, known, tick), observed, known, tick))
    return _without_fit(observed, found, known) if isinstance(found, NoFigure) else found


def _tried(observed: Observed, fitted: Callable[[], Found]) -> Found | NoFigure:
    why = _too_little(observed)
    if why is not None:
        return why
    try:
        return fitted()
    except UnusableInputError:
        return NoFigure.NO_LEVELS
    except NotSettledError:
        return NoFigure.NOT_SETTLED


def _without_fit(observed: Observed, why: NoFigure, hyper: Hyper) -> ReadinessAnswer:
    return answer_without_fit(observed, why, rule_of(hyper), target=hyper.target)


def n_fits(observed: Observed, *, with_ends: bool = True, is_alone: bool = False) -> int:
    """How often `model` will call `tick`; with `is_alone`, how often `readiness_alone` will."""
    if _too_little(observed) is not None:
        return 0
    if is_alone:
        return 2
    return 3 + (len(observed.rounds) if with_ends else 0)


def _too_little(observed: Observed) -> NoFigure | None:
    if not observed.rounds:
        return NoFigure.NO_ROUNDS
    if observed.n_pairs and not observed.scored:
        return NoFigure.NO_LEVELS
    return NoFigure.FEW_PAIRS if len(observed.scored) < MIN_PAIRS else None


def _model(observed: Observed, hyper: Hyper, *, with_ends: bool, tick: Tick) -> tuple[Modelled, ReadinessAnswer]:
    seen, path = _fitted(observed, hyper, tick)
    answer = _answer(seen, path, observed, hyper, tick)
    judgement = judge_self(seen, hyper)
    tick()
    facts = evidence(seen)
    names = {one.key: one.name for one in observed.criteria}
    return Modelled(
        criteria=_criteria(seen, path, observed, hyper),
        ends=_ends(seen, path, hyper, tick) if with_ends else (),
        steps=tuple(Step(*step) for step in round_steps(path.mixture, seen.must_pass or tuple(range(len(names))))),
        each_needs=chance_each_needs(len(seen.must_pass), hyper.target, hyper.pair_sd) if seen.must_pass else None,
        judgement=_judgement(seen, judgement, observed, hyper) if judgement else None,
        levels_never_used=tuple(facts["levels_never_used"]),
        never_scored=tuple(names[key] for key in facts["criteria_never_scored"]),
    ), answer


def _fitted(observed: Observed, hyper: Hyper, tick: Tick) -> tuple[Seen, SkillPath]:
    seen = read_observations(observed.observations)
    path = skill_path(seen, hyper)
    tick()
    return seen, path


def _answer(seen: Seen, path: SkillPath, observed: Observed, hyper: Hyper, tick: Tick) -> ReadinessAnswer:
    if seen.must_pass:
        joint = (path.chance.joint, path.chance.joint_lo80, path.chance.joint_hi80)
        answer = answer_of(readiness(seen, hyper), observed, joint, target=hyper.target)
    else:
        answer = _without_fit(observed, NoFigure.NO_MUST_PASS, hyper)
    tick()
    return answer


def _criteria(seen: Seen, path: SkillPath, observed: Observed, hyper: Hyper) -> tuple[CriterionSkill, ...]:
    middle, low, high = chance_bands(path, hyper.pair_sd)
    skill, sd, chance = as_lists(path.mean), as_lists(path.sd), path.chance
    n_seen = (seen.level != NOT_SEEN).sum(axis=1).tolist()
    n_reached = (seen.level >= seen.required_level).sum(axis=1).tolist()

    def over_rounds(rows: Sequence[Sequence[float]], c: int) -> tuple[float, ...]:
        return tuple(row[c] for row in rows)

    return tuple(
        CriterionSkill(
            key=one.key,
            name=one.name,
            is_must_pass=one.is_must_pass,
            skill=over_rounds(skill, c),
            skill_sd=over_rounds(sd, c),
            chance=over_rounds(middle, c),
            chance_lo=over_rounds(low, c),
            chance_hi=over_rounds(high, c),
            next_pair=(
                float(chance.per_criterion[c]),
                float(chance.per_criterion_lo80[c]),
                float(chance.per_criterion_hi80[c]),
            ),
            n_seen=tuple(row[c] for row in n_seen),
            n_reached=tuple(row[c] for row in n_reached),
        )
        for c, one in enumerate(observed.criteria)
    )


def _ends(seen: Seen, whole: SkillPath, hyper: Hyper, tick: Tick) -> tuple[RoundEndSkill, ...]:
    ends = []
    for n in range(1, seen.n_rounds + 1):
        known = seen.through(n)
        n_pairs = int((known.level != NOT_SEEN).any(axis=2).sum())
        chance = None
        if n_pairs >= MIN_PAIRS and seen.must_pass:
            chance = (whole if n == seen.n_rounds else skill_path(known, hyper)).chance
        ends.append(
            RoundEndSkill(
                key=str(seen.round_names[n - 1]),
                months=float(seen.months[n - 1]),
                n_pairs=n_pairs,
                joint=chance.joint if chance else None,
                joint_lo=chance.joint_lo80 if chance else None,
                joint_hi=chance.joint_hi80 if chance else None,
                prob_at_target=chance.prob_joint_at_least_target if chance else None,
            )
        )
        tick()
    return tuple(ends)


def _judgement(seen: Seen, found: Judgement, observed: Observed, hyper: Hyper) -> JudgementAnswer:
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

"""What the skill model says of one trainee, as plain lists in the order of rounds and criteria."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, TypeVar

from evalkit.maths.errors import NotSettledError, UnusableInputError
from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.skill import SkillPath, evidence
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen, read_observations
from evalkit.maths.skill.judgement import judge_self
from evalkit.maths.skill.rounds import readiness, rule_of
from evalkit.maths.skill.views import as_lists, chance_bands, chance_each_needs, round_steps
from evalkit.progress.assuming import hyper_of
from evalkit.progress.deciding import NoFigure, ReadinessAnswer, answer_of, answer_without_fit
from evalkit.progress.fitting import Fits, fits_of
from evalkit.progress.judging import JudgementAnswer, judgement_of
from evalkit.progress.moves import Step
from evalkit.progress.observing import Observed

if TYPE_CHECKING:
    from evalkit.domain.school_values import SchoolValues

MIN_PAIRS = 5
"""Under this many pairs: dots only, no trend and no modelled figure."""

Found = TypeVar("Found")

Tick = Callable[[], None]
"""Called after each fit, for a progress bar."""


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
    observed: Observed, values: SchoolValues | None = None, *, with_ends: bool = True, tick: Tick = lambda: None
) -> tuple[Modelled | None, ReadinessAnswer]:
    """Fit one history. Without a fit there is no figure, and the answer says why."""
    known = hyper_of(observed, values)
    found = _tried(observed, lambda: _model(observed, known, with_ends=with_ends, tick=tick))
    return (None, _without_fit(observed, found, known)) if isinstance(found, NoFigure) else found


def readiness_alone(
    observed: Observed, values: SchoolValues | None = None, *, tick: Tick = lambda: None
) -> ReadinessAnswer:
    """The same answer as `model` gives, without whatever else it fits."""
    known = hyper_of(observed, values)
    found = _tried(observed, lambda: _answered_alone(observed, known, tick))
    return _without_fit(observed, found, known) if isinstance(found, NoFigure) else found


def _tried(observed: Observed, fitted: Callable[[], Found]) -> Found | NoFigure:
    why = too_little(observed)
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
    if too_little(observed) is not None:
        return 0
    if is_alone:
        return 2
    return 3 + (len(observed.rounds) if with_ends else 0)


def too_little(observed: Observed) -> NoFigure | None:
    """Why there can be no modelled figure; None when there can."""
    if not observed.rounds:
        return NoFigure.NO_ROUNDS
    if observed.n_pairs and not observed.scored:
        return NoFigure.NO_LEVELS
    return NoFigure.FEW_PAIRS if len(observed.scored) < MIN_PAIRS else None


def _model(observed: Observed, hyper: Hyper, *, with_ends: bool, tick: Tick) -> tuple[Modelled, ReadinessAnswer]:
    fits = _fitted(observed, hyper, tick)
    seen, path = fits.seen, fits.path
    answer = _answer(fits, path, observed, tick)
    judgement = judge_self(seen, hyper)
    tick()
    facts = evidence(seen)
    names = {one.key: one.name for one in observed.criteria}
    return Modelled(
        criteria=_criteria(seen, path, observed, hyper),
        ends=_ends(fits, path, tick) if with_ends else (),
        steps=tuple(Step(*step) for step in round_steps(path.mixture, seen.must_pass or tuple(range(len(names))))),
        each_needs=chance_each_needs(len(seen.must_pass), hyper.target, hyper.pair_sd) if seen.must_pass else None,
        judgement=judgement_of(seen, judgement, observed, hyper) if judgement else None,
        levels_never_used=tuple(facts["levels_never_used"]),
        never_scored=tuple(names[key] for key in facts["criteria_never_scored"]),
    ), answer


def _answered_alone(observed: Observed, hyper: Hyper, tick: Tick) -> ReadinessAnswer:
    fits = _fitted(observed, hyper, tick)
    return _answer(fits, fits.path, observed, tick)


def _fitted(observed: Observed, hyper: Hyper, tick: Tick) -> Fits:
    fits = fits_of(read_observations(observed.observations), hyper)
    tick()
    return fits


def _answer(fits: Fits, path: SkillPath, observed: Observed, tick: Tick) -> ReadinessAnswer:
    hyper = fits.hyper
    if fits.seen.must_pass:
        joint = (path.chance.joint, path.chance.joint_lo80, path.chance.joint_hi80)
        found = readiness(fits.seen, hyper, mixture_of=fits.mixture_of)
        answer = answer_of(found, observed, joint, target=hyper.target)
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


def _ends(fits: Fits, path: SkillPath, tick: Tick) -> tuple[RoundEndSkill, ...]:
    seen = fits.seen
    n_pairs = list(accumulate((seen.level != NOT_SEEN).any(axis=2).sum(axis=1).tolist()))
    told = [n for n, pairs in enumerate(n_pairs, 1) if pairs >= MIN_PAIRS and seen.must_pass]
    paths = {**fits.through(told[:-1]), **dict.fromkeys(told[-1:], path)}
    ends = []
    for n, pairs in enumerate(n_pairs, 1):
        chance = paths[n].chance if n in paths else None
        ends.append(
            RoundEndSkill(
                key=str(seen.round_names[n - 1]),
                months=float(seen.months[n - 1]),
                n_pairs=pairs,
                joint=chance.joint if chance else None,
                joint_lo=chance.joint_lo80 if chance else None,
                joint_hi=chance.joint_hi80 if chance else None,
                prob_at_target=chance.prob_joint_at_least_target if chance else None,
            )
        )
        tick()
    return tuple(ends)

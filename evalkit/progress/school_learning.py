"""What all trainees together teach: how far a step of difficulty, a known fault or a mentor moves the levels."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from itertools import combinations
from typing import Any

from evalkit.domain.school_values import Contrast, SchoolValues
from evalkit.maths.errors import NotSettledError, UnusableInputError
from evalkit.maths.skill.hyper import DEFAULT_TAG_EFFECT, Hyper
from evalkit.maths.skill.input import Seen, read_observations
from evalkit.maths.skill.school import LEAST_TRAINEES, LearntHyper, learn_hyper
from evalkit.progress.lining_up import Aside, LineUp
from evalkit.progress.observing import Observed, observe
from evalkit.progress.results import RoundResult

OnPass = Callable[[int], None]
"""Told after each pass over the school."""

MIN_PAIRS = 5
"""A trainee counts among the LEAST_TRAINEES from so many pairs with a settled level on."""


class NoValues(StrEnum):
    """Why nothing is learnt."""

    FEW_TRAINEES = f"fewer than {LEAST_TRAINEES} trainees have {MIN_PAIRS} marked pairs or more"
    NOT_SETTLED = "the calculation did not settle"


@dataclass(frozen=True, slots=True)
class NotLearnt:
    """Why the school teaches nothing yet, and how many trainees would count."""

    why: NoValues
    n_trainees: int

    @property
    def words(self) -> str:
        """One sentence for whoever asked."""
        if self.why is NoValues.NOT_SETTLED:
            return f"{self.why}."
        return (
            f"it takes {LEAST_TRAINEES} trainees with {MIN_PAIRS} marked pairs or more each, judged on one ladder of "
            f"levels; there {'is' if self.n_trainees == 1 else 'are'} {self.n_trainees}."
        )


@dataclass(frozen=True, slots=True)
class Told:
    """What one trainee's rounds bring: `pairs` holds those of a second marking of a round by another mentor too."""

    observed: Observed
    pairs: tuple[dict[str, Any], ...]

    @property
    def ladder(self) -> tuple[int, int]:
        return self.observed.observations["levels"], self.observed.observations["required_level"]

    @property
    def mentors(self) -> set[str]:
        return {pair["mentor"] for pair in self.pairs}


@dataclass(frozen=True, slots=True)
class Learnt:
    """What was learnt, from whom."""

    found: LearntHyper
    seen: tuple[Seen, ...]

    def contrasts(self) -> tuple[Contrast, ...]:
        """Of every two mentors whom a shared trainee ties, the parts of the school one after another."""
        return tuple(
            Contrast(one=one, other=other, by=found[0], error=found[1])
            for part in self.found.parts
            for one, other in combinations(sorted(part), 2)
            if (found := self.found.severity_contrast(one, other)) is not None
        )


def told_by(line: LineUp) -> Told | None:
    """One trainee's observations; a second marking of a round by another mentor is the best tie, so it is added."""
    observed = observe(line)
    if not observed.rounds:
        return None
    kept = {round_.key: round_.result for round_ in observed.rounds}
    others = [
        one.result
        for one in line.set_aside
        if one.why is Aside.MARKED_TWICE and _is_by_another(one.result, kept.get(one.result.round.key))
    ]
    pairs = [*observed.observations["pairs"]]
    for at, other in enumerate(others):
        alone = observe(line.with_rounds([other]))
        pairs += [{**pair, "pair": f"{pair['pair']} again {at}", "self": {}} for pair in alone.observations["pairs"]]
    known = set(observed.observations["criteria"])
    weighing = {fault.tag for fault in observed.faults if fault.criteria}
    return Told(
        observed,
        tuple(
            {
                **pair,
                "scores": {key: level for key, level in pair["scores"].items() if key in known},
                "tags": [tag for tag in pair["tags"] if tag in weighing],
            }
            for pair in pairs
        ),
    )


def _is_by_another(result: RoundResult, kept: RoundResult | None) -> bool:
    if kept is None or kept.marking is None or result.marking is None:
        return False
    return result.marking.mentor_key != kept.marking.mentor_key


def learn(told: Sequence[Told], *, on_pass: OnPass | None = None) -> Learnt | NotLearnt:
    """Every trainee on the ladder that most share, with all criteria of the school."""
    ladders = [one.ladder for one in told]
    most = max(ladders, key=ladders.count, default=None)
    alike = [one for one in told if one.ladder == most]
    criteria = list(dict.fromkeys(key for one in alike for key in one.observed.observations["criteria"]))
    seen = []
    for one in alike:
        try:
            seen.append(read_observations({**one.observed.observations, "criteria": criteria, "pairs": [*one.pairs]}))
        except UnusableInputError:  # nothing of this trainee was scored
            continue
    n_trainees = sum(_n_pairs(one) >= MIN_PAIRS for one in seen)
    if n_trainees < LEAST_TRAINEES:
        return NotLearnt(NoValues.FEW_TRAINEES, n_trainees)
    try:
        return Learnt(learn_hyper(seen, _centres(alike), on_progress=on_pass), tuple(seen))
    except NotSettledError:
        return NotLearnt(NoValues.NOT_SETTLED, n_trainees)


def _n_pairs(seen: Seen) -> int:
    return int((seen.level >= 0).any(axis=2).sum())


def _centres(told: Sequence[Told]) -> Hyper:
    """Where learning starts: the defaults, with a weight for every fault that some rubric gives one."""
    weights: dict[str, dict[str, float]] = {}
    for fault in (fault for one in told for fault in one.observed.faults):
        weights.setdefault(fault.tag, {}).update(dict.fromkeys(fault.criteria, DEFAULT_TAG_EFFECT))
    return replace(Hyper(), tag_effect={tag: effects for tag, effects in weights.items() if effects})


def learn_school(lines: Sequence[LineUp], *, on: date, on_pass: OnPass | None = None) -> SchoolValues | NotLearnt:
    """What the school itself teaches, or why it cannot teach yet. `on` is the day to be written beside it."""
    learnt = learn([one for line in lines if (one := told_by(line)) is not None], on_pass=on_pass)
    return learnt if isinstance(learnt, NotLearnt) else _values(learnt, on)


def _values(learnt: Learnt, on: date) -> SchoolValues:
    found, seen = learnt.found, learnt.seen
    hyper, known = found.hyper, found.plugged
    tied = [part for part in found.parts if len(part) > 1]
    return SchoolValues(
        learnt_on=on,
        n_trainees=len(seen),
        n_rounds=sum(one.n_rounds for one in seen),
        n_pairs=sum(_n_pairs(one) for one in seen),
        n_levels=sum(int((one.level >= 0).sum()) for one in seen),
        top=seen[0].n_levels - 1,
        fit=seen[0].required_level,
        first_skill=known.initial_mean,
        first_skill_sd=known.initial_sd,
        walk_sd=known.rw_sd,
        shared=known.general_share,
        pair_sd=known.pair_sd,
        step=known.difficulty_effect,
        step_error=hyper.difficulty_effect_sd,
        gaps=_each(hyper.gap_median, seen[0].n_levels - 2),
        gap_doubts=_each(hyper.gap_log_sd, seen[0].n_levels - 2),
        faults={tag: dict(effects) for tag, effects in known.tag_effect.items()},
        strictness={name: known.severity[name] for part in tied for name in sorted(part)},
        parts=tuple(tuple(sorted(part)) for part in found.parts),
        contrasts=learnt.contrasts(),
    )


def _each(value: float | tuple[float, ...], n: int) -> tuple[float, ...]:
    return value if isinstance(value, tuple) else (value,) * n

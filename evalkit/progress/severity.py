"""Several mentors: who is stricter, said only where shared trainees tie them together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations
from typing import Any

from evalkit.maths.errors import NotSettledError, UnusableInputError
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import read_observations
from evalkit.maths.skill.mentor_graph import connected_parts
from evalkit.maths.skill.school import LEAST_TRAINEES, LearntHyper, learn_hyper
from evalkit.progress.lining_up import Aside, LineUp
from evalkit.progress.observing import observe
from evalkit.progress.results import RoundResult

OnPass = Callable[[int], None]
"""Told after each pass over the school."""


class NoSeverity(StrEnum):
    """Why no severity is given."""

    ONE_MENTOR = "only one mentor has marked"
    FEW_TRAINEES = "fewer than 5 trainees have marked rounds"
    NOT_SETTLED = "the calculation did not settle"


@dataclass(frozen=True, slots=True)
class Contrast:
    """How much stricter `one` marks than `other`, in logits, with its standard error. Above nought: stricter."""

    one: str
    other: str
    by: float
    error: float


@dataclass(frozen=True, slots=True)
class SeverityAnswer:
    """Contrasts inside each part of the graph mentor - trainee; between parts nothing can be said and nothing is."""

    parts: tuple[tuple[str, ...], ...]
    contrasts: tuple[Contrast, ...]
    why_none: NoSeverity | None


def severity_of(lines: Sequence[LineUp], *, on_pass: OnPass | None = None) -> SeverityAnswer:
    """Severities learnt from all trainees together; with fewer than 5 only the parts of the graph are told."""
    told = [given for line in lines if (given := _observations(line)) is not None]
    parts = tuple(tuple(sorted(part)) for part in connected_parts(_mentors(given) for given in told))
    if sum(len(part) for part in parts) < 2:
        return SeverityAnswer(parts, (), NoSeverity.ONE_MENTOR)
    try:
        learnt = _learn(told, on_pass)
    except NotSettledError:
        return SeverityAnswer(parts, (), NoSeverity.NOT_SETTLED)
    if learnt is None:
        return SeverityAnswer(parts, (), NoSeverity.FEW_TRAINEES)
    contrasts = [
        Contrast(one, other, *found)
        for part in parts
        for one, other in combinations(part, 2)
        if (found := learnt.severity_contrast(one, other)) is not None
    ]
    return SeverityAnswer(parts, tuple(contrasts), None)


def learn_school(lines: Sequence[LineUp], *, on_pass: OnPass | None = None) -> Hyper | None:
    """What the school itself teaches about pairs, difficulty and levels; None with fewer than 5 trainees."""
    learnt = _learn([given for line in lines if (given := _observations(line)) is not None], on_pass)
    return None if learnt is None else learnt.hyper


def _learn(told: Sequence[dict[str, Any]], on_pass: OnPass | None) -> LearntHyper | None:
    """Every trainee on the ladder that most share, with all criteria of the school."""
    ladders = [(given["levels"], given["required_level"]) for given in told]
    most = max(ladders, key=ladders.count, default=None)
    alike = [given for given, ladder in zip(told, ladders, strict=True) if ladder == most]
    criteria = list(dict.fromkeys(key for given in alike for key in given["criteria"]))
    seen = []
    for given in alike:
        try:
            seen.append(read_observations({**given, "criteria": criteria}))
        except UnusableInputError:  # nothing of this trainee was scored
            continue
    return learn_hyper(seen, on_progress=on_pass) if len(seen) >= LEAST_TRAINEES else None


def _observations(line: LineUp) -> dict[str, Any] | None:
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
    for pair in pairs:
        pair["scores"] = {key: level for key, level in pair["scores"].items() if key in known}
    return {**observed.observations, "pairs": pairs}


def _is_by_another(result: RoundResult, kept: RoundResult | None) -> bool:
    if kept is None or kept.marking is None or result.marking is None:
        return False
    return result.marking.mentor_key != kept.marking.mentor_key


def _mentors(given: dict[str, Any]) -> set[str]:
    return {pair["mentor"] for pair in given["pairs"]}

"""Several mentors: who is stricter, said only where shared trainees tie them together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from evalkit.domain.school_values import Contrast, SchoolValues
from evalkit.maths.skill.mentor_graph import connected_parts
from evalkit.progress.lining_up import LineUp
from evalkit.progress.school_learning import NotLearnt, NoValues, OnPass, learn, told_by


class NoSeverity(StrEnum):
    """Why no severity is given."""

    ONE_MENTOR = "only one mentor has marked"
    FEW_TRAINEES = NoValues.FEW_TRAINEES
    NOT_SETTLED = NoValues.NOT_SETTLED


@dataclass(frozen=True, slots=True)
class SeverityAnswer:
    """Contrasts inside each part of the graph mentor - trainee; between parts nothing can be said and nothing is."""

    parts: tuple[tuple[str, ...], ...]
    contrasts: tuple[Contrast, ...]
    why_none: NoSeverity | None


def severity_of(lines: Sequence[LineUp], *, on_pass: OnPass | None = None) -> SeverityAnswer:
    """Severities learnt from all trainees together; with fewer than 5 only the parts of the graph are told."""
    told = [one for line in lines if (one := told_by(line)) is not None]
    parts = tuple(tuple(sorted(part)) for part in connected_parts(one.mentors for one in told))
    if sum(len(part) for part in parts) < 2:
        return SeverityAnswer(parts, (), NoSeverity.ONE_MENTOR)
    learnt = learn(told, on_pass=on_pass)
    if isinstance(learnt, NotLearnt):
        return SeverityAnswer(parts, (), NoSeverity(learnt.why.value))
    return SeverityAnswer(parts, learnt.contrasts(), None)


def severity_in(values: SchoolValues) -> SeverityAnswer:
    """What was learnt of the mentors when the school was last asked."""
    is_alone = sum(len(part) for part in values.parts) < 2
    return SeverityAnswer(values.parts, values.contrasts, NoSeverity.ONE_MENTOR if is_alone else None)

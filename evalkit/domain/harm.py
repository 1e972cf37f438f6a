"""Harm and good: criterion by criterion, as returned against as received."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from evalkit.domain.criterion import CriterionOn
from evalkit.domain.grading import CriterionGrade, PairGrade


class Change(StrEnum):
    """What the work did to one criterion."""

    IMPROVED = "improved"
    KEPT = "kept"
    HARMED = "harmed"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class CriterionChange:
    """One criterion before and after; either grade may be missing or a range."""

    on: CriterionOn
    before: CriterionGrade | None
    after: CriterionGrade | None
    change: Change


def changes_of(received: PairGrade, returned: PairGrade) -> tuple[CriterionChange, ...]:
    """Compare two grades of one pair. Different eyes may have made them; the report says whose each is."""
    before = {grade.key: grade for grade in received.criteria}
    return tuple(
        CriterionChange(after.on, before.get(after.key), after, change_of(before.get(after.key), after))
        for after in returned.criteria
    )


def change_of(before: CriterionGrade | None, after: CriterionGrade | None) -> Change:
    """Improved or harmed only when the ranges do not overlap; kept only when both are settled and equal."""
    if before is None or after is None or before.seen is None or after.seen is None:
        return Change.CANNOT_TELL
    if after.lo > before.hi:
        return Change.IMPROVED
    if after.hi < before.lo:
        return Change.HARMED
    return Change.KEPT if before.level is not None and before.level == after.level else Change.CANNOT_TELL

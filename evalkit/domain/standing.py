"""What a pair counts for: graded work, or a right or wrong decision that stands outside the average."""

from __future__ import annotations

from enum import StrEnum
from typing import assert_never

from evalkit.domain.triage import Decision


class Standing(StrEnum):
    """GRADED pairs make the average; the others are told apart from it."""

    GRADED = "graded"
    RIGHTLY_LEFT = "rightly left alone"
    RIGHTLY_ADJUSTED = "rightly only adjusted"
    LEFT = "left alone"


class Finding(StrEnum):
    """A decision that was not the one the pair called for."""

    WRONGLY_REFUSED = "wrongly refused"
    NEEDLESS_WORK = "needless work"
    WORKED_BEYOND_REPAIR = "worked though beyond repair"
    ONLY_ADJUSTED = "only adjusted though it needed sharpening"


def standing_of(decision: Decision | None, called_for: Decision | None) -> tuple[Standing, Finding | None]:
    """From what the trainee decided and what the pair called for; unknown on either side finds nothing."""
    match decision:
        case None:
            return Standing.GRADED, None
        case Decision.LEAVE:
            if called_for is Decision.LEAVE:
                return Standing.RIGHTLY_LEFT, None
            return Standing.LEFT, None if called_for is None else Finding.WRONGLY_REFUSED
        case Decision.ADJUST_ONLY:
            if called_for is Decision.ADJUST_ONLY:
                return Standing.RIGHTLY_ADJUSTED, None
            return Standing.GRADED, _finding_on_work(called_for, Finding.ONLY_ADJUSTED)
        case Decision.SHARPEN:
            return Standing.GRADED, _finding_on_work(called_for, None)
        case _:
            assert_never(decision)


def _finding_on_work(called_for: Decision | None, when_sharpening: Finding | None) -> Finding | None:
    match called_for:
        case None:
            return None
        case Decision.LEAVE:
            return Finding.WORKED_BEYOND_REPAIR
        case Decision.ADJUST_ONLY:
            return Finding.NEEDLESS_WORK
        case Decision.SHARPEN:
            return when_sharpening
        case _:
            assert_never(called_for)

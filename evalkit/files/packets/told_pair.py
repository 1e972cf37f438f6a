"""What the mentor knew of the pairs before the box left, told with the report: the trainee's progress goes by it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pydantic import Field

from evalkit.domain.pair import KnownFault
from evalkit.domain.round import NumberedPair, Round
from evalkit.domain.triage import Decision
from evalkit.domain.value import Key, Value


class ToldFault(Value):
    """A fault without its place and the mentor's words on it: the pair may be sent again."""

    tag: Key
    severity: int = Field(ge=1, le=3)


class ToldPair(Value):
    """How hard a pair was taken to be, with which faults, and which decision it was thought to call for."""

    number: int = Field(ge=1, le=999)
    difficulty: int = Field(ge=1, le=5)
    faults: tuple[ToldFault, ...] = Field(default=(), max_length=40)
    called_for: Decision | None = None


def told_pairs(round_: Round) -> tuple[ToldPair, ...]:
    """All that a report tells of the pairs beside what lay in the box."""
    return tuple(
        ToldPair(
            number=one.number,
            difficulty=one.pair.difficulty,
            faults=tuple(ToldFault(tag=fault.tag, severity=fault.severity) for fault in one.pair.faults),
            called_for=one.called_for,
        )
        for one in round_.pairs
    )


def with_told(round_: Round, told: Iterable[ToldPair]) -> Round:
    """The round with what is told of its pairs; a number that the box does not hold is left aside."""
    by_number = {one.number: one for one in told}
    return round_.model_copy(update={"pairs": _told(round_.pairs, by_number)})


def _told(pairs: Sequence[NumberedPair], told: dict[int, ToldPair]) -> tuple[NumberedPair, ...]:
    return tuple(_with(one, told[one.number]) if one.number in told else one for one in pairs)


def _with(one: NumberedPair, told: ToldPair) -> NumberedPair:
    faults = tuple(KnownFault(tag=fault.tag, severity=fault.severity) for fault in told.faults)
    pair = one.pair.model_copy(update={"difficulty": told.difficulty, "faults": faults})
    return one.model_copy(update={"pair": pair, "called_for": told.called_for})

"""One box of numbered pairs, out to a trainee and back: its pairs, its journey, its state."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated, Self, assert_never

from pydantic import Field, StringConstraints, model_validator

from evalkit.domain.pair import Pair
from evalkit.domain.triage import Decision
from evalkit.domain.value import Key, Line, Note, Value
from evalkit.errors import InputError

Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]


class LegKind(StrEnum):
    """One step of the journey."""

    SENT = "sent"
    RECEIVED = "received"
    RETURNED = "returned"
    RECEIVED_BACK = "received back"
    LOST = "lost"


class RoundState(StrEnum):
    """Where the box is."""

    PLANNED = "planned"
    ON_ITS_WAY = "on its way out"
    WITH_TRAINEE = "with the trainee"
    ON_ITS_WAY_BACK = "on its way back"
    BACK = "back with the mentor"
    LOST = "lost"


NEXT_LEGS = {
    RoundState.PLANNED: (LegKind.SENT,),
    RoundState.ON_ITS_WAY: (LegKind.RECEIVED, LegKind.LOST),
    RoundState.WITH_TRAINEE: (LegKind.RETURNED,),
    RoundState.ON_ITS_WAY_BACK: (LegKind.RECEIVED_BACK, LegKind.LOST),
    RoundState.BACK: (),
    RoundState.LOST: (),
}


AWAY = (RoundState.ON_ITS_WAY, RoundState.WITH_TRAINEE, RoundState.ON_ITS_WAY_BACK)


def overdue_days(state: RoundState, since: date, today: date, limit_days: int) -> int | None:
    """Days since the last step of a box in this state, when it is away and they are more than the limit."""
    days = (today - since).days
    return days if state in AWAY and days > limit_days else None


"""The box is not with the mentor, and may still come."""


class Person(Value):
    """A mentor or a trainee: the key names them in files and commands, the name on paper."""

    key: Key
    name: Line = Field(min_length=1)


class Leg(Value):
    """One step of the box: when, under which reference of the carrier, in what condition."""

    kind: LegKind
    happened_on: date
    carrier_ref: Line = ""
    condition: Note = ""


class NumberedPair(Value):
    """A pair of the stock under the number it wears in this round. `called_for` is the mentor's own view, if given."""

    number: int = Field(ge=1, le=999)
    pair: Pair
    called_for: Decision | None = None


class Round(Value):
    """One box. The rubric is named by its content, so that a later edit cannot change what was agreed."""

    key: Key
    trainee: Person
    mentor: Person
    rubric_key: Key
    rubric_version: int = Field(ge=1)
    rubric_digest: Digest
    planned_on: date
    pairs: tuple[NumberedPair, ...] = Field(min_length=1)
    legs: tuple[Leg, ...] = ()

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        numbers = [numbered.number for numbered in self.pairs]
        tags = [numbered.pair.tag for numbered in self.pairs]
        if len(set(numbers)) < len(numbers):
            raise ValueError("two pairs wear the same number")
        if len(set(tags)) < len(tags):
            raise ValueError("one pair lies in the box twice")
        return self

    @property
    def state(self) -> RoundState:
        return state_after(self.legs[-1].kind) if self.legs else RoundState.PLANNED

    @property
    def numbers(self) -> tuple[int, ...]:
        return tuple(sorted(numbered.number for numbered in self.pairs))

    def get_pair(self, number: int) -> NumberedPair:
        """The pair that wears `number`. Raises InputError when the box has none."""
        for numbered in self.pairs:
            if numbered.number == number:
                return numbered
        raise InputError(
            f"there is no pair {number} in this round.",
            mend=f"The box holds the numbers {span_words(self.numbers)}.",
            where=f"round {self.key}",
        )

    def leg_on(self, kind: LegKind) -> date | None:
        """The day of the latest leg of that kind."""
        return next((leg.happened_on for leg in reversed(self.legs) if leg.kind is kind), None)

    def days_overdue(self, today: date, limit_days: int) -> int | None:
        """Days since the last step of a box that is away, when they are more than the limit; None otherwise."""
        return overdue_days(self.state, self.legs[-1].happened_on, today, limit_days) if self.legs else None

    def after(self, leg: Leg) -> Round:
        """This round one leg further. Raises InputError when that leg cannot come next or runs back in time."""
        if leg.kind not in NEXT_LEGS[self.state]:
            nexts = " or ".join(f"'{kind}'" for kind in NEXT_LEGS[self.state])
            raise InputError(
                f"the box is {self.state}; it cannot be '{leg.kind}' now.",
                mend=f"Write down {nexts} first." if nexts else "Its journey is over; nothing is left to write down.",
                where=f"round {self.key}",
            )
        before = self.legs[-1].happened_on if self.legs else self.planned_on
        if leg.happened_on < before:
            raise InputError(
                f"'{leg.kind}' on {leg.happened_on} lies before {before}, the step before it.",
                mend="Give the day on which it happened.",
                where=f"round {self.key}",
            )
        return self.model_copy(update={"legs": (*self.legs, leg)})

    def with_last(self, leg: Leg) -> Round:
        """This round with its last leg said anew. Raises InputError when that was of another kind, or as `after`."""
        if not self.legs or self.legs[-1].kind is not leg.kind:
            raise InputError(
                f"the box is {self.state}; there is no '{leg.kind}' to correct.",
                mend="Write it down first." if leg.kind in NEXT_LEGS[self.state] else "Only the last step can be.",
                where=f"round {self.key}",
            )
        return self.model_copy(update={"legs": self.legs[:-1]}).after(leg)


def state_after(kind: LegKind) -> RoundState:
    """Where the box is when a leg of this kind was the last."""
    match kind:
        case LegKind.SENT:
            return RoundState.ON_ITS_WAY
        case LegKind.RECEIVED:
            return RoundState.WITH_TRAINEE
        case LegKind.RETURNED:
            return RoundState.ON_ITS_WAY_BACK
        case LegKind.RECEIVED_BACK:
            return RoundState.BACK
        case LegKind.LOST:
            return RoundState.LOST
        case _:
            assert_never(kind)


def span_words(numbers: tuple[int, ...]) -> str:
    """Numbers as a person would say them: 1 to 12, or 1, 3, 7."""
    if len(numbers) > 2 and numbers == tuple(range(numbers[0], numbers[-1] + 1)):
        return f"{numbers[0]} to {numbers[-1]}"
    return ", ".join(str(number) for number in numbers)

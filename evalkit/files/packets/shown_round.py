"""A round as its trainee may know it: what lies in the box, and nothing of what the mentor knows or expects of it.

Faults, difficulty, the called-for decision, origin and declared value have no field here, so they cannot be sent.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Self

from pydantic import Field, ValidationError, model_validator

from evalkit.domain.pair import EdgeLine, EdgeType, Hand, Handle, Make, Pair, SizeMethod
from evalkit.domain.round import Digest, Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.value import Key, Line, Value


class ShownPair(Value):
    """A pair as one can see it on the bench, under its number; what is possible, `Pair` says."""

    number: int = Field(ge=1, le=999)
    tag: str
    edge_type: EdgeType
    edge_line: EdgeLine = EdgeLine.UNKNOWN
    size_in: Decimal
    size_method: SizeMethod = SizeMethod.WITHOUT_REST
    blade_length_mm: float | None = None
    hand: Hand = Hand.RIGHT
    handle: Handle = Handle.UNKNOWN
    make: Make = Make.UNKNOWN
    teeth: int | None = None
    pivot: Line = ""

    @model_validator(mode="after")
    def _is_a_pair(self) -> Self:
        _made(self.as_pair)
        return self

    def as_pair(self) -> Pair:
        """The pair, with everything at its default that is not shown."""
        return Pair(**self.model_dump(exclude={"number"}))


class ShownLeg(Value):
    """One step of the journey, without the carrier's reference and remarks on the box."""

    kind: LegKind
    happened_on: date


class ShownRound(Value):
    """A box: whose, by which rubric, with which pairs."""

    key: Key
    trainee: Person
    mentor: Person
    rubric_key: Key
    rubric_version: int = Field(ge=1)
    rubric_digest: Digest
    planned_on: date
    pairs: tuple[ShownPair, ...] = Field(min_length=1, max_length=200)
    legs: tuple[ShownLeg, ...] = Field(default=(), max_length=40)

    @model_validator(mode="after")
    def _is_a_round(self) -> Self:
        _made(self.as_round)
        return self

    def as_round(self) -> Round:
        """The round, with everything at its default that is not shown."""
        return Round(
            **{name: getattr(self, name) for name in type(self).model_fields if name not in {"pairs", "legs"}},
            pairs=tuple(NumberedPair(number=one.number, pair=one.as_pair()) for one in self.pairs),
            legs=tuple(Leg(kind=leg.kind, happened_on=leg.happened_on) for leg in self.legs),
        )


def shown_round(round_: Round) -> ShownRound:
    """What a trainee may know of `round_`."""
    return ShownRound(
        **{name: getattr(round_, name) for name in ShownRound.model_fields if name not in {"pairs", "legs"}},
        pairs=tuple(_shown_pair(one) for one in round_.pairs),
        legs=tuple(ShownLeg(kind=leg.kind, happened_on=leg.happened_on) for leg in round_.legs),
    )


def _shown_pair(one: NumberedPair) -> ShownPair:
    shared = {name: getattr(one.pair, name) for name in ShownPair.model_fields if name != "number"}
    return ShownPair(number=one.number, **shared)


def _made(make: Callable[[], object]) -> None:
    """Let the noun of the trade check itself, and tell its first fault as one sentence."""
    try:
        make()
    except ValidationError as error:
        raise ValueError(error.errors()[0]["msg"].removeprefix("Value error, ")) from None

"""The mentor's own readings of the pairs of a box before it was posted: what there was for the trainee to find."""

from __future__ import annotations

from datetime import date
from typing import Self

from pydantic import Field, model_validator

from evalkit.domain.assessment import Photo
from evalkit.domain.reading import Reading, Stage, find_doubled
from evalkit.domain.round import Digest, Round, RoundState
from evalkit.domain.value import Key, Prose, Value
from evalkit.errors import InputError

BEFORE_TRAINEE = (RoundState.PLANNED, RoundState.ON_ITS_WAY)
"""While the box is here or on its way out, nobody can have said anything of its pairs yet."""


class IntakePair(Value):
    """What the mentor saw of one pair before it left; its stage is 'as received', for so the trainee gets it."""

    number: int = Field(ge=1, le=999)
    readings: tuple[Reading, ...] = ()
    notes: Prose = ""
    photos: tuple[Photo, ...] = Field(default=(), max_length=40)

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        for reading in self.readings:
            if reading.number != self.number or reading.stage is not Stage.AS_RECEIVED:
                raise ValueError(f"a reading of pair {reading.number} {reading.stage} does not belong here")
        if (twice := find_doubled(self.readings)) is not None:
            raise ValueError(f"'{twice.criterion}' at {twice.place} {twice.stage} stands twice for one pair")
        return self


class Intake(Value):
    """One version of a mentor's readings of a box before it was posted."""

    round_key: Key
    mentor_key: Key
    rubric_digest: Digest
    read_on: date | None = None
    pairs: tuple[IntakePair, ...]

    @model_validator(mode="after")
    def _numbers_once(self) -> Self:
        numbers = [pair.number for pair in self.pairs]
        if len(set(numbers)) < len(numbers):
            raise ValueError("a number stands twice")
        return self

    def find_pair(self, number: int) -> IntakePair | None:
        return next((pair for pair in self.pairs if pair.number == number), None)


def check_before_trainee(round_: Round) -> None:
    """Raises InputError once the box has been with the trainee: later readings would not be blind to their word."""
    if round_.state not in BEFORE_TRAINEE:
        raise InputError(
            f"the box is {round_.state}; intake readings are made before it reaches the trainee.",
            mend="Leave them out: readings made later would not be blind to what the trainee says.",
            where=f"round {round_.key}",
        )

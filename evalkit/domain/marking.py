"""The mentor's readings and comments for a round, and whether they were made blind."""

from __future__ import annotations

from datetime import date
from typing import Self

from pydantic import Field, model_validator

from evalkit.domain.assessment import Photo
from evalkit.domain.reading import Reading, Stage, find_doubled
from evalkit.domain.round import Digest
from evalkit.domain.triage import Decision
from evalkit.domain.value import Key, Line, Note, Prose, Value


class Comment(Value):
    """A remark on one criterion."""

    criterion: Key
    text: Note


class Answer(Value):
    """An answer to one of the trainee's questions; `question` counts from 1 within the pair."""

    question: int = Field(ge=1, le=20)
    text: Note


_SAID_ONCE = ("transit_note", "called_for", "keep", "change", "notes")


class MarkedPair(Value):
    """What the mentor saw of one pair.

    `transit` names criteria that the journey back spoiled: what the trainee delivered there was not seen, so it
    counts neither for nor against. `was_opened` records that the assessment had been read before marking: not blind.
    """

    number: int = Field(ge=1, le=999)
    readings: tuple[Reading, ...] = ()
    transit: tuple[Key, ...] = ()
    transit_note: Note = ""
    called_for: Decision | None = None
    comments: tuple[Comment, ...] = Field(default=(), max_length=60)
    keep: Line = ""
    change: Line = ""
    answers: tuple[Answer, ...] = Field(default=(), max_length=20)
    notes: Prose = ""
    photos: tuple[Photo, ...] = Field(default=(), max_length=40)
    was_opened: bool = False

    @property
    def is_blank(self) -> bool:
        """Whether nothing at all stands on the pair but its number."""
        return self == MarkedPair(number=self.number)

    @property
    def judged(self) -> tuple[object, ...]:
        """What was judged of the pair. Comments, answers and photos may come after both views were read."""
        return self.readings, self.transit, self.called_for

    def as_blind_as(self, before: MarkedPair | None) -> MarkedPair:
        """What is judged as it was before was judged when that was; anything else as it says itself."""
        if before is None or before.judged != self.judged:
            return self
        return self.model_copy(update={"was_opened": before.was_opened})

    def answers_all_of(self, other: MarkedPair) -> bool:
        """Whether everything that `other` says something of is said something of here too, be it otherwise."""
        return (
            {(one.criterion, one.place) for one in other.readings}
            <= {(one.criterion, one.place) for one in self.readings}
            and set(other.transit) <= set(self.transit)
            and {one.criterion for one in other.comments} <= {one.criterion for one in self.comments}
            and {one.question for one in other.answers} <= {one.question for one in self.answers}
            and {one.file for one in other.photos} <= {one.file for one in self.photos}
            and all(getattr(self, name) or not getattr(other, name) for name in _SAID_ONCE)
        )

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        for reading in self.readings:
            if reading.number != self.number or reading.stage is not Stage.AS_RETURNED:
                raise ValueError(f"a reading of pair {reading.number} {reading.stage} does not belong here")
        if (twice := find_doubled(self.readings)) is not None:
            raise ValueError(f"'{twice.criterion}' at {twice.place} {twice.stage} stands twice for one pair")
        if len({answer.question for answer in self.answers}) < len(self.answers):
            raise ValueError("a question is answered twice")
        return self


class Marking(Value):
    """One version of a mentor's marking of a round."""

    round_key: Key
    mentor_key: Key
    rubric_digest: Digest
    marked_on: date | None = None
    pairs: tuple[MarkedPair, ...]
    letter: Prose = ""

    @model_validator(mode="after")
    def _numbers_once(self) -> Self:
        numbers = [pair.number for pair in self.pairs]
        if len(set(numbers)) < len(numbers):
            raise ValueError("a number stands twice")
        return self

    @property
    def is_blind(self) -> bool:
        """True only when no pair's assessment was opened before that pair was marked."""
        return not any(pair.was_opened for pair in self.pairs)

    def as_blind_as(self, before: Marking) -> Self:
        """With each pair as blind as it was before, where it is judged as it was."""
        pairs = tuple(pair.as_blind_as(before.find_pair(pair.number)) for pair in self.pairs)
        return self.model_copy(update={"pairs": pairs})

    def find_pair(self, number: int) -> MarkedPair | None:
        return next((pair for pair in self.pairs if pair.number == number), None)

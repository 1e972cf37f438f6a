"""The mentor's word that a trainee may take customers' shears, with the evidence as it stood; it can be taken back."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Self

from pydantic import Field, StringConstraints, model_validator

from evalkit.domain.pair import EdgeType
from evalkit.domain.value import Key, Note, Value
from evalkit.errors import AlreadyError, InputError

MAX_EVIDENCE = 2_000_000

Evidence = Annotated[str, StringConstraints(min_length=2, max_length=MAX_EVIDENCE, pattern=r"^\{[^\x00]*\}\s*$")]
"""One JSON object as text, kept letter for letter."""


class SignOff(Value):
    """One sign-off. It is an act of the mentor: the figures advise, and `answers` says what they advised that day."""

    trainee_key: Key
    mentor_key: Key
    edge_types: tuple[EdgeType, ...] = Field(min_length=1)
    signed_on: date
    answers: dict[EdgeType, str] = Field(description="what the readiness rule said of each edge type that day")
    evidence: Evidence
    note: Note = Field(default="", description="the mentor's reason; asked for when the rule did not say ready")
    withdrawn_on: date | None = None
    reason: Note = Field(default="", description="why it was withdrawn")

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if len(set(self.edge_types)) < len(self.edge_types):
            raise ValueError("an edge type stands twice")
        if set(self.answers) != set(self.edge_types):
            raise ValueError("every edge type needs the answer as it stood, and no other has one")
        if (self.withdrawn_on is None) != (not self.reason.strip()):
            raise ValueError("a withdrawal needs its day and its reason")
        if self.withdrawn_on is not None and self.withdrawn_on < self.signed_on:
            raise ValueError("it cannot be withdrawn before it was given")
        return self

    @property
    def stands(self) -> bool:
        return self.withdrawn_on is None

    def withdrawn(self, on: date, reason: str) -> SignOff:
        """This sign-off, taken back. Raises AlreadyError when it was, InputError for a day before or no reason."""
        where = f"sign-off of {self.trainee_key}, {self.signed_on}"
        if self.withdrawn_on is not None:
            raise AlreadyError(
                f"it was withdrawn on {self.withdrawn_on}.", mend="There is nothing more to withdraw.", where=where
            )
        if not reason.strip():
            raise InputError("a withdrawal needs its reason.", mend="Say it with --reason.", where=where)
        if on < self.signed_on:
            raise InputError(
                f"{on} lies before the day it was given.", mend="Give the day on which it is withdrawn.", where=where
            )
        return SignOff.model_validate({**self.model_dump(), "withdrawn_on": on, "reason": reason})

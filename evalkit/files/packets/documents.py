"""The JSON documents of a packet: each an object that opens with its format number and kind.

The JSON Schemas of them are published in templates/packets/.
"""

from __future__ import annotations

from typing import Literal, Self, TypeVar

from pydantic import AwareDatetime, BaseModel, Field, JsonValue, ValidationError, model_validator

from evalkit.domain.assessment import Assessment
from evalkit.domain.marking import Marking
from evalkit.domain.round import Person
from evalkit.domain.rubric import Rubric
from evalkit.domain.value import Line, Note, Value
from evalkit.errors import InputError
from evalkit.files.field_words import faults_in_words
from evalkit.files.packets.refusing import not_as_made, shown
from evalkit.files.packets.shown_round import ShownRound
from evalkit.files.packets.strict_json import read_json
from evalkit.files.packets.told_pair import ToldPair
from evalkit.files.plain_words import MAX_FAULTS

FORMAT: Literal[1] = 1
"""Number of the packets' documents. 1: first."""


class AssessmentDocument(Value):
    """A trainee's sealed assessment. `version` counts the sealed versions from 1; a later one says why."""

    format: Literal[1] = FORMAT
    kind: Literal["assessment"] = "assessment"
    version: int = Field(ge=1, le=999)
    reason: Note = ""
    sealed_at: AwareDatetime
    assessment: Assessment

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if self.version > 1 and not self.reason.strip():
            raise ValueError("a later version needs its reason")
        return self


class MarkingDocument(Value):
    """A mentor's finished marking, by whom, and what the mentor knew of the pairs, which their trainee may know now."""

    format: Literal[1] = FORMAT
    kind: Literal["marking"] = "marking"
    version: int = Field(default=1, ge=1, le=999)
    reason: Note = ""
    finished_at: AwareDatetime | None = None
    marking: Marking
    marked_by: Person | None = None
    told: tuple[ToldPair, ...] = Field(default=(), max_length=200)


class RoundDocument(Value):
    """A box as its trainee may know it."""

    format: Literal[1] = FORMAT
    kind: Literal["round"] = "round"
    round: ShownRound


class RubricDocument(Value):
    """The rubric that the round is judged by."""

    format: Literal[1] = FORMAT
    kind: Literal["rubric"] = "rubric"
    rubric: Rubric


class PractiseDocument(Value):
    """What the last report said to practise, most important first; empty for a first round."""

    format: Literal[1] = FORMAT
    kind: Literal["practise"] = "practise"
    practise: tuple[Line, ...] = Field(default=(), max_length=10)


class ReportDocument(Value):
    """A graded report; `report` is the document of templates/report.schema.json."""

    format: Literal[1] = FORMAT
    kind: Literal["report"] = "report"
    report: dict[str, JsonValue]

    @model_validator(mode="after")
    def _names_its_round(self) -> Self:
        if self.report.get("format") != 1 or not isinstance(self.report.get("round"), str):
            raise ValueError("the report names neither its format nor its round")
        return self

    @property
    def round_key(self) -> str:
        return str(self.report["round"])


Document = AssessmentDocument | MarkingDocument | RoundDocument | RubricDocument | PractiseDocument | ReportDocument

DOCUMENTS: dict[str, type[Document]] = {
    "assessment": AssessmentDocument,
    "marking": MarkingDocument,
    "practise": PractiseDocument,
    "report": ReportDocument,
    "round": RoundDocument,
    "rubric": RubricDocument,
}
"""Each document by its kind, which is the name of its file too."""

D = TypeVar("D", bound=BaseModel)


def document_bytes(document: Document) -> bytes:
    """A document as it is written into a packet."""
    return document.model_dump_json(by_alias=True, indent=1).encode() + b"\n"


def read_document(data: bytes, kind: str, where: str) -> Document:
    """The document of that kind. Raises InputError with its first fault."""
    plain = read_json(data, where)
    number = plain.get("format")
    if type(number) is int and number > FORMAT:
        what = f"the document is of format {number}: it was made by a newer evalkit."
        raise InputError(what, mend="Update evalkit, then try again.", where=where)
    if type(number) is not int or number < 1 or plain.get("kind") != kind:
        what = f"the document does not say that it is format {FORMAT} of kind {kind}."
        raise not_as_made(what, where)
    return parse(data, DOCUMENTS[kind], where)


def parse(data: bytes, model: type[D], where: str) -> D:
    """JSON as a value of `model`, nothing converted. Raises InputError with the first fault and the count of others."""
    try:
        return model.model_validate_json(data, strict=True)
    except ValidationError as error:
        if (n_faults := error.error_count()) > MAX_FAULTS:
            raise not_as_made(f"the document has {n_faults} faults.", where) from None
        (what, _), *others = faults_in_words(error)
        more = f" {len(others)} more such." if others else ""
        raise not_as_made(shown(what, 240) + more, where) from None

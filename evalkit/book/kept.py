"""What the book answers beside the trade's own nouns."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Literal

from evalkit.book.canonical import Plain
from evalkit.book.schema import moment_text
from evalkit.domain.assessment import Assessment
from evalkit.domain.intake import Intake
from evalkit.domain.marking import Marking
from evalkit.domain.round import Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.signoff import SignOff

Role = Literal["mentor", "trainee"]


@dataclass(frozen=True, slots=True)
class Kept:
    """Under which version a document stands. `is_new` is False when the book held the same content already."""

    version: int
    is_new: bool


@dataclass(frozen=True, slots=True)
class SealedAssessment:
    """One sealed version. `seal` is the SHA-256 of its canonical JSON; `reason` is empty for the first."""

    assessment: Assessment
    version: int
    sealed_at: datetime
    reason: str
    seal: str


@dataclass(frozen=True, slots=True)
class FinishedMarking:
    """One finished version of a marking; `reason` is empty for the first."""

    marking: Marking
    version: int
    finished_at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class VersionLine:
    """That a version exists: whose, since when, and why it was amended."""

    version: int
    by: str
    at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class FrozenRubric:
    """A rubric as it was first used."""

    key: str
    version: int
    digest: str
    name: str
    frozen_at: datetime


@dataclass(frozen=True, slots=True)
class KeptSignOff:
    """A sign-off under its number in the book."""

    number: int
    sign_off: SignOff
    signed_at: datetime
    withdrawn_at: datetime | None


@dataclass(frozen=True, slots=True)
class PacketHead:
    """Which packet: its seal, kind and round, and the sender's version of what is in it; None for a kind without."""

    seal: str
    kind: str
    round_key: str
    version: int | None = None


@dataclass(frozen=True, slots=True)
class TakenPacket:
    """A packet that was taken in, and the book's own version of what was in it; None for a kind without."""

    head: PacketHead
    became: int | None
    taken_at: datetime


@dataclass(frozen=True, slots=True)
class ToldReport:
    """What a report packet tells a trainee's own book. Versions and reasons are the mentor's; '' for a first."""

    round: Round
    rubric: Rubric
    assessment: Assessment | None
    assessment_reason: str
    marking: Marking
    marking_reason: str
    marked_by: Person
    assessment_version: int = 1
    marking_version: int = 1


@dataclass(frozen=True, slots=True)
class KeptIntake:
    """One version of the readings made before a box was posted; `reason` is empty for the first."""

    intake: Intake
    version: int
    taken_at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class PhotoRow:
    """A picture that the book knows; its bytes lie in the photo folder under `sha256`."""

    sha256: str
    media_type: str
    n_bytes: int
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class Act:
    """One act of the history. `before` and `after` map facts to what stood and what stands; empty in a list."""

    seq: int
    at: datetime
    who: str
    act: str
    subject: str
    digest: str
    before: Plain = field(default_factory=dict)
    after: Plain = field(default_factory=dict)

    def as_dict(self) -> Plain:
        """The act as JSON data."""
        return {**asdict(self), "at": moment_text(self.at)}

"""What the rest may ask of the mentor's record. Each change is one act: one transaction, told in the history."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Engine

from evalkit.book import (
    assessments,
    backups,
    checking,
    drafts,
    history,
    markings,
    openings,
    people,
    photos,
    rounds,
    rubrics,
    second_markings,
    sign_offs,
    stock,
)
from evalkit.book.connect import reading
from evalkit.book.history import Acting
from evalkit.book.kept import (
    Act,
    FinishedMarking,
    FrozenRubric,
    Kept,
    KeptSignOff,
    PhotoRow,
    Role,
    SealedAssessment,
    VersionLine,
)
from evalkit.book.making import make_book, open_engine
from evalkit.domain.assessment import Assessment
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import Pair
from evalkit.domain.round import Leg, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.signoff import SignOff

Clock = Callable[[], datetime]
"""Tells the moment, with its zone."""


class Book:
    """The record of one mentor or school. Errors: NotFoundError, AlreadyError, InputError, BookError; nothing else."""

    def __init__(self, engine: Engine, clock: Clock) -> None:
        self._engine = engine
        self._clock = clock

    @classmethod
    def create(cls, folder: Path, clock: Clock) -> Self:
        """A new book in `folder`, whole or not at all. Raises AlreadyError when something is there."""
        make_book(folder)
        return cls.open(folder, clock)

    @classmethod
    def open(cls, folder: Path, clock: Clock) -> Self:
        """The book in `folder`. Raises BookError when there is none, or it is damaged or newer than this program."""
        return cls(open_engine(folder), clock)

    def close(self) -> None:
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def act(self, who: str, act: str, subject: str) -> AbstractContextManager[Acting]:
        """One transaction that also writes the act. Nothing is written when nothing is noted on it."""
        return history.acting(self._engine, self._clock(), who=who, act=act, subject=subject)

    # --- people ---------------------------------------------------------------------------------------------------

    def add_person(self, role: Role, person: Person, who: str) -> None:
        with self.act(who, f"add {role}", f"person {person.key}") as doing:
            people.add_person(doing, role, person)

    def list_people(self, role: Role | None = None) -> list[Person]:
        with reading(self._engine) as connection:
            return people.list_people(connection, role)

    def get_person(self, role: Role, key: str) -> Person:
        with reading(self._engine) as connection:
            return people.get_person(connection, role, key)

    # --- pairs ----------------------------------------------------------------------------------------------------

    def add_pair(self, pair: Pair, who: str) -> None:
        self.add_pairs([pair], who)

    def add_pairs(self, pairs: Sequence[Pair], who: str) -> None:
        """All of them, in one act, or none."""
        subject = f"pair {pairs[0].tag}" if len(pairs) == 1 else f"{len(pairs)} pairs"
        with self.act(who, "add pair" if len(pairs) == 1 else "add pairs", subject) as doing:
            stock.add_pairs(doing, pairs)

    def change_pair(self, pair: Pair, who: str, *, is_correction: bool = False) -> None:
        """A new description. Rounds whose box is back keep the old one, unless it corrects what was never right."""
        with self.act(who, "correct pair" if is_correction else "change pair", f"pair {pair.tag}") as doing:
            stock.change_pair(doing, pair, is_correction=is_correction)

    def list_pairs(self) -> list[Pair]:
        with reading(self._engine) as connection:
            return stock.list_pairs(connection)

    def get_pair(self, tag: str) -> Pair:
        with reading(self._engine) as connection:
            return stock.get_pair(connection, tag)

    # --- rubrics --------------------------------------------------------------------------------------------------

    def freeze_rubric(self, rubric: Rubric, who: str) -> int:
        """The version under which this content stands; the same content again writes nothing."""
        with self.act(who, "freeze rubric", f"rubric {rubric.key}") as doing:
            return rubrics.freeze_rubric(doing, rubric)

    def get_rubric(self, key: str, version: int | None = None) -> tuple[Rubric, int]:
        with reading(self._engine) as connection:
            return rubrics.get_rubric(connection, key, version)

    def get_rubric_by_digest(self, digest: str) -> Rubric:
        with reading(self._engine) as connection:
            return rubrics.get_rubric_by_digest(connection, digest)

    def list_rubrics(self) -> list[FrozenRubric]:
        with reading(self._engine) as connection:
            return rubrics.list_rubrics(connection)

    # --- rounds ---------------------------------------------------------------------------------------------------

    def add_round(self, round_: Round, who: str) -> None:
        with self.act(who, "plan round", f"round {round_.key}") as doing:
            rounds.add_round(doing, round_)

    def add_leg(self, round_key: str, leg: Leg, who: str) -> Round:
        with self.act(who, f"write down '{leg.kind}'", f"round {round_key}") as doing:
            return rounds.add_leg(doing, round_key, leg)

    def get_round(self, key: str) -> Round:
        with reading(self._engine) as connection:
            return rounds.get_round(connection, key)

    def list_rounds(self, trainee_key: str | None = None) -> list[Round]:
        with reading(self._engine) as connection:
            return rounds.list_rounds(connection, trainee_key)

    def rounds_holding(self, tag: str) -> list[Round]:
        with reading(self._engine) as connection:
            return rounds.rounds_holding(connection, tag)

    # --- assessments ----------------------------------------------------------------------------------------------

    def seal_assessment(
        self, assessment: Assessment, who: str, reason: str = "", photos: Iterable[PhotoRow] = ()
    ) -> Kept:
        """Seal a version, with the rows of its photos. The same content again writes nothing and says so."""
        with self.act(who, "seal assessment", f"round {assessment.round_key}") as doing:
            _add_photos(doing, photos)
            return assessments.seal_assessment(doing, assessment, reason)

    def get_assessment(self, round_key: str, version: int | None = None) -> SealedAssessment:
        with reading(self._engine) as connection:
            return assessments.get_assessment(connection, round_key, version)

    def find_assessment(self, round_key: str, version: int | None = None) -> SealedAssessment | None:
        with reading(self._engine) as connection:
            return assessments.find_assessment(connection, round_key, version)

    def assessment_versions(self, round_key: str) -> list[VersionLine]:
        with reading(self._engine) as connection:
            return assessments.assessment_versions(connection, round_key)

    def record_opening(self, round_key: str, number: int | None, who: str) -> None:
        """`who` has read the assessment of that pair; of all pairs when `number` is None."""
        with self.act(who, "open assessment", f"round {round_key}") as doing:
            openings.record_opening(doing, round_key, number, who)

    def was_opened(self, round_key: str, number: int, who: str | None = None) -> bool:
        """Whether the assessment of that pair was read, by `who` if given, by anybody otherwise."""
        with reading(self._engine) as connection:
            return openings.was_opened(connection, round_key, number, who)

    # --- markings -------------------------------------------------------------------------------------------------

    def save_marked_pair(
        self,
        round_key: str,
        mentor_key: str,
        pair: MarkedPair,
        rubric_digest: str,
        who: str,
        photos: Iterable[PhotoRow] = (),
    ) -> MarkedPair:
        """Keep one pair of the draft; answers it as kept (`was_opened` as the book knows it)."""
        with self.act(who, "mark pair", f"round {round_key}") as doing:
            _add_photos(doing, photos)
            return drafts.save_marked_pair(doing, round_key, mentor_key, pair, rubric_digest)

    def find_draft(self, round_key: str, mentor_key: str) -> Marking | None:
        with reading(self._engine) as connection:
            return markings.find_draft(connection, round_key, mentor_key)

    def discard_draft(self, round_key: str, mentor_key: str, who: str) -> None:
        """Put away what is being worked on; the history keeps it."""
        with self.act(who, "put away draft", f"round {round_key}") as doing:
            drafts.discard_draft(doing, round_key, mentor_key)

    def finish_marking(
        self, round_key: str, mentor_key: str, who: str, marked_on: date | None = None, letter: str = ""
    ) -> int:
        """The draft becomes a finished version; its number."""
        with self.act(who, "finish marking", f"round {round_key}") as doing:
            return drafts.finish_marking(doing, round_key, mentor_key, marked_on, letter)

    def start_amendment(self, round_key: str, mentor_key: str, reason: str, who: str) -> int:
        """A draft copied from the last finished version; the number it will have."""
        with self.act(who, "begin amendment", f"round {round_key}") as doing:
            return drafts.start_amendment(doing, round_key, mentor_key, reason)

    def take_in_marking(self, marking: Marking, who: str, reason: str = "", photos: Iterable[PhotoRow] = ()) -> Kept:
        """A whole marking at once, finished. The same words again write nothing and say so."""
        with self.act(who, "take in marking", f"round {marking.round_key}") as doing:
            _add_photos(doing, photos)
            return markings.take_in_marking(doing, marking, reason)

    def get_marking(self, round_key: str, mentor_key: str | None = None, version: int | None = None) -> FinishedMarking:
        with reading(self._engine) as connection:
            return markings.get_marking(connection, round_key, mentor_key, version)

    def find_marking(
        self, round_key: str, mentor_key: str | None = None, version: int | None = None
    ) -> FinishedMarking | None:
        with reading(self._engine) as connection:
            return markings.find_marking(connection, round_key, mentor_key, version)

    def marking_versions(self, round_key: str, mentor_key: str | None = None) -> list[VersionLine]:
        with reading(self._engine) as connection:
            return markings.marking_versions(connection, round_key, mentor_key)

    def record_second_marking(self, marking: Marking, who: str) -> bool:
        """Keep a blind second marking beside the first. False when this very one is kept already."""
        with self.act(who, "take in second marking", f"round {marking.round_key}") as doing:
            return second_markings.record_second_marking(doing, marking)

    def list_second_markings(self, round_key: str | None = None) -> list[Marking]:
        with reading(self._engine) as connection:
            return second_markings.list_second_markings(connection, round_key)

    # --- sign-offs ------------------------------------------------------------------------------------------------

    def record_sign_off(self, sign_off: SignOff, who: str) -> int:
        """Its number. The evidence in it is kept letter for letter."""
        with self.act(who, "sign off", f"person {sign_off.trainee_key}") as doing:
            return sign_offs.record_sign_off(doing, sign_off)

    def withdraw_sign_off(self, number: int, on: date, reason: str, who: str) -> SignOff:
        """The sign-off of that number, taken back; what it rested on stays."""
        with self.act(who, "withdraw sign-off", f"sign-off {number}") as doing:
            return sign_offs.withdraw_sign_off(doing, number, on, reason)

    def list_sign_offs(self, trainee_key: str | None = None) -> list[KeptSignOff]:
        with reading(self._engine) as connection:
            return sign_offs.list_sign_offs(connection, trainee_key)

    # --- photos ---------------------------------------------------------------------------------------------------

    def add_photo_row(
        self, sha256: str, media_type: str, n_bytes: int, width_px: int, height_px: int, who: str
    ) -> bool:
        """Tell the book of a picture; True when it is new to it."""
        with self.act(who, "add photo", f"photo {sha256}") as doing:
            return photos.add_photo(doing, PhotoRow(sha256, media_type, n_bytes, width_px, height_px))

    def list_photos(self, round_key: str) -> list[PhotoRow]:
        """The pictures that any version of the round's assessment or markings shows."""
        with reading(self._engine) as connection:
            return photos.list_photos(connection, round_key)

    def photo_names(self) -> tuple[str, ...]:
        """The SHA-256 of every picture that the book knows."""
        with reading(self._engine) as connection:
            return photos.photo_names(connection)

    # --- history --------------------------------------------------------------------------------------------------

    def list_acts(self, subject: str | None = None) -> list[Act]:
        """The history in order, without what stood before; on one subject ('round nia-1', or its key) if given."""
        with reading(self._engine) as connection:
            return history.list_acts(connection, subject)

    def get_act(self, seq: int) -> Act:
        """One act with what stood before and after."""
        with reading(self._engine) as connection:
            return history.get_act(connection, seq)

    def back_up(self, out: Path, *, despite_lack: bool = False) -> backups.BackedUp:
        """The whole book with its photos in the one file `out`, while others may go on writing."""
        return backups.make_backup(self._engine, out, self._clock(), despite_lack=despite_lack)

    def check(self) -> list[str]:
        """Faults of structure, references, history and seals, as sentences; empty when the book is sound."""
        return checking.check(self._engine)


def _add_photos(doing: Acting, rows: Iterable[PhotoRow]) -> None:
    for row in rows:
        photos.add_photo(doing, row)

"""What the rest may ask of the mentor's record. Each change is one act: one transaction, told in the history."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from sqlalchemy import Engine

from evalkit.book import (
    assessments,
    backups,
    checking,
    drafts,
    erasing,
    history,
    intakes,
    listing,
    markings,
    openings,
    packets,
    people,
    photos,
    receiving,
    rounds,
    rubrics,
    school_values,
    second_drafts,
    second_markings,
    shelf,
    sign_offs,
    stock,
    whereabouts,
)
from evalkit.book.connect import reading, writing
from evalkit.book.history import Acting
from evalkit.book.kept import (
    Act,
    FinishedMarking,
    FrozenRubric,
    Kept,
    KeptIntake,
    KeptSignOff,
    PacketHead,
    PhotoRow,
    Role,
    SealedAssessment,
    TakenPacket,
    ToldReport,
    VersionLine,
)
from evalkit.book.listing import RoundLine, RoundStanding
from evalkit.book.making import make_book, open_engine
from evalkit.book.steps_back import MARKS, MARKS_AGAIN, TAKES_BACK
from evalkit.book.whereabouts import Asked, Whereabouts
from evalkit.domain.assessment import Assessment, Photo
from evalkit.domain.intake import Intake
from evalkit.domain.life import Retirement
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import Pair
from evalkit.domain.round import Leg, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.signoff import SignOff

if TYPE_CHECKING:
    from evalkit.domain.school_values import SchoolValues

Clock = Callable[[], datetime]
"""Tells the moment, with its zone."""

CorrectedPair = tuple[str, MarkedPair, str]
"""Whose draft, the pair as it shall stand there, and the state (`state_of`) that this was based on."""


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

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Nobody else changes the book while the block runs; nothing is written by it."""
        with writing(self._engine):
            yield

    # --- people ---------------------------------------------------------------------------------------------------

    def add_person(self, role: Role, person: Person, who: str) -> None:
        with self.act(who, f"add {role}", f"person {person.key}") as doing:
            people.add_person(doing, role, person)

    def erase_person(self, key: str, who: str) -> tuple[erasing.Erased, bool]:
        """Take a trainee's name, words and photos out for good; the levels stay. Remove the files of the photos after.

        False beside it while another program keeps traces in its open log.
        """
        with self.act(who, history.ERASE, "a trainee") as doing:
            erased = erasing.erase_person(doing, key)
        return erased, erasing.leave_no_trace(self._engine)

    def list_people(self, role: Role | None = None) -> list[Person]:
        with reading(self._engine) as connection:
            return people.list_people(connection, role)

    def find_own_trainee(self) -> Person | None:
        """The trainee who keeps this book for oneself; None in a mentor's book."""
        with reading(self._engine) as connection:
            return people.find_own_trainee(connection)

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

    def retire_pair(self, tag: str, on: date, reason: str, who: str) -> Retirement:
        """The pair is sent no more."""
        with self.act(who, "retire pair", f"pair {tag}") as doing:
            return shelf.retire_pair(doing, tag, on, reason)

    def bring_back_pair(self, tag: str, on: date, reason: str, who: str) -> Retirement:
        """A retired pair may be sent again; that it was retired stays written."""
        with self.act(who, "bring back pair", f"pair {tag}") as doing:
            return shelf.bring_back_pair(doing, tag, on, reason)

    def retired_pairs(self) -> dict[str, Retirement]:
        """The pairs that are sent no more, by tag."""
        with reading(self._engine) as connection:
            return shelf.retired_pairs(connection)

    def find_missing(self, tag: str) -> str | None:
        """Key of the round whose box came back without the pair, unless it was brought back since."""
        with reading(self._engine) as connection:
            return shelf.find_missing(connection, tag)

    def list_retirements(self, tag: str) -> list[Retirement]:
        with reading(self._engine) as connection:
            return shelf.list_retirements(connection, tag)

    def add_stock_photos(self, tag: str, pictures: Sequence[Photo], who: str, rows: Iterable[PhotoRow] = ()) -> int:
        """Pictures of a pair, with their rows; how many of them are new to the pair."""
        with self.act(who, "add photo of pair", f"pair {tag}") as doing:
            _add_photos(doing, rows)
            return shelf.add_stock_photos(doing, tag, pictures)

    def list_stock_photos(self, tag: str) -> list[Photo]:
        with reading(self._engine) as connection:
            return shelf.list_stock_photos(connection, tag)

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

    def check_new_key(self, key: str) -> None:
        """Raises AlreadyError for the key of a round, or of one whose plan was taken back."""
        with reading(self._engine) as connection:
            rounds.check_new_key(connection, key)

    def remove_plan(self, round_key: str, who: str) -> Round:
        """Take back the plan of a box that has not left; the round as it stood."""
        with self.act(who, history.UNPLANS, f"round {round_key}") as doing:
            return rounds.remove_plan(doing, round_key)

    def add_leg(self, round_key: str, leg: Leg, who: str) -> Round:
        with self.act(who, f"write down '{leg.kind}'", f"round {round_key}") as doing:
            return rounds.add_leg(doing, round_key, leg)

    def check_in(
        self, round_key: str, leg: Leg, pairs: Sequence[MarkedPair], who: str, photos: Iterable[PhotoRow] = ()
    ) -> Round:
        """The box is back, with what was found of its pairs as a draft of `who`, in one act."""
        with self.act(who, f"write down '{leg.kind}'", f"round {round_key}") as doing:
            round_ = rounds.add_leg(doing, round_key, leg)
            _add_photos(doing, photos)
            for pair in pairs:
                drafts.save_marked_pair(doing, round_key, who, pair, round_.rubric_digest)
            return round_

    def correct_check_in(
        self, round_key: str, leg: Leg, pairs: Sequence[CorrectedPair], who: str, photos: Iterable[PhotoRow] = ()
    ) -> Round:
        """The last leg said anew, with what follows for the drafts, in one act. Refused once a marking is finished."""
        with self.act(who, f"correct '{leg.kind}'", f"round {round_key}") as doing:
            round_ = rounds.correct_leg(doing, round_key, leg)
            drafts.check_unfinished(doing.connection, round_key)
            _add_photos(doing, photos)
            for mentor, pair, based_on in pairs:
                drafts.save_marked_pair(doing, round_key, mentor, pair, round_.rubric_digest, based_on)
            return round_

    def get_round(self, key: str) -> Round:
        with reading(self._engine) as connection:
            return rounds.get_round(connection, key)

    def list_rounds(self, trainee_key: str | None = None) -> list[Round]:
        with reading(self._engine) as connection:
            return rounds.list_rounds(connection, trainee_key)

    def rounds_holding(self, tag: str) -> list[Round]:
        with reading(self._engine) as connection:
            return rounds.rounds_holding(connection, tag)

    # --- intakes --------------------------------------------------------------------------------------------------

    def take_in_intake(self, intake: Intake, who: str, reason: str = "", photos: Iterable[PhotoRow] = ()) -> Kept:
        """Readings made before the box was posted. The same words again write nothing and say so."""
        with self.act(who, "take in intake", f"round {intake.round_key}") as doing:
            _add_photos(doing, photos)
            return intakes.record_intake(doing, intake, reason)

    def find_intake(self, round_key: str, version: int | None = None) -> KeptIntake | None:
        with reading(self._engine) as connection:
            return intakes.find_intake(connection, round_key, version)

    def list_intakes(self, round_key: str) -> list[KeptIntake]:
        with reading(self._engine) as connection:
            return intakes.list_intakes(connection, round_key)

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

    def find_assessment(
        self, round_key: str, version: int | None = None, *, number: int | None = None
    ) -> SealedAssessment | None:
        """The latest version unless one is named; with `number`, what it says of that pair alone."""
        with reading(self._engine) as connection:
            return assessments.find_assessment(connection, round_key, version, number)

    def question_counts(self, round_key: str) -> dict[int, int]:
        """How many questions the latest assessment asks of each pair, by number; nothing else of it is read."""
        with reading(self._engine) as connection:
            return assessments.question_counts(connection, round_key)

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
        *,
        based_on: str | None = None,
    ) -> MarkedPair:
        """Keep one pair of the draft; answers it as kept (`was_opened` as the book knows it).

        With `based_on` (a `drafts.state_of`) it raises ChangedError when the pair was changed meanwhile.
        """
        with self.act(who, MARKS, f"round {round_key}") as doing:
            _add_photos(doing, photos)
            return drafts.save_marked_pair(doing, round_key, mentor_key, pair, rubric_digest, based_on)

    def take_back_mark(
        self,
        round_key: str,
        mentor_key: str,
        pair: MarkedPair,
        rubric_digest: str,
        who: str,
        *,
        based_on: str | None = None,
    ) -> MarkedPair:
        """As `save_marked_pair`, for a step back: another step back goes further, instead of undoing this one."""
        with self.act(who, TAKES_BACK, f"round {round_key}") as doing:
            return drafts.save_marked_pair(doing, round_key, mentor_key, pair, rubric_digest, based_on)

    def find_pair_before(self, round_key: str, mentor_key: str, number: int) -> MarkedPair | None:
        """A pair of the draft as it stood one step back; None where nothing is left to take back."""
        with reading(self._engine) as connection:
            return drafts.find_pair_before(connection, round_key, mentor_key, number)

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
        """A whole marking at once, finished. The same words again write nothing and say so.

        A first marking that was only begun makes room when this one says all of it; else AlreadyError.
        """
        with self.act(who, "take in marking", f"round {marking.round_key}") as doing:
            _add_photos(doing, photos)
            return markings.take_in_marking(doing, drafts.make_room(doing, marking), reason)

    def get_marking(self, round_key: str, mentor_key: str | None = None, version: int | None = None) -> FinishedMarking:
        with reading(self._engine) as connection:
            return markings.get_marking(connection, round_key, mentor_key, version)

    def find_marking(
        self, round_key: str, mentor_key: str | None = None, version: int | None = None
    ) -> FinishedMarking | None:
        with reading(self._engine) as connection:
            return markings.find_marking(connection, round_key, mentor_key, version)

    def latest_versions(self, round_key: str, mentor_key: str | None = None, most: int = 2) -> list[FinishedMarking]:
        """The last finished versions of the marking that `find_marking` answers, the latest first."""
        with reading(self._engine) as connection:
            return markings.latest_versions(connection, round_key, mentor_key, most)

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

    # --- second markings at work ----------------------------------------------------------------------------------

    def pick_second_pairs(self, round_key: str, mentor_key: str, numbers: Collection[int], who: str) -> None:
        """These pairs are to be marked a second time; those picked before and not begun no more."""
        with self.act(who, "pick for a second marking", f"round {round_key}") as doing:
            second_drafts.pick_second_pairs(doing, round_key, mentor_key, numbers)

    def save_second_pair(
        self,
        round_key: str,
        mentor_key: str,
        pair: MarkedPair,
        rubric_digest: str,
        who: str,
        *,
        based_on: str | None = None,
        is_step_back: bool = False,
    ) -> MarkedPair:
        """Keep one pair of a second marking while it is worked on. Raises ChangedError as `save_marked_pair` does."""
        with self.act(who, TAKES_BACK if is_step_back else MARKS_AGAIN, f"round {round_key}") as doing:
            return second_drafts.save_second_pair(doing, round_key, mentor_key, pair, rubric_digest, based_on)

    def finish_second_pair(
        self, round_key: str, mentor_key: str, number: int, who: str, marked_on: date, *, based_on: str | None = None
    ) -> bool:
        """The draft is kept for good beside the first marking. False when this very one is kept already."""
        with self.act(who, "take in second marking", f"round {round_key}") as doing:
            return second_drafts.finish_second_pair(doing, round_key, mentor_key, number, marked_on, based_on)

    def drop_second_pair(self, round_key: str, mentor_key: str, number: int, who: str) -> None:
        """Put a second marking away that is being worked on; the history keeps it."""
        with self.act(who, "put away second marking", f"round {round_key}") as doing:
            second_drafts.drop_second_pair(doing, round_key, mentor_key, number)

    def list_second_drafts(self, round_key: str, mentor_key: str) -> dict[int, MarkedPair]:
        """Pairs that this mentor has picked or begun to mark a second time, by number."""
        with reading(self._engine) as connection:
            return second_drafts.list_second_drafts(connection, round_key, mentor_key)

    def find_second_before(self, round_key: str, mentor_key: str, number: int) -> MarkedPair | None:
        """A second marking as it stood one step back; None where nothing is left to take back."""
        with reading(self._engine) as connection:
            return second_drafts.find_second_before(connection, round_key, mentor_key, number)

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

    # --- what the school has taught -------------------------------------------------------------------------------

    def record_school_values(self, values: SchoolValues, who: str) -> int:
        """Their number. From now on they count."""
        with self.act(who, "learn from the school", "the school") as doing:
            return school_values.record_school_values(doing, values)

    def forget_school_values(self, who: str) -> SchoolValues:
        """Those that counted until now; the defaults do again."""
        with self.act(who, "forget what was learnt", "the school") as doing:
            return school_values.forget_school_values(doing)

    def find_school_values(self) -> SchoolValues | None:
        """The newest, unless they were forgotten."""
        with reading(self._engine) as connection:
            return school_values.find_school_values(connection)

    # --- packets --------------------------------------------------------------------------------------------------

    def take_in_assessment_packet(
        self, head: PacketHead, assessment: Assessment, who: str, reason: str = "", photos: Iterable[PhotoRow] = ()
    ) -> Kept:
        """Seal what a packet holds, and remember the packet. The same packet again writes nothing and says so.

        `photos` are asked for inside the act, so whoever writes their files does it while nobody else does.
        """
        with self.act(who, history.WIDER, f"round {head.round_key}") as doing:
            if (known := packets.find_packet(doing.connection, head.seal)) is not None:
                return Kept(known.became or 0, is_new=False)
            packets.check_version(doing.connection, head)
            _add_photos(doing, photos)
            kept = assessments.seal_assessment(doing, assessment, reason)
            packets.record_packet(doing, head, kept.version)
            return kept

    def take_in_round_packet(self, head: PacketHead, round_: Round, rubric: Rubric, who: str) -> bool:
        """Let a trainee's own book hold the round; False when it did so already."""
        with self.act(who, history.WIDER, f"round {head.round_key}") as doing:
            if packets.find_packet(doing.connection, head.seal) is not None:
                return False
            is_new = receiving.receive_round(doing, round_, rubric)
            packets.record_packet(doing, head, None)
            return is_new

    def take_in_report_packet(
        self, head: PacketHead, report: ToldReport, who: str, photos: Iterable[PhotoRow] = ()
    ) -> Kept:
        """Let a trainee's own book hold what a report rests on; the own version of the marking."""
        with self.act(who, history.WIDER, f"round {head.round_key}") as doing:
            if (known := packets.find_packet(doing.connection, head.seal)) is not None:
                return Kept(known.became or 0, is_new=False)
            packets.check_version(doing.connection, head)
            _add_photos(doing, photos)
            kept = receiving.receive_report(doing, report, is_known=packets.is_version_known(doing.connection, head))
            packets.record_packet(doing, head, kept.version)
            return kept

    def find_packet(self, seal: str) -> TakenPacket | None:
        with reading(self._engine) as connection:
            return packets.find_packet(connection, seal)

    def list_packets(self, round_key: str | None = None) -> list[TakenPacket]:
        """Packets taken in, in order; of one round if named."""
        with reading(self._engine) as connection:
            return packets.list_packets(connection, round_key)

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

    # --- lists for pages ------------------------------------------------------------------------------------------

    def open_rounds(self, limit: int) -> list[RoundLine]:
        """Rounds not marked yet and not lost, the newest first."""
        with reading(self._engine) as connection:
            return listing.open_rounds(connection, limit)

    def done_rounds(self, limit: int, offset: int) -> list[RoundLine]:
        """Rounds marked or lost, the newest first."""
        with reading(self._engine) as connection:
            return listing.done_rounds(connection, limit, offset)

    def rounds_of(self, trainee_key: str, limit: int) -> list[RoundLine]:
        """The rounds of one trainee, the newest first."""
        with reading(self._engine) as connection:
            return listing.rounds_of(connection, trainee_key, limit)

    def list_whereabouts(self, tags: Collection[str]) -> list[Whereabouts]:
        """Where each of these pairs is now, in the order of the tags."""
        with reading(self._engine) as connection:
            return whereabouts.list_whereabouts(connection, tags)

    def list_apart(self) -> list[Whereabouts]:
        """Where each pair is that may not simply lie with the mentor."""
        with reading(self._engine) as connection:
            return whereabouts.list_apart(connection)

    def count_pairs(self, asked: Asked) -> int:
        """How many pairs of the stock fit."""
        with reading(self._engine) as connection:
            return whereabouts.count_pairs(connection, asked)

    def fitting_tags(self, asked: Asked, limit: int | None = None, offset: int = 0) -> list[str]:
        """The tags of the pairs that fit, in their order."""
        with reading(self._engine) as connection:
            return whereabouts.fitting_tags(connection, asked, limit, offset)

    def round_standing(self, round_key: str) -> RoundStanding:
        """Who has begun, finished and read what of a round."""
        with reading(self._engine) as connection:
            return listing.round_standing(connection, round_key)

    # --- history --------------------------------------------------------------------------------------------------

    def list_acts(self, subject: str | None = None) -> list[Act]:
        """The history in order, without what stood before; on one subject ('round nia-1', or its key) if given."""
        with reading(self._engine) as connection:
            return history.list_acts(connection, subject)

    def latest_act(self) -> int:
        """The number of the last act, 0 in a book without one: the same number, the same book."""
        with reading(self._engine) as connection:
            return history.latest_act(connection)

    def changed_since(self, seq: int) -> history.Changed | None:
        """What the acts after this one changed; None where something beside rounds may have changed as well."""
        with reading(self._engine) as connection:
            return history.changed_since(connection, seq)

    def unplanned_keys(self) -> frozenset[str]:
        """Keys of rounds whose plan was taken back; no other round may bear one."""
        with reading(self._engine) as connection:
            return history.unplanned_keys(connection)

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

"""Taking in a filled sheet: an assessment to seal, or a marking; all of it or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from evalkit.actions.gradable import level_on_pair
from evalkit.actions.pictures import kept_photos, read_photos, renamed
from evalkit.domain.assessment import Assessment
from evalkit.domain.marking import Marking
from evalkit.domain.round import LegKind, Round, RoundState
from evalkit.domain.rubric import Rubric
from evalkit.errors import Fault, FileFaultsError, InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.book.kept import Kept
    from evalkit.files.photos import CleanPhoto, PhotoStore

Document = TypeVar("Document", Assessment, Marking)


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What came of a sheet. `is_new` is False when the book held the same content already."""

    round: Round
    version: int
    is_new: bool
    n_pairs: int
    n_readings: int
    n_photos: int


def take_in_assessment(
    book: Book, store: PhotoStore, sheet: Path, *, who: str, today: date, reason: str = "", is_transcribed: bool = False
) -> TakenIn:
    """Read, check and seal a trainee's sheet.

    Raises FileFaultsError with every fault of the sheet; AlreadyError when another assessment is sealed and no reason
    for an amendment is given; InputError when the box has not reached the trainee.
    """
    from evalkit.files.sheets import read_assessment_sheet

    text, round_, rubric = _open_sheet(book, sheet, "assessment")
    _check_reached(round_)
    assessment = read_assessment_sheet(text, str(sheet), round_, rubric)
    _check_filled(assessment, sheet)
    _check_gradable(assessment, round_, rubric, sheet)
    _check_day(assessment.written_on, round_.leg_on(LegKind.RECEIVED), today, sheet)
    if is_transcribed:
        assessment = assessment.model_copy(update={"is_transcribed": True})
    clean = _photos_of(assessment, sheet)
    assessment = _with_photos(assessment, clean)
    with kept_photos(clean, store, book.photo_names()) as rows:
        sealed = book.seal_assessment(assessment, who, reason, rows)
    return _taken(round_, sealed, assessment, len(rows))


def take_in_marking(book: Book, store: PhotoStore, sheet: Path, *, who: str, today: date, reason: str = "") -> TakenIn:
    """Read and check a mentor's sheet and take it in as finished. Raises as `take_in_assessment`."""
    from evalkit.files.sheets import read_marking_sheet

    text, round_, rubric = _open_sheet(book, sheet, "marking")
    _check_back(round_)
    marking = read_marking_sheet(text, str(sheet), round_, rubric)
    _check_filled(marking, sheet)
    _check_gradable(marking, round_, rubric, sheet)
    _check_day(marking.marked_on, round_.leg_on(LegKind.RECEIVED_BACK), today, sheet)
    opened = {pair.number: book.was_opened(round_.key, pair.number, marking.mentor_key) for pair in marking.pairs}
    pairs = [pair.model_copy(update={"was_opened": opened[pair.number]}) for pair in marking.pairs]
    marking = marking.model_copy(update={"pairs": tuple(pairs)})
    clean = _photos_of(marking, sheet)
    marking = _with_photos(marking, clean)
    with kept_photos(clean, store, book.photo_names()) as rows:
        finished = book.take_in_marking(marking, who, reason, rows)
    return _taken(round_, finished, marking, len(rows))


def _open_sheet(book: Book, sheet: Path, kind: str) -> tuple[str, Round, Rubric]:
    from evalkit.files.sheets import read_sheet_file, sheet_header

    text = read_sheet_file(sheet)
    header = sheet_header(text, str(sheet))
    if header.kind != kind:
        raise InputError(
            f"this is a sheet for a {header.kind}, not for an {kind}." if kind == "assessment"
            else f"this is a sheet for an {header.kind}, not for a {kind}.",
            mend=f"Take it in with 'evalkit {header.kind} take-in'.",
            where=str(sheet),
        )  # fmt: skip
    round_ = book.get_round(header.round_key)
    return text, round_, book.get_rubric_by_digest(round_.rubric_digest)


def _check_reached(round_: Round) -> None:
    if round_.state in (RoundState.PLANNED, RoundState.ON_ITS_WAY):
        raise InputError(
            f"the box is {round_.state}; nothing in it can have been assessed yet.",
            mend=f"Write down its arrival first: evalkit round received {round_.key} --on DATE.",
            where=f"round {round_.key}",
        )


def _check_back(round_: Round) -> None:
    if round_.state is not RoundState.BACK:
        raise InputError(
            f"the box is {round_.state}; it cannot be marked yet.",
            mend=f"Check it in first: evalkit round check-in {round_.key} --on DATE.",
            where=f"round {round_.key}",
        )


def _check_filled(document: Assessment | Marking, sheet: Path) -> None:
    if all(pair == type(pair)(number=pair.number) for pair in document.pairs):
        raise InputError(
            "nothing is filled in: not one reading, word or decision.",
            mend="Take in the filled sheet.",
            where=str(sheet),
        )


def _check_gradable(document: Assessment | Marking, round_: Round, rubric: Rubric, sheet: Path) -> None:
    """Raises FileFaultsError for readings that no level could be reckoned from, such as a gap without a blade length.

    Once sealed, such a reading would keep the round from ever being answered.
    """
    faults = []
    for pair in document.pairs:
        stock = round_.get_pair(pair.number).pair
        ons = {on.key: on for on in rubric.on(stock.edge_type)}
        for reading in pair.readings:
            try:
                level_on_pair(ons[reading.criterion], reading, rubric, stock)
            except InputError as error:
                where = f"pair {pair.number}, '{ons[reading.criterion].name}' at {reading.place}"
                faults.append(Fault(str(sheet), 0, f"{where}: {error.what}", error.mend))
    if faults:
        raise FileFaultsError(faults)


def _check_day(day: date | None, first: date | None, today: date, sheet: Path) -> None:
    if day is not None and (day > today or (first is not None and day < first)):
        bounds = f"from {first} to {today}" if first else f"up to {today}"
        raise InputError(f"the day {day} is not possible.", mend=f"It lies {bounds}.", where=str(sheet))


def _photos_of(document: Document, sheet: Path) -> dict[str, CleanPhoto]:
    return read_photos((photo for pair in document.pairs for photo in pair.photos), sheet)


def _with_photos(document: Document, clean: dict[str, CleanPhoto]) -> Document:
    pairs = tuple(pair.model_copy(update={"photos": renamed(pair.photos, clean)}) for pair in document.pairs)
    return document.model_copy(update={"pairs": pairs})


def _taken(round_: Round, kept: Kept, document: Assessment | Marking, n_photos: int) -> TakenIn:
    return TakenIn(
        round=round_,
        version=kept.version,
        is_new=kept.is_new,
        n_pairs=len(document.pairs),
        n_readings=sum(len(pair.readings) for pair in document.pairs),
        n_photos=n_photos,
    )

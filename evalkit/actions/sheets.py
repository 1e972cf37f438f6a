"""Taking in a filled sheet: an assessment to seal, a marking, or an intake; all of it or nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from evalkit.actions.fitting import TakenIn, check_day, check_filled, check_reached, check_readings, taken_in
from evalkit.actions.marking import check_back
from evalkit.actions.pictures import Document, kept_photos, photos_of, read_photos, renamed
from evalkit.domain.assessment import Assessment
from evalkit.domain.intake import Intake, check_before_trainee
from evalkit.domain.marking import Marking
from evalkit.domain.round import LegKind, Round
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.book.kept import PhotoRow
    from evalkit.files.photos import PhotoStore


def take_in_assessment(
    book: Book, store: PhotoStore, sheet: Path, *, who: str, today: date, reason: str = "", is_transcribed: bool = False
) -> TakenIn:
    """Read, check and seal a trainee's sheet.

    Raises FileFaultsError with every fault of the sheet; AlreadyError when another assessment is sealed and no reason
    for an amendment is given; InputError when the box has not reached the trainee.
    """
    from evalkit.files.sheets import read_assessment_sheet
    from evalkit.files.sheets.names import WRITTEN_ON

    text, round_, rubric = _open_sheet(book, sheet, "assessment")
    check_reached(round_)
    assessment = read_assessment_sheet(text, str(sheet), round_, rubric)
    check_filled(assessment, str(sheet))
    check_readings(assessment, round_, rubric, str(sheet))
    check_day(assessment.written_on, round_.leg_on(LegKind.RECEIVED), today, str(sheet), of=WRITTEN_ON)
    if is_transcribed:
        assessment = assessment.model_copy(update={"is_transcribed": True})
    with _photos_laid(book, store, assessment, sheet) as (assessment, rows):
        sealed = book.seal_assessment(assessment, who, reason, rows)
    return taken_in(round_, sealed, assessment, _n_pictures(assessment))


def take_in_marking(book: Book, store: PhotoStore, sheet: Path, *, who: str, today: date, reason: str = "") -> TakenIn:
    """Read and check a mentor's sheet and take it in as finished. Raises as `take_in_assessment`."""
    from evalkit.files.sheets import read_marking_sheet
    from evalkit.files.sheets.names import MARKED_ON

    text, round_, rubric = _open_sheet(book, sheet, "marking")
    check_back(round_)
    marking = read_marking_sheet(text, str(sheet), round_, rubric)
    check_filled(marking, str(sheet))
    check_readings(marking, round_, rubric, str(sheet))
    check_day(marking.marked_on, round_.leg_on(LegKind.RECEIVED_BACK), today, str(sheet), of=MARKED_ON)
    opened = {pair.number: book.was_opened(round_.key, pair.number, marking.mentor_key) for pair in marking.pairs}
    pairs = [pair.model_copy(update={"was_opened": opened[pair.number]}) for pair in marking.pairs]
    marking = marking.model_copy(update={"pairs": tuple(pairs)})
    with _photos_laid(book, store, marking, sheet) as (marking, rows):
        finished = book.take_in_marking(marking, who, reason, rows)
    return taken_in(round_, finished, marking, _n_pictures(marking))


def take_in_intake(book: Book, store: PhotoStore, sheet: Path, *, who: str, today: date, reason: str = "") -> TakenIn:
    """Read and check what the mentor read of a box before it goes, and keep it.

    Raises as `take_in_assessment`; InputError once the box has been with the trainee.
    """
    from evalkit.files.sheets import read_intake_sheet
    from evalkit.files.sheets.names import READ_ON

    text, round_, rubric = _open_sheet(book, sheet, "intake")
    check_before_trainee(round_)
    intake = read_intake_sheet(text, str(sheet), round_, rubric)
    check_filled(intake, str(sheet))
    check_readings(intake, round_, rubric, str(sheet))
    check_day(intake.read_on, None, today, str(sheet), of=READ_ON)
    with _photos_laid(book, store, intake, sheet) as (intake, rows):
        kept = book.take_in_intake(intake, who, reason, rows)
    return taken_in(round_, kept, intake, _n_pictures(intake))


def _n_pictures(document: Assessment | Marking | Intake) -> int:
    """Different pictures that it names, those the book had before among them."""
    return len({photo.file for photo in photos_of(document)})


@contextmanager
def _photos_laid(
    book: Book, store: PhotoStore, document: Document, sheet: Path
) -> Iterator[tuple[Document, Iterable[PhotoRow]]]:
    """The document with its pictures under their content names, and the rows of those that the book does not have yet.

    A sheet written for an amendment names the pictures of its round as the book does: those need not lie beside it.
    """
    from evalkit.files.photo_tray import PhotoTray

    kept = {row.sha256 for row in book.list_photos(document.round_key)}
    with PhotoTray() as tray:
        read_photos((photo for photo in photos_of(document) if photo.file not in kept), sheet, tray)
        names = {name: name for name in kept} | {name: one.sha256 for name, one in tray.items()}
        with kept_photos(tray, store, book) as rows:
            yield renamed(document, names), rows


def _open_sheet(book: Book, sheet: Path, kind: str) -> tuple[str, Round, Rubric]:
    from evalkit.files.sheets import read_sheet_file, sheet_header

    text = read_sheet_file(sheet)
    header = sheet_header(text, str(sheet))
    if header.kind != kind:
        raise InputError(
            f"this is a sheet for {_with_article(header.kind)}, not for {_with_article(kind)}.",
            mend=f"Take it in with 'evalkit {header.kind} take-in'.",
            where=str(sheet),
        )
    round_ = book.get_round(header.round_key)
    return text, round_, book.get_rubric_by_digest(round_.rubric_digest)


def _with_article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"

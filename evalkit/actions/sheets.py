"""Taking in a filled sheet: an assessment to seal, a marking, or an intake; all of it or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from evalkit.actions.fitting import TakenIn, check_day, check_filled, check_reached, check_readings, taken_in
from evalkit.actions.marking import check_back
from evalkit.actions.pictures import kept_photos, photos_of, read_photos, renamed
from evalkit.domain.assessment import Assessment
from evalkit.domain.intake import Intake, check_before_trainee
from evalkit.domain.marking import Marking
from evalkit.domain.round import LegKind, Round
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.files.photo_tray import PhotoTray
    from evalkit.files.photos import PhotoStore


def take_in_assessment(
    book: Book, store: PhotoStore, sheet: Path, *, who: str, today: date, reason: str = "", is_transcribed: bool = False
) -> TakenIn:
    """Read, check and seal a trainee's sheet.

    Raises FileFaultsError with every fault of the sheet; AlreadyError when another assessment is sealed and no reason
    for an amendment is given; InputError when the box has not reached the trainee.
    """
    from evalkit.files.sheets import read_assessment_sheet

    text, round_, rubric = _open_sheet(book, sheet, "assessment")
    check_reached(round_)
    assessment = read_assessment_sheet(text, str(sheet), round_, rubric)
    check_filled(assessment, str(sheet))
    check_readings(assessment, round_, rubric, str(sheet))
    check_day(assessment.written_on, round_.leg_on(LegKind.RECEIVED), today, str(sheet))
    if is_transcribed:
        assessment = assessment.model_copy(update={"is_transcribed": True})
    with _photos_beside(assessment, sheet) as tray:
        assessment = renamed(assessment, {name: one.sha256 for name, one in tray.items()})
        with kept_photos(tray, store, book) as rows:
            sealed = book.seal_assessment(assessment, who, reason, rows)
        return taken_in(round_, sealed, assessment, len(tray))


def take_in_marking(book: Book, store: PhotoStore, sheet: Path, *, who: str, today: date, reason: str = "") -> TakenIn:
    """Read and check a mentor's sheet and take it in as finished. Raises as `take_in_assessment`."""
    from evalkit.files.sheets import read_marking_sheet

    text, round_, rubric = _open_sheet(book, sheet, "marking")
    check_back(round_)
    marking = read_marking_sheet(text, str(sheet), round_, rubric)
    check_filled(marking, str(sheet))
    check_readings(marking, round_, rubric, str(sheet))
    check_day(marking.marked_on, round_.leg_on(LegKind.RECEIVED_BACK), today, str(sheet))
    opened = {pair.number: book.was_opened(round_.key, pair.number, marking.mentor_key) for pair in marking.pairs}
    pairs = [pair.model_copy(update={"was_opened": opened[pair.number]}) for pair in marking.pairs]
    marking = marking.model_copy(update={"pairs": tuple(pairs)})
    with _photos_beside(marking, sheet) as tray:
        marking = renamed(marking, {name: one.sha256 for name, one in tray.items()})
        with kept_photos(tray, store, book) as rows:
            finished = book.take_in_marking(marking, who, reason, rows)
        return taken_in(round_, finished, marking, len(tray))


def take_in_intake(book: Book, store: PhotoStore, sheet: Path, *, who: str, today: date, reason: str = "") -> TakenIn:
    """Read and check what the mentor read of a box before it goes, and keep it.

    Raises as `take_in_assessment`; InputError once the box has been with the trainee.
    """
    from evalkit.files.sheets import read_intake_sheet

    text, round_, rubric = _open_sheet(book, sheet, "intake")
    check_before_trainee(round_)
    intake = read_intake_sheet(text, str(sheet), round_, rubric)
    check_filled(intake, str(sheet))
    check_readings(intake, round_, rubric, str(sheet))
    check_day(intake.read_on, None, today, str(sheet))
    with _photos_beside(intake, sheet) as tray:
        intake = renamed(intake, {name: one.sha256 for name, one in tray.items()})
        with kept_photos(tray, store, book) as rows:
            kept = book.take_in_intake(intake, who, reason, rows)
        return taken_in(round_, kept, intake, len(tray))


@contextmanager
def _photos_beside(document: Assessment | Marking | Intake, sheet: Path) -> Iterator[PhotoTray]:
    from evalkit.files.photo_tray import PhotoTray

    with PhotoTray() as tray:
        read_photos(photos_of(document), sheet, tray)
        yield tray


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

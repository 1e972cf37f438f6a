"""The mentor's sheet of a box before it goes becomes an intake."""

from __future__ import annotations

from functools import partial

from evalkit.domain.intake import Intake, IntakePair
from evalkit.domain.reading import Stage
from evalkit.domain.round import LegKind, Round
from evalkit.domain.rubric import Rubric
from evalkit.files.sheets import names
from evalkit.files.sheets.found import Found, FoundPair, Sheet, lines_of, made
from evalkit.files.sheets.header import SheetKind
from evalkit.files.sheets.page import Section
from evalkit.files.sheets.parts import (
    closed,
    day_reader,
    made_pairs,
    open_sheet,
    put_readings,
    read_lines,
    read_photos,
    read_prose,
)
from evalkit.files.sheets.readings import ReadingLines
from evalkit.files.sheets.walk import walk

_TOP = names.fixed_names((names.READ_ON,))


def read_intake_sheet(text: str, path: str, round_: Round, rubric: Rubric) -> Intake:
    """What the mentor read before the box went. A pair left blank comes back without readings: not tested.

    `rubric` is the one frozen for the round. Raises FileFaultsError with every fault, each with its line.
    """
    sheet, header = open_sheet(text, path, SheetKind.INTAKE, round_, rubric)
    readings = ReadingLines(sheet)
    parts = {
        names.AS_RECEIVED: partial(_read_as_received, readings),
        names.PHOTOS: partial(read_photos, sheet),
        names.NOTES: partial(read_prose, sheet, "notes"),
    }
    found = walk(sheet, partial(_read_top, sheet), parts)
    _check_head(sheet, found.head)
    intake = made(
        sheet,
        Intake,
        found.head,
        round_key=round_.key,
        mentor_key=header.mentor_key,
        rubric_digest=round_.rubric_digest,
        pairs=made_pairs(sheet, IntakePair, found.pairs),
    )
    return closed(sheet, intake)


def _read_top(sheet: Sheet, head: Found, section: Section) -> None:
    readers = {names.READ_ON: day_reader(sheet, head, "read_on")}
    read_lines(sheet, lines_of(sheet, section, known=(_TOP.known,)), _TOP, readers)


def _read_as_received(readings: ReadingLines, pair: FoundPair, section: Section) -> None:
    put_readings(pair, readings.read(pair, section, Stage.AS_RECEIVED, {}), section)


def _check_head(sheet: Sheet, head: Found) -> None:
    """There is no letter on this sheet, and no day on which the box was gone."""
    if head.fields.pop("letter", None):
        line = head.lines["letter"]
        sheet.faults.add(line, "an intake sheet has no letter.", f"Put the words under '### {names.NOTES}' of a pair.")
    sent, day = sheet.round.leg_on(LegKind.SENT), head.fields.get("read_on")
    if sent is not None and isinstance(day, type(sent)) and day > sent:
        what = f"{day} lies after {sent}, the day on which the box was sent."
        sheet.faults.add(head.lines["read_on"], what, "Mend the day.")

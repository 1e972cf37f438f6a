"""Parts that the trainee's sheet and the mentor's have in common, and how a sheet is opened and closed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from enum import StrEnum
from functools import partial

from pydantic import ValidationError

from evalkit.domain.assessment import Photo
from evalkit.domain.reading import Reading
from evalkit.domain.round import LegKind, Round
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError
from evalkit.files.sheets.file import Faults
from evalkit.files.sheets.found import (
    Found,
    FoundPair,
    Line,
    Model,
    Sheet,
    add_below,
    add_invalid,
    add_unknown,
    lines_of,
    made,
    take,
)
from evalkit.files.sheets.header import SheetHeader, SheetKind, check_header, read_header
from evalkit.files.sheets.lines import choice_of, day_of, photo_of
from evalkit.files.sheets.names import Names
from evalkit.files.sheets.own_words import title
from evalkit.files.sheets.page import Section, page_of
from evalkit.files.sheets.text import BLANK, spoken

LineReader = Callable[[Line, str], None]
"""Takes in one line: where it stands, and its words after the name."""


def open_sheet(
    text: str, path: str, kind: SheetKind, round_: Round, rubric: Rubric, *, is_part: bool = False
) -> tuple[Sheet, SheetHeader]:
    """The outline of a sheet that belongs to the round. Raises FileFaultsError where it does not."""
    faults = Faults(path)
    page = page_of(text, path)
    header = read_header(page, faults)
    if header is None or not check_header(header, kind, round_, faults):
        faults.raise_any()
        raise TypeError("a head that is refused has a fault")
    return Sheet(page, kind, title(kind, round_, header.mentor_key), round_, rubric, faults, is_part), header


def closed(sheet: Sheet, document: Model | None) -> Model:
    """The document of a sheet without a fault. Raises FileFaultsError with every fault of the sheet."""
    sheet.faults.raise_any()
    if document is None:
        raise TypeError("a sheet without a fault makes a document")
    return document


def made_pairs(sheet: Sheet, model: type[Model], pairs: Mapping[int, FoundPair]) -> tuple[Model, ...]:
    """The pairs of a sheet by their numbers, those with faults left out."""
    found = (made(sheet, model, pairs[number]) for number in sorted(pairs))
    return tuple(pair for pair in found if pair is not None)


def read_lines(sheet: Sheet, lines: Iterable[Line], known: Names[str], readers: Mapping[str, LineReader]) -> None:
    """Each line given to the reader of its name; a blank one passed over, any other a fault."""
    for line in lines:
        name, words, said = known.find(line.words)
        if name is not None:
            readers[name](line, words)
        elif line.words not in ("", BLANK) or line.below:
            add_unknown(sheet, line, said, known.known)


def reader(sheet: Sheet, found: Found, name: str, read: Callable[[str], object]) -> LineReader:
    """Takes what `read` gives for the words of one line into the field `name`."""

    def of_line(line: Line, words: str) -> None:
        add_below(sheet, line)
        take(sheet, found, line, name, partial(read, words))

    return of_line


def text_reader(sheet: Sheet, found: Found, name: str) -> LineReader:
    """Takes the free text of one line, with all that stands below it, into the field `name`."""

    def of_line(line: Line, words: str) -> None:
        take(sheet, found, line, name, partial(spoken, words + line.whole[len(line.words) :]))

    return of_line


def choice_reader(sheet: Sheet, found: Found, name: str, choices: Iterable[StrEnum], *, of: str) -> LineReader:
    """Takes one of a closed list of words into the field `name`."""
    return reader(sheet, found, name, partial(choice_of, choices, of=of))


def day_reader(sheet: Sheet, found: Found, name: str) -> LineReader:
    """Takes a day into the field `name`."""
    return reader(sheet, found, name, day_of)


def check_day(sheet: Sheet, found: Found, name: str, leg: LegKind) -> None:
    """The fault of a day before the box had come so far, or before the round was planned."""
    first = sheet.round.leg_on(leg) or sheet.round.planned_on
    day = found.fields.get(name)
    if isinstance(day, type(first)) and day < first:
        what = f"{day} lies before {first}, the day from which that could be done."
        sheet.faults.add(found.lines[name], what, "Mend the day.")


def put_readings(pair: FoundPair, readings: Iterable[Reading], section: Section) -> None:
    """Readings added to those that the pair has."""
    before = pair.fields.get("readings", ())
    pair.put("readings", (*(before if isinstance(before, tuple) else ()), *readings), section.line)


def read_prose(sheet: Sheet, name: str, pair: FoundPair, section: Section) -> None:
    """The free text under a heading, into the field `name`."""
    if text := sheet.page.prose(section):
        pair.put(name, text, section.line)


def read_photos(sheet: Sheet, pair: FoundPair, section: Section) -> None:
    """Pictures, one a line."""
    found: list[Photo] = []
    for line in lines_of(sheet, section):
        try:
            photo = photo_of(line.whole)
        except InputError as error:
            sheet.faults.add_error(line.number, error)
        except ValidationError as error:
            add_invalid(sheet, error, line.number)
        else:
            found += [photo] if photo else []
    pair.put("photos", tuple(found), section.line)


def texts_of(sheet: Sheet, section: Section) -> Iterator[Line]:
    """Free lines under a heading that are not blank; a paragraph is one."""
    return (line for line in lines_of(sheet, section, is_by_line=False) if line.whole)

"""The trainee's filled sheet becomes an assessment."""

from __future__ import annotations

from functools import partial

from evalkit.domain.assessment import AssessedPair, Assessment, WorkLog, WorkStep
from evalkit.domain.reading import Stage
from evalkit.domain.round import LegKind, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision, IntakeClass
from evalkit.domain.verdict import Verdict
from evalkit.files.sheets import lines, names
from evalkit.files.sheets.found import Found, FoundPair, Line, Sheet, add_below, lines_of, made, take
from evalkit.files.sheets.header import SheetKind
from evalkit.files.sheets.page import Section
from evalkit.files.sheets.parts import (
    check_day,
    choice_reader,
    closed,
    day_reader,
    made_pairs,
    open_sheet,
    put_readings,
    read_lines,
    read_photos,
    read_prose,
    reader,
    text_reader,
    texts_of,
)
from evalkit.files.sheets.readings import ReadingLines
from evalkit.files.sheets.text import one_line, plain, unreferenced
from evalkit.files.sheets.walk import Part, walk

_TOP = names.fixed_names((names.WRITTEN_ON, names.DISINFECTED))
_DECISION = names.fixed_names((names.DECISION, names.REASON))
_WORK = names.fixed_names(lines.WORK_LINES)
_OWN_VERDICTS = (Verdict.ACCEPTED, Verdict.REWORK)
_WORK_READERS = {
    lines.ANGLE: lines.angle_of,
    lines.PARTS: lines.parts_of,
    lines.MINUTES: lines.minutes_of,
    lines.WIDTH_BEFORE: lines.widths_mm,
    lines.WIDTH_AFTER: lines.widths_mm,
    lines.LENGTH_BEFORE: lines.length_mm,
    lines.LENGTH_AFTER: lines.length_mm,
}


def read_assessment_sheet(text: str, path: str, round_: Round, rubric: Rubric) -> Assessment:
    """The trainee's assessment from a filled sheet. A pair left blank comes back without readings: not tested.

    `rubric` is the one frozen for the round. Raises FileFaultsError with every fault, each with its line.
    """
    sheet, _ = open_sheet(text, path, SheetKind.ASSESSMENT, round_, rubric)
    found = walk(sheet, partial(_read_top, sheet), _parts(sheet))
    check_day(sheet, found.head, "written_on", LegKind.RECEIVED)
    assessment = made(
        sheet,
        Assessment,
        found.head,
        round_key=round_.key,
        trainee_key=round_.trainee.key,
        rubric_digest=round_.rubric_digest,
        pairs=made_pairs(sheet, AssessedPair, found.pairs),
    )
    return closed(sheet, assessment)


def _read_top(sheet: Sheet, head: Found, section: Section) -> None:
    readers = {
        names.WRITTEN_ON: day_reader(sheet, head, "written_on"),
        names.DISINFECTED: text_reader(sheet, head, "disinfected_with"),
    }
    read_lines(sheet, lines_of(sheet, section, known=(_TOP.known,)), _TOP, readers)


def _parts(sheet: Sheet) -> dict[str, Part]:
    readings = ReadingLines(sheet)
    return {
        names.AS_RECEIVED: partial(_read_as_received, sheet, readings),
        names.DECISION: partial(_read_decision, sheet),
        names.WORK: partial(_read_work, sheet),
        names.AS_FINISHED: partial(_read_as_finished, sheet, readings),
        names.PHOTOS: partial(read_photos, sheet),
        names.NOTES: partial(read_prose, sheet, "notes"),
        names.QUESTIONS: partial(_read_questions, sheet),
        names.LESSONS: partial(read_prose, sheet, "lessons"),
    }


def _read_as_received(sheet: Sheet, readings: ReadingLines, pair: FoundPair, section: Section) -> None:
    of_class = choice_reader(sheet, pair, "stated_class", IntakeClass, of="class")
    found = readings.read(pair, section, Stage.AS_RECEIVED, {plain(names.CLASS): of_class})
    put_readings(pair, found, section)


def _read_as_finished(sheet: Sheet, readings: ReadingLines, pair: FoundPair, section: Section) -> None:
    of_verdict = choice_reader(sheet, pair, "verdict", _OWN_VERDICTS, of="verdict")
    found = readings.read(pair, section, Stage.AS_FINISHED, {plain(names.VERDICT): of_verdict})
    put_readings(pair, found, section)


def _read_decision(sheet: Sheet, pair: FoundPair, section: Section) -> None:
    readers = {
        names.DECISION: choice_reader(sheet, pair, "decision", Decision, of="decision"),
        names.REASON: text_reader(sheet, pair, "reason"),
    }
    read_lines(sheet, lines_of(sheet, section, known=(_DECISION.known,)), _DECISION, readers)


def _read_work(sheet: Sheet, pair: FoundPair, section: Section) -> None:
    log = Found(section.line)
    steps: list[WorkStep] = []

    def of_step(line: Line, words: str) -> None:
        one = Found(line.number)
        add_below(sheet, line)
        take(sheet, one, line, "step", partial(lines.step_of, words))
        steps.extend(step for step in one.fields.values() if isinstance(step, WorkStep))
        log.lines["steps"] = line.number

    readers = {name: reader(sheet, log, lines.WORK_FIELDS[name], read) for name, read in _WORK_READERS.items()}
    read_lines(sheet, lines_of(sheet, section, known=(_WORK.known,)), _WORK, {**readers, lines.STEP: of_step})
    work = made(sheet, WorkLog, log, steps=tuple(steps))
    if work is not None:
        pair.put("work", work, section.line)


def _read_questions(sheet: Sheet, pair: FoundPair, section: Section) -> None:
    found = tuple(one_line(unreferenced(line.whole)) for line in texts_of(sheet, section))
    pair.put("questions", found, section.line)

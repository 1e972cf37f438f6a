"""The mentor's filled sheet becomes a marking."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import partial

from pydantic import ValidationError

from evalkit.domain.criterion import Criterion
from evalkit.domain.marking import Answer, Comment, MarkedPair, Marking
from evalkit.domain.reading import Stage
from evalkit.domain.round import LegKind, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision
from evalkit.files.sheets import names
from evalkit.files.sheets.found import (
    Found,
    FoundPair,
    Sheet,
    add_invalid,
    add_strange,
    add_unknown,
    lines_of,
    made,
)
from evalkit.files.sheets.header import SheetKind
from evalkit.files.sheets.numbers import ValueWordsError
from evalkit.files.sheets.own_words import question_line
from evalkit.files.sheets.page import Block, BlockKind, Section
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
from evalkit.files.sheets.text import BLANK, hint, plain, quoted, said, spoken, spoken_line
from evalkit.files.sheets.walk import Part, walk

_TOP = names.fixed_names((names.MARKED_ON,))
_WAY = names.fixed_names((names.TRANSIT, names.TRANSIT_NOTE))
_SHORT = names.fixed_names((names.CALLED_FOR, names.KEEP, names.CHANGE))
_QUESTION = re.compile(r"\s*>\s*([0-9]{1,2})\.(?: (.*))?")
Questions = Mapping[int, Sequence[str]]
"""The questions asked of each pair, by its number."""
_NUMBERED = "Begin each answer with the number of its question, like '1. Because ...'."


def read_marking_sheet(
    text: str, path: str, round_: Round, rubric: Rubric, questions: Questions | None = None, *, is_part: bool = False
) -> Marking:
    """The mentor's marking from a filled sheet. A pair left blank comes back without readings: not tested.

    With `questions`, those that the sheet was written with, words that were typed into a quoted question are a fault;
    without them they cannot be told from the question, and are not read. With `is_part` the sheet may hold some of the
    pairs only, as one for a second marking does.

    Whether a pair was marked blind stands on no sheet: `was_opened` is left False for the caller to set. `rubric` is
    the one frozen for the round. Raises FileFaultsError with every fault, each with its line.
    """
    sheet, header = open_sheet(text, path, SheetKind.MARKING, round_, rubric, is_part=is_part)
    found = walk(sheet, partial(_read_top, sheet), _parts(sheet, questions))
    check_day(sheet, found.head, "marked_on", LegKind.RECEIVED_BACK)
    marking = made(
        sheet,
        Marking,
        found.head,
        round_key=round_.key,
        mentor_key=header.mentor_key,
        rubric_digest=round_.rubric_digest,
        pairs=made_pairs(sheet, MarkedPair, found.pairs),
    )
    return closed(sheet, marking)


def _read_top(sheet: Sheet, head: Found, section: Section) -> None:
    readers = {names.MARKED_ON: day_reader(sheet, head, "marked_on")}
    read_lines(sheet, lines_of(sheet, section, known=(_TOP.known,)), _TOP, readers)


def _parts(sheet: Sheet, questions: Questions | None) -> dict[str, Part]:
    readings = ReadingLines(sheet)
    criteria = names.criterion_names(sheet.rubric)
    return {
        names.ON_THE_WAY: partial(_read_way, sheet, criteria),
        names.AS_RETURNED: partial(_read_as_returned, readings),
        names.IN_SHORT: partial(_read_short, sheet),
        names.COMMENTS: partial(_read_comments, sheet, criteria),
        names.ANSWERS: partial(_read_answers, sheet, questions),
        names.PHOTOS: partial(read_photos, sheet),
        names.NOTES: partial(read_prose, sheet, "notes"),
    }


def _read_as_returned(readings: ReadingLines, pair: FoundPair, section: Section) -> None:
    put_readings(pair, readings.read(pair, section, Stage.AS_RETURNED, {}), section)


def _read_way(sheet: Sheet, criteria: names.Names[Criterion], pair: FoundPair, section: Section) -> None:
    readers = {
        names.TRANSIT: reader(sheet, pair, "transit", partial(_criteria_of, criteria)),
        names.TRANSIT_NOTE: text_reader(sheet, pair, "transit_note"),
    }
    read_lines(sheet, lines_of(sheet, section, known=(_WAY.known,)), _WAY, readers)


def _criteria_of(criteria: names.Names[Criterion], text: str) -> tuple[str, ...]:
    """Criteria by name, between semicolons or commas, which may stand in a name as well. Raises ValueWordsError."""
    words = said(text)
    if plain(words) in ("", "none", "-", "nothing", "no"):
        return ()
    pieces = re.split(r"([;,])", words)
    if len(pieces) > 240:
        raise ValueWordsError(f"{quoted(words)} is too long a list.", mend="Name each criterion once.")
    found: list[str] = []
    at = 0
    while at < len(pieces):
        for end in range(len(pieces), at, -2):
            criterion = criteria.known.get(plain("".join(pieces[at:end])))
            if criterion is not None:
                found.append(criterion.key)
                at = end + 1
                break
        else:
            near = hint(pieces[at], criteria.known)
            mend = f"{near}Name criteria of the rubric, or write 'none'; what happened goes on the line below."
            raise ValueWordsError(f"{quoted(pieces[at])} is no criterion.", mend=mend)
    return tuple(dict.fromkeys(found))


def _read_short(sheet: Sheet, pair: FoundPair, section: Section) -> None:
    readers = {
        names.CALLED_FOR: choice_reader(sheet, pair, "called_for", Decision, of="decision"),
        names.KEEP: reader(sheet, pair, "keep", spoken_line),
        names.CHANGE: reader(sheet, pair, "change", spoken_line),
    }
    read_lines(sheet, lines_of(sheet, section, known=(_SHORT.known,)), _SHORT, readers)


def _read_comments(sheet: Sheet, criteria: names.Names[Criterion], pair: FoundPair, section: Section) -> None:
    found: list[Comment] = []
    for line in texts_of(sheet, section):
        criterion, words, name = criteria.find(line.whole)
        if criterion is None:
            if line.words != BLANK:
                add_unknown(sheet, line, name, dict.fromkeys(map(plain, criteria.labels)))
        elif text := spoken(words):
            try:
                found.append(Comment(criterion=criterion.key, text=text))
            except ValidationError as error:
                add_invalid(sheet, error, line.number)
    pair.put("comments", tuple(found), section.line)


def _read_answers(sheet: Sheet, questions: Questions | None, pair: FoundPair, section: Section) -> None:
    asked = None if questions is None else questions.get(pair.numbered.number, ())
    found: dict[int, Answer] = {}
    for block in section.blocks:
        if block.kind is BlockKind.QUOTE:
            _check_questions(sheet, block, asked)
        elif block.kind is not BlockKind.LIST or any(item.number is None for item in block.items):
            add_strange(sheet, block, _NUMBERED)
        else:
            for item in block.items:
                text = spoken(sheet.page.text_of(item))
                if not text or item.number is None:
                    continue
                if item.number in found:
                    what = f"question {item.number} is answered twice."
                    sheet.faults.add(item.start + 1, what, "Put the two answers under one number.")
                    continue
                try:
                    found[item.number] = Answer(question=item.number, text=text)
                except ValidationError as error:
                    add_invalid(sheet, error, item.start + 1)
    pair.put("answers", tuple(found.values()), section.line)


def _check_questions(sheet: Sheet, block: Block, asked: Sequence[str] | None) -> None:
    """The trainee's questions, quoted: not read, but words added to them are not lost in silence."""
    for at in range(block.start, block.end):
        line = sheet.page.lines[at]
        match = _QUESTION.fullmatch(line)
        is_own = match is not None and (asked is None or _is_asked(asked, int(match[1]), match[2] or ""))
        if line.strip() and not is_own:
            what = f"{quoted(line)} is not a question as it was sent; quoted lines are not read."
            sheet.faults.add(at + 1, what, f"Leave an empty line below the question. {_NUMBERED}")


def _is_asked(asked: Sequence[str], number: int, words: str) -> bool:
    return 0 < number <= len(asked) and question_line(asked[number - 1]) == " ".join(words.split())

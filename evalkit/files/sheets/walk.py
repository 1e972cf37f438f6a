"""The headings of a sheet, walked from top to bottom: which pair each part belongs to, and what is nobody's."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from evalkit.domain.round import NumberedPair, span_words
from evalkit.files.sheets import names
from evalkit.files.sheets.found import Found, FoundPair, Sheet, add_strange
from evalkit.files.sheets.own_words import PAIR_WORDS, introduction
from evalkit.files.sheets.page import Block, BlockKind, Section, open_fences
from evalkit.files.sheets.text import hint, plain, quoted

Top = Callable[[Found, Section], None]
"""Takes in the lines of the whole round."""

Part = Callable[[FoundPair, Section], None]
"""Takes in one part of a pair."""

OWN_HEADINGS = "In your own text begin headings with ####."


@dataclass(slots=True)
class _Under:
    """The pair under whose heading the walk is; `pair` is None where its parts cannot be taken in."""

    pair: FoundPair | None
    titles: dict[str, int] = field(default_factory=dict)


@dataclass(slots=True)
class Walk:
    """What the walk found: the pairs by number, and what is said of the whole round."""

    pairs: dict[int, FoundPair] = field(default_factory=dict)
    head: Found = field(default_factory=lambda: Found(1))


def walk(sheet: Sheet, on_top: Top, parts: Mapping[str, Part]) -> Walk:
    """Every part of the sheet handed to the one who takes it in; all that nobody takes in is a fault."""
    done = Walk()
    under: _Under | None = None
    titles = {plain(title): title for title in parts}
    for line, marks in open_fences(sheet.page):
        sheet.faults.add(
            line, f"the block begun with {marks} is never closed.", f"End it with a line {marks} of its own."
        )
    for section in sheet.page.sections:
        if section.level < 2:
            _top(sheet, section, done.head, on_top)
        elif section.level == 2:
            under = _second(sheet, section, done)
        elif under is None:
            _add_strange_heading(sheet, section)
        else:
            _part(sheet, section, under, titles, parts)
    for number in sheet.round.numbers:
        if number not in done.pairs and not sheet.is_part:
            mend = f"Put '## {names.PAIR} {number}' back; left blank, it counts as not tested."
            sheet.faults.add(0, f"pair {number} is missing.", mend)
    return done


def _top(sheet: Sheet, section: Section, head: Found, on_top: Top) -> None:
    """The title, the sheet's own words, and lines of the whole round."""
    if section.level == 1 and plain(section.title) != plain(sheet.title):
        what = f"{quoted(section.title)} is not the title of this sheet."
        sheet.faults.add(section.line, what, f"It is '# {sheet.title}'. {OWN_HEADINGS}")
    quotes = [block for block in section.blocks if block.kind is BlockKind.QUOTE]
    for block in quotes:
        if not _is_own(sheet, block):
            what = "the quoted lines under the title are not those that this sheet was sent with."
            mend = f"They are not read: put your words under '## {names.LETTER}' and delete these lines."
            sheet.faults.add(block.start + 1, what, mend)
    section.blocks = [block for block in section.blocks if block.kind is not BlockKind.QUOTE]
    on_top(head, section)


def _is_own(sheet: Sheet, block: Block) -> bool:
    """True for quoted lines into which nobody wrote."""
    lines = [line for line in sheet.page.lines[block.start : block.end] if line.strip()]
    words = " ".join(line.lstrip().removeprefix(">") for line in lines).split()
    is_quoted = all(line.lstrip().startswith(">") for line in lines)
    return is_quoted and words == " ".join(introduction(sheet.kind, sheet.rubric)).split()


def _second(sheet: Sheet, section: Section, done: Walk) -> _Under | None:
    title = plain(section.title).rstrip(":. ")
    if title == plain(names.LETTER):
        if "letter" in done.head.lines:
            what = f"the letter stands twice, first on line {done.head.lines['letter']}."
            sheet.faults.add(section.line, what, "Put the two under one heading.")
        done.head.put("letter", sheet.page.prose(section), section.line)
        return None
    match = re.fullmatch(r"pair (?:no\.? ?|# ?)?([0-9]{1,4})", title)
    if match is None:
        _add_strange_heading(sheet, section)
        return _Under(None)  # so that one wrong heading is one fault, and not one for each part below it
    return _Under(_pair(sheet, section, int(match[1]), done))


def _pair(sheet: Sheet, section: Section, number: int, done: Walk) -> FoundPair | None:
    numbered = next((one for one in sheet.round.pairs if one.number == number), None)
    if numbered is None:
        what = f"there is no pair {number} in round '{sheet.round.key}'."
        sheet.faults.add(section.line, what, f"The box holds the numbers {span_words(sheet.round.numbers)}.")
        return None
    if number in done.pairs:
        what = f"pair {number} stands twice, first on line {done.pairs[number].line}."
        sheet.faults.add(section.line, what, "Leave one of the two.")
        return None
    _check_pair_words(sheet, section, numbered)
    pair = FoundPair(section.line, numbered=numbered)
    pair.put("number", number, section.line)
    done.pairs[number] = pair
    return pair


def _check_pair_words(sheet: Sheet, section: Section, numbered: NumberedPair) -> None:
    """The line that says what the pair is: not read, but a word added there is not lost in silence."""
    for block in section.blocks:
        words = " ".join(sheet.page.paragraph(block).split())
        match = re.fullmatch(PAIR_WORDS, words) if block.kind is BlockKind.PARAGRAPH else None
        if match is None:
            add_strange(sheet, block, f"What you have to say of the pair goes under '### {names.NOTES}'.")
        elif (match[1], match[2]) != (numbered.pair.edge_type, numbered.pair.tag):
            pair = f"{numbered.pair.edge_type}, tag {numbered.pair.tag}"
            what = f"pair {numbered.number} of this round is {pair}, here stands {quoted(words)}."
            sheet.faults.add(block.start + 1, what, "Check that the readings belong to it, then mend this line.")


def _part(sheet: Sheet, section: Section, under: _Under, titles: Mapping[str, str], parts: Mapping[str, Part]) -> None:
    title = titles.get(plain(section.title).rstrip(":. "))
    if title is None:
        _add_strange_heading(sheet, section)
    elif title in under.titles:
        what = f"'{title}' stands twice for one pair, first on line {under.titles[title]}."
        sheet.faults.add(section.line, what, "Put the two under one heading.")
    else:
        under.titles[title] = section.line
        if under.pair is not None:
            parts[title](under.pair, section)


def _add_strange_heading(sheet: Sheet, section: Section) -> None:
    if section.markup in ("-", "="):
        what = f"the line under {quoted(section.title)} makes a heading of it."
        sheet.faults.add(section.line, what, f"Leave an empty line between the two. {OWN_HEADINGS}")
        return
    near = hint(section.title, [*names.SECTIONS[sheet.kind], names.LETTER])
    what = f"the heading {quoted(section.title)} is none of this sheet's."
    sheet.faults.add(section.line, what, near + OWN_HEADINGS)

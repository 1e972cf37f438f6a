"""What is found on a sheet, on its way into models: lines, and fields that know on which line they were said."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from evalkit.domain.round import NumberedPair, Round
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError
from evalkit.files.sheets import names
from evalkit.files.sheets.file import Faults
from evalkit.files.sheets.header import SheetKind
from evalkit.files.sheets.page import Block, BlockKind, Item, Page, Section
from evalkit.files.sheets.text import hint, plain, quoted

Model = TypeVar("Model", bound=BaseModel)

IN_NOTES = f"text of your own goes under '{names.NOTES}'."


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet being read: its outline, what it should fit, and the faults found so far."""

    page: Page
    kind: SheetKind
    title: str
    round: Round
    rubric: Rubric
    faults: Faults
    is_part: bool = False
    """Whether it may hold some of the round's pairs only."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a list, its number from 1. `words` end where a list below it begins; `whole` has that, too."""

    number: int
    words: str
    whole: str
    below: tuple[Item, ...] = ()


@dataclass(slots=True)
class Found:
    """What is gathered for one model: fields, and the line of each."""

    line: int
    fields: dict[str, object] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)

    def put(self, name: str, value: object, line: int) -> None:
        self.fields[name], self.lines[name] = value, line


@dataclass(slots=True)
class FoundPair(Found):
    """What is gathered for one pair of the round."""

    numbered: NumberedPair = field(kw_only=True)


def lines_of(
    sheet: Sheet, section: Section, *, known: Sequence[Mapping[str, object]] = (), is_by_line: bool = True
) -> Iterator[Line]:
    """The lines of every list under a heading; a paragraph counts as lines that lost their hyphens.

    So does, by the names in `known`, what CommonMark takes for the going on of the item above. Without `is_by_line` a
    paragraph is one line. What is neither list nor paragraph is a fault.
    """
    page = sheet.page
    for block in section.blocks:
        if block.kind is BlockKind.LIST:
            for item in block.items:
                yield from _lines_of_item(page, item, known)
        elif block.kind is BlockKind.PARAGRAPH and is_by_line:
            for at in range(block.start, block.end):
                words = page.lines[at].strip()
                yield Line(at + 1, words, words)
        elif block.kind is BlockKind.PARAGRAPH:
            words = page.paragraph(block)
            yield Line(block.start + 1, words, words)
        else:
            add_strange(sheet, block, f"Write lines that begin with a hyphen here; {IN_NOTES}")


def _lines_of_item(page: Page, item: Item, known: Sequence[Mapping[str, object]]) -> Iterator[Line]:
    """One line, or more where later ones begin at the margin with a known name."""
    rows = range(item.start + 1, item.end) if known else ()
    starts = [item.start, *(at for at in rows if _is_named(page.lines[at], known))]
    for start, end in pairwise((*starts, item.end)):
        part = Item(start, end, item.number) if len(starts) > 1 else item
        children = [child for child in item.children if start < child.start < end]
        for child in children:
            child.end = min(child.end, end)
        whole = page.text_of(part)
        words = page.text_of(part, children[0].start) if children else whole
        yield Line(start + 1, words, whole, tuple(children))


def _is_named(row: str, known: Sequence[Mapping[str, object]]) -> bool:
    if not row or row[0].isspace() or ":" not in row:
        return False
    name = names.plain_name(row.partition(":")[0])
    return any(name in spellings for spellings in known)


def add_strange(sheet: Sheet, block: Block, mend: str) -> None:
    """The fault of a block that stands where it cannot be taken in."""
    words = sheet.page.lines[block.start]
    if words.strip():
        sheet.faults.add(block.start + 1, f"{quoted(words)} has no place here.", mend)


def add_below(sheet: Sheet, line: Line) -> None:
    """The fault of a list below a line that takes none."""
    if line.below:
        at = line.below[0].start
        mend = "Begin its line with the hyphen, without blanks before it."
        sheet.faults.add(at + 1, f"{quoted(sheet.page.lines[at])} has no place here.", mend)


def add_unknown(sheet: Sheet, line: Line, name: str, known: Mapping[str, object]) -> None:
    """The fault of a line whose name nobody knows."""
    if ":" not in line.words:
        start = next((word for word in known if plain(line.words).startswith(word)), None)
        mend = f"Put a colon behind '{start}'." if start else f"Write lines like 'name: what you saw'; {IN_NOTES}"
    else:
        mend = f"{hint(name, known)}The names are those of the sheet as it was sent; {IN_NOTES}"
    sheet.faults.add(line.number, f"{quoted(name or line.words)} is no line of this list.", mend)


def take(sheet: Sheet, found: Found, line: Line, name: str, read: Callable[[], object]) -> None:
    """Put what `read` gives into a field, unless it is blank; what is said twice, or cannot be, is a fault."""
    try:
        value = read()
    except InputError as error:
        sheet.faults.add_error(line.number, error)
        return
    except ValidationError as error:
        add_invalid(sheet, error, line.number)
        return
    if value in (None, "", (), {}):
        return
    if name in found.fields:
        sheet.faults.add(line.number, f"this was said on line {found.lines[name]} already.", "Leave one of the two.")
        return
    found.put(name, value, line.number)


def add_invalid(sheet: Sheet, error: ValidationError, line: int, lines: Mapping[str, int] | None = None) -> None:
    """The faults that a model finds in its fields, each on the line of its field."""
    for one in error.errors(include_url=False, include_input=False):
        name = str(one["loc"][0]) if one["loc"] else ""
        words, mend = _words_of(one)
        what = f"{name.replace('_', ' ')}: {words[:1].lower()}{words[1:]}." if name else f"{words}."
        sheet.faults.add((lines or {}).get(name, line), what, mend)


def _words_of(one: ErrorDetails) -> tuple[str, str]:
    """What a model found and how to mend it; pydantic's own words where they say it well."""
    context = one.get("ctx", {})
    match one["type"]:
        case "string_too_long":
            return f"this is longer than {context['max_length']} signs", "Make it shorter."
        case "too_long":
            return f"these are more than {context['max_length']}", "Leave some out."
        case "string_pattern_mismatch":
            return "signs stand here that cannot be kept", "Write it in letters and digits."
        case _:
            return one["msg"].removeprefix("Value error, "), "Mend this line."


def made(sheet: Sheet, model: type[Model], found: Found, **more: object) -> Model | None:
    """A model from what was found; None, with faults added, where it cannot be."""
    fields = {**found.fields, **more}
    try:
        return model.model_validate(fields)
    except ValidationError as error:
        is_of_fields = all(one["loc"] for one in error.errors())
        add_invalid(sheet, error, found.line if is_of_fields else _blamed(model, fields, found), found.lines)
    return None


def _blamed(model: type[BaseModel], fields: Mapping[str, object], found: Found) -> int:
    """The line of the first field that does not go together with those above it."""
    tried: dict[str, object] = {}
    for name in sorted(fields, key=lambda name: found.lines.get(name, 0)):
        tried[name] = fields[name]
        try:
            model.model_validate(tried)
        except ValidationError as error:
            if any(not one["loc"] for one in error.errors()):
                return found.lines.get(name, found.line)
    return found.line

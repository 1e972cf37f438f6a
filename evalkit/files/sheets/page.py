"""A sheet as its outline: headings with what stands under each, every piece with its line.

markdown-it-py says where headings, lists and their items begin and end; the words themselves are taken from the lines
of the text, so that nothing is rendered, resolved or evaluated, and prose stays as it was typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING

from markdown_it import MarkdownIt
from mdit_py_plugins.front_matter import front_matter_plugin

from evalkit.files.sheets.file import checked_text
from evalkit.files.sheets.text import unreferenced

if TYPE_CHECKING:
    from markdown_it.token import Token

DEEPEST_OWN_HEADING = 3
"""Headings of the sheet end at `###`; those of a person's prose begin at `####`."""

AS_WRITTEN = "as written"
"""Marks a block of prose that would break the sheet's outline if it stood free."""

_TYPED_BULLET = re.compile(r"^([ \t]*)[–—•‣·](?=[ \t]+\S)", re.MULTILINE)
_MARKER = re.compile(r"([ \t]*)([-*+–—•‣·]|[0-9]{1,9}[.)])([ \t]*)")


class BlockKind(StrEnum):
    """What a piece under a heading is."""

    LIST = "list"
    PARAGRAPH = "paragraph"
    QUOTE = "quote"
    FENCE = "fence"
    HEADING = "heading"
    OTHER = "other"


@dataclass(slots=True)
class Item:
    """One item of a list, from line `start` up to `end` (from 0, end left out); `number` if the list is numbered."""

    start: int
    end: int
    number: int | None = None
    children: list[Item] = field(default_factory=list)


@dataclass(slots=True)
class Block:
    """One piece between two headings, in lines from 0, end left out. `info` is what a fence says of itself."""

    kind: BlockKind
    start: int
    end: int
    items: list[Item] = field(default_factory=list)
    info: str = ""


@dataclass(slots=True)
class Section:
    """A heading of the sheet and what stands under it; level 0 for what stands above the first heading."""

    level: int
    title: str
    line: int
    start: int
    markup: str = ""
    end: int = 0
    blocks: list[Block] = field(default_factory=list)


@dataclass(slots=True)
class Page:
    """The outline of a sheet over its lines; `front` is the head between the two rules, None where there is none."""

    lines: list[str]
    front: range | None
    sections: list[Section]

    def text_of(self, item: Item, end: int | None = None) -> str:
        """The words of an item without its marker and indentation, up to line `end`."""
        first = self.lines[item.start]
        marker = _MARKER.match(first)
        if marker is None:
            return "\n".join(self.lines[item.start : item.end if end is None else end]).strip()
        words = first[marker.end() :]
        end = item.end if end is None else end
        if end - item.start <= 1:
            return words.strip()
        n_blanks = len(marker[3])
        columns = len(marker[1].expandtabs(4)) + len(marker[2]) + (n_blanks if 1 <= n_blanks <= 4 and words else 1)
        rest = (_dedented(line, columns) for line in self.lines[item.start + 1 : end])
        return "\n".join((words, *rest)).strip()

    def paragraph(self, block: Block) -> str:
        return "\n".join(self.lines[block.start : block.end]).strip()

    def is_closed(self, fence: Block) -> bool:
        """True for a block of code that ends with its own marks, and not because the text ends."""
        marks, last = self.lines[fence.start].strip(), self.lines[fence.end - 1].strip()
        return fence.end - fence.start > 1 and last[:3] == marks[:3] and not last.strip(marks[0])

    def prose(self, section: Section) -> str:
        """The free text under a heading, as it was typed; blank lines before and after are no part of it."""
        block = section.blocks[0] if len(section.blocks) == 1 else None
        if block is not None and block.info == AS_WRITTEN and self.is_closed(block):
            return "\n".join(self.lines[block.start + 1 : block.end - 1])
        start, end = section.start, section.end
        while start < end and not self.lines[start].strip(" \t"):
            start += 1
        while start < end and not self.lines[end - 1].strip(" \t"):
            end -= 1
        return "\n".join(self.lines[start:end])


def _dedented(line: str, columns: int) -> str:
    """`line` without its first blanks, up to so many columns; a tab reaches to the next fourth."""
    at = column = 0
    while column < columns and at < len(line) and line[at] in " \t":
        column += 1 if line[at] == " " else 4 - column % 4
        at += 1
    return line[at:]


# --- the outline of a text ------------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _parser() -> MarkdownIt:
    """Blocks only. Link definitions are words here like any other: they would vanish from the outline."""
    parser = MarkdownIt("commonmark", {"html": False}).use(front_matter_plugin).disable("reference")
    parser.core.ruler.enableOnly(["normalize", "block"])
    return parser


def _tokens(text: str) -> list[Token]:
    """The blocks of a text. Dashes and dots that a phone makes of a hyphen begin an item too."""
    return _parser().parse(_TYPED_BULLET.sub(r"\1-", text))


def page_of(text: str, path: str) -> Page:
    """The outline of a sheet. Raises FileFaultsError where the text is refused as a whole."""
    text = checked_text(text, path)
    lines = text.split("\n")
    front: range | None = None
    section = Section(0, "", 0, 0)
    sections = [section]
    tokens = _tokens(text)
    for at, token in enumerate(tokens):
        if token.map is None or token.level not in (0, 1, 3) or token.type == "inline":
            continue
        start, end = token.map
        match token.level, token.type:
            case 0, "front_matter":
                # The plugin lets words stand behind the rules, which would be lost.
                is_bare = lines[start].rstrip() == "---" == lines[end - 1].rstrip()
                front = range(start + 1, end - 1) if is_bare else None
                section.start = end
            case 0, "heading_open" if int(token.tag[1]) <= DEEPEST_OWN_HEADING:
                section.end = start
                title = unreferenced(tokens[at + 1].content)
                section = Section(int(token.tag[1]), title, start + 1, end, token.markup)
                sections.append(section)
            case 0, kind:
                section.blocks.append(Block(_KINDS.get(kind, BlockKind.OTHER), start, end, info=token.info.strip()))
            case 1, "list_item_open":
                number = int(token.info) if token.info else None
                section.blocks[-1].items.append(Item(start, end, number))
            case 3, "list_item_open" if section.blocks[-1].kind is BlockKind.LIST:
                parent = section.blocks[-1].items[-1]
                if start > parent.start:
                    parent.children.append(Item(start, end))
    section.end = len(lines)
    return Page(lines, front, sections)


_KINDS = {
    "bullet_list_open": BlockKind.LIST,
    "ordered_list_open": BlockKind.LIST,
    "paragraph_open": BlockKind.PARAGRAPH,
    "blockquote_open": BlockKind.QUOTE,
    "fence": BlockKind.FENCE,
    "heading_open": BlockKind.HEADING,
}


def open_fences(page: Page) -> Iterator[tuple[int, str]]:
    """Blocks of code that nothing closes though headings of a sheet stand in them: line and marks."""
    for section in page.sections:
        for block in section.blocks:
            inside = page.lines[block.start + 1 : block.end]
            is_open = block.kind is BlockKind.FENCE and not page.is_closed(block)
            if is_open and any(line.startswith(("## ", "### ")) for line in inside):
                yield block.start + 1, page.lines[block.start].strip()[:3]


# --- writing prose ---------------------------------------------------------------------------------------------------


def prose_lines(text: str) -> list[str]:
    """Free text as lines under a heading, so that `Page.prose` gives it back.

    Text that would break the outline (a heading of the sheet's own levels, an open block of code, blank lines around
    it) is put into a block marked 'as written'.
    """
    lines = text.split("\n")
    if text and lines[0].strip(" \t") and lines[-1].strip(" \t") and _stands_free(text):
        return lines
    longest = max((len(run) for run in re.findall("~+", text)), default=0)
    marks = "~" * max(3, longest + 1)
    return [f"{marks} {AS_WRITTEN}", *lines, marks]


def _stands_free(text: str) -> bool:
    probe = f"\n{text}\n\n### end\n"
    top = [token for token in _tokens(probe) if token.level == 0]
    headings = [token for token in top if token.type == "heading_open"]
    if not headings or headings[-1].map != [probe.count("\n") - 1, probe.count("\n")]:
        return False
    is_marked = any(token.type == "fence" and token.info.strip() == AS_WRITTEN for token in top)
    return not is_marked and all(int(token.tag[1]) > DEEPEST_OWN_HEADING for token in headings[:-1])

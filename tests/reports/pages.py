"""A page read back the way a browser would: its elements in order, with their attributes and their text."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

EMPTY = {"br", "hr", "img", "meta", "link", "input", "path", "circle", "rect"}


@dataclass
class Element:
    """One element; `text` is all text below it."""

    tag: str
    attributes: dict[str, str]
    parents: tuple[Element, ...] = ()
    text: str = ""
    children: list[Element] = field(default_factory=list)

    def inside(self, tag: str, kind: str = "") -> bool:
        return any(one.tag == tag and kind in one.attributes.get("class", "").split() for one in self.parents)


class _Reader(HTMLParser):
    """Elements may be closed in their own order only; anything else is a fault of the page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[Element] = []
        self.open: list[Element] = []
        self.others: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(set(names)) == len(names), f"<{tag}> says an attribute twice: {names}"
        element = Element(tag, {name: value or "" for name, value in attrs}, tuple(self.open))
        if self.open:
            self.open[-1].children.append(element)
        self.found.append(element)
        if tag not in EMPTY:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if tag not in EMPTY:
            assert self.open, f"</{tag}> closes nothing"
            assert self.open[-1].tag == tag, f"</{tag}> where <{self.open[-1].tag}> is open"
            self.open.pop()

    def handle_data(self, data: str) -> None:
        for element in self.open:
            element.text += data

    def handle_comment(self, data: str) -> None:
        self.others.append(f"<!--{data}-->")

    def unknown_decl(self, data: str) -> None:
        self.others.append(f"<![{data}]>")

    def handle_pi(self, data: str) -> None:
        self.others.append(f"<?{data}>")


def elements(page: str) -> list[Element]:
    """Every element of a page that is well formed and holds no comment, declaration or instruction."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == [], f"left open: {[element.tag for element in reader.open]}"
    assert reader.others == []
    return reader.found

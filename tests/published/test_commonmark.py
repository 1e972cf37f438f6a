"""Notes are shown as the CommonMark specification says, in the places where our own rules do not say otherwise.

Source: the 652 examples of CommonMark 0.31.2 (data/SOURCES.md), and markdown-it-py, which renders them as printed.
Our own rules, told once in `_AsOurs`: raw HTML is off, a picture becomes its words, headings go down three steps, the
language of a code block is dropped, and a link leads only where its scheme is named (http, https, mailto).
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from markdown_it import MarkdownIt

from evalkit.reports.prose import ALLOWED_SCHEMES, HEADING_SHIFT, _Parser, to_safe_html

REFERENCE = MarkdownIt("commonmark")
"""As the specification is printed, raw HTML included."""

SCHEME = re.compile(r"([a-z][a-z0-9+.-]*):", re.IGNORECASE)
"""RFC 3986, 3.1."""

STYLED_PICTURES = {520, 573, 574, 575, 576, 577, 585, 589}
"""Examples whose pictures have words with marks in them; we leave these words as they were typed, marks included."""

EMPTY_QUOTE = ("<blockquote></blockquote>", "<blockquote>\n</blockquote>")
"""The one white space in which the library differs from print."""

Told = list[tuple[str, ...]]


class _Reader(HTMLParser):
    """HTML as a list of what it tells; neighbouring words are one, and `<br />` is `<br>`."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.told: Told = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.told.append(("start", tag, *(f"{name}={value}" for name, value in sorted(attrs))))

    def handle_endtag(self, tag: str) -> None:
        self.told.append(("end", tag))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)

    def handle_data(self, data: str) -> None:
        self.add_words(data)

    def add_words(self, words: str) -> None:
        if self.told and self.told[-1][0] == "words":
            words = self.told.pop()[1] + words
        self.told.append(("words", words))


class _AsOurs(_Reader):
    """The same, with our own rules laid over it."""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        held = {name: value or "" for name, value in attrs}
        if tag == "img":
            self.add_words(f"[{held['alt']}]")
            return
        if tag == "a":
            scheme = SCHEME.match(held["href"])
            if not held["href"] or (scheme and scheme[1].lower() not in ALLOWED_SCHEMES):
                del held["href"]
            held["rel"] = "noopener noreferrer"
        if tag == "code":
            held = {}
        super().handle_starttag(_lowered(tag), list(held.items()))

    def handle_endtag(self, tag: str) -> None:
        super().handle_endtag(_lowered(tag))


def _lowered(tag: str) -> str:
    is_heading = len(tag) == 2 and tag[0] == "h" and tag[1].isdigit()
    return f"h{min(int(tag[1]) + HEADING_SHIFT, 6)}" if is_heading else tag


def _read(html: str, reader: _Reader) -> Told:
    reader.feed(html.replace(*EMPTY_QUOTE))
    reader.close()
    return reader.told


def as_ours(html: str) -> Told:
    """What the specification prints for an example, under our own rules."""
    return _read(html, _AsOurs())


def as_shown(text: str) -> Told:
    """What our pages show for a note."""
    return _read(str(to_safe_html(text)), _Reader())


def has_raw_html(text: str) -> bool:
    """Whether the parser finds raw HTML in it."""
    tokens = REFERENCE.parse(text)
    found = {one.type for token in tokens for one in (token, *(token.children or ()))}
    return bool(found & {"html_block", "html_inline"})


class _Asked(MarkdownIt):
    """Remembers every destination that it met, and lets each be one."""

    def __init__(self) -> None:
        super().__init__("commonmark")
        self.urls: list[str] = []

    def validateLink(self, url: str) -> bool:  # noqa: N802 - the library's own name
        self.urls.append(url)
        return True


def has_named_links_only(text: str) -> bool:
    """Whether every destination in it, of pictures and of definitions that nobody uses too, has a named scheme."""
    asked = _Asked()
    asked.render(text)
    return all(url.partition(":")[0].lower() in ALLOWED_SCHEMES for url in asked.urls)


@pytest.fixture(scope="module")
def examples(load_json) -> list[tuple[int, str, str, str]]:
    """(number, section, note, HTML as printed)."""
    return [tuple(example) for example in load_json("commonmark_0_31_2")]


@pytest.fixture
def links_lead_anywhere(monkeypatch: pytest.MonkeyPatch):
    """The library's own rule for links, so that links to '/url' are links; the cleaning after it stays ours."""
    monkeypatch.delattr(_Parser, "validateLink")


def test_the_data_is_the_whole_specification(examples):
    assert [number for number, *_ in examples] == list(range(1, 653))


def test_the_library_renders_every_example_as_printed(examples):
    assert [number for number, _, text, html in examples if REFERENCE.render(text).replace(*EMPTY_QUOTE) != html] == []


def test_every_example_without_raw_html_is_shown_as_printed(examples, links_lead_anywhere):
    plain = [example for example in examples if not has_raw_html(example[2])]
    assert len(plain) == 580, "almost all of it"
    differing = {number for number, _, text, html in plain if as_shown(text) != as_ours(html)}
    assert differing == STYLED_PICTURES


def test_as_it_stands_an_example_without_a_link_to_nowhere_named_is_shown_as_printed(examples):
    """Nothing is taken out here: this is the code that runs."""
    plain = [example for example in examples if not has_raw_html(example[2]) and has_named_links_only(example[2])]
    assert len(plain) > 440, "most of it"
    assert [number for number, _, text, html in plain if as_shown(text) != as_ours(html)] == []


def test_as_it_stands_a_link_without_a_named_scheme_is_no_link(examples):
    led = {link.partition(":")[0] for _, _, text, _ in examples for link in _links(as_shown(text))}
    assert led == {"http", "https", "mailto", "MAILTO"}


def test_raw_html_in_the_examples_stays_words(examples):
    raw = [example for example in examples if has_raw_html(example[2])]
    assert len(raw) == 72
    for number, _, text, _ in raw:
        told = as_shown(text)
        assert {one[1] for one in told if one[0] == "start"} <= _own_tags(text), number
        assert "<" in "".join(one[1] for one in told if one[0] == "words"), number


def _links(told: Told) -> list[str]:
    return [part[5:] for one in told if one[:2] == ("start", "a") for part in one[2:] if part.startswith("href=")]


def _own_tags(text: str) -> set[str]:
    """The tags that the Markdown itself calls for, raw HTML aside."""
    rendered = MarkdownIt("commonmark", {"html": False}).render(text)
    return {one[1] for one in as_ours(rendered) if one[0] == "start"}

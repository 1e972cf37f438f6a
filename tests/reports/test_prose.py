"""A user's words can do nothing but be read; what is plain CommonMark is shown as CommonMark."""

from __future__ import annotations

import time
from urllib.parse import urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from evalkit.reports.prose import (
    ALLOWED_ATTRIBUTES,
    ALLOWED_TAGS,
    to_inert_line,
    to_plain_text,
    to_quoted,
    to_safe_html,
)
from tests.reports.hostile import DEEP, NOTES, RAW
from tests.reports.pages import elements

COMMONMARK = MarkdownIt("commonmark", {"html": False})
PLAIN = MarkdownIt("commonmark").enable("table")


def assert_inert(html: str) -> None:
    for element in elements(html):
        assert element.tag in ALLOWED_TAGS, element
        allowed = ALLOWED_ATTRIBUTES.get(element.tag, set()) | ({"rel"} if element.tag == "a" else set())
        assert set(element.attributes) <= allowed, element
        if "href" in element.attributes:
            assert urlsplit(element.attributes["href"]).scheme in {"http", "https", "mailto"}, element
            assert element.attributes["rel"] == "noopener noreferrer"


def test_there_are_many_hostile_notes():
    assert len(set(NOTES)) > 300


@pytest.mark.parametrize("note", NOTES)
def test_a_hostile_note_is_inert(note: str):
    assert_inert(to_safe_html(note))


@pytest.mark.parametrize("note", RAW)
def test_raw_html_stays_readable(note: str):
    """It is shown as it was typed, not silently dropped: the mentor should see what was sent."""
    shown = elements(f"<div>{to_safe_html(note)}</div>")[0].text
    if "alert" in note:
        assert "alert(1)" in shown


@given(st.lists(st.sampled_from(NOTES), min_size=1, max_size=4), st.sampled_from((" ", "\n", "\n\n", "")))
def test_hostile_notes_together_are_inert(notes: list[str], glue: str):
    assert_inert(to_safe_html(glue.join(notes)))


@given(st.text(alphabet="<>\"'`=&;:/()[]!*_#\\-~ \n\tabjs1\u200b\u202e", max_size=120))
def test_any_mixture_of_signs_is_inert(note: str):
    assert_inert(to_safe_html(note))


@pytest.mark.parametrize("name", DEEP)
def test_deep_nesting_is_inert_quick_and_loses_no_word(name: str):
    started = time.process_time()
    html = to_safe_html(DEEP[name])
    assert time.process_time() - started < 5, "a bound against blow-up, not a speed figure"
    assert_inert(html)
    assert "bottom" in html


def test_nesting_as_people_write_it_is_kept():
    lists = "".join("  " * depth + f"- step {depth}\n" for depth in range(15))
    html = to_safe_html(lists)
    assert html.count("<ul>") == 15
    assert "step 14" in html
    assert to_safe_html("> " * 20 + "x").count("<blockquote>") == 20


def test_links_to_places_that_are_named_stay_links():
    html = to_safe_html("[a](https://ok.example/x) <http://ok.example> [m](mailto:oda@ok.example)")
    assert [one.attributes["href"] for one in elements(html) if one.tag == "a"] == [
        "https://ok.example/x",
        "http://ok.example",
        "mailto:oda@ok.example",
    ]


def test_a_picture_becomes_its_words():
    assert to_safe_html("see ![the *tip*](https://evil.example/t.png)") == "<p>see [the *tip*]</p>\n"


def test_headings_stand_below_those_of_the_report():
    assert to_safe_html("# a\n\n###### b") == "<h4>a</h4>\n<h6>b</h6>\n"


# Sorts of text that the CommonMark specification (0.31) describes; raw HTML, pictures and headings are told above.
BASICS = (
    "plain words",
    "two\n\nparagraphs",
    "soft\nbreak",
    "hard  \nbreak",
    "hard\\\nbreak",
    "*emphasis* and _emphasis_",
    "**strong** and __strong__",
    "***both***",
    "`code`",
    "``a ` b``",
    "    indented code",
    "```\nfenced\n```",
    "~~~\nfenced\n~~~",
    "> quote\n> goes on",
    "> quote\n\nafter",
    "- a\n- b\n- c",
    "* a\n\n  second paragraph\n* b",
    "1. one\n2. two",
    "7. seven\n8. eight",
    "- a\n  - b\n    - c",
    "---",
    "a\n\n***\n\nb",
    "\\*not emphasis\\*",
    "5 * 3 * 2 and 2_000_000",
    "AT&T, 3 < 4, &copy; &#35; &nbsp;",
    "0.4 mm ± 0.05, 90° – 45°",
    "тест 試験 🙂",
)


@pytest.mark.parametrize("text", BASICS)
def test_the_basics_render_as_the_library_renders_them(text: str):
    def read(html: str) -> list[tuple[str, str]]:
        return [(element.tag, element.text) for element in elements(f"<div>{html}</div>")]

    assert read(to_safe_html(text)) == read(COMMONMARK.render(text))


@given(st.text(max_size=200))
def test_a_line_for_markdown_is_one_paragraph_of_the_same_words(text: str):
    line = to_inert_line(text)
    tokens = PLAIN.parse(line)
    words = " ".join(text.split())
    if not words or "\x00" in words:
        return
    assert [token.type for token in tokens] == ["paragraph_open", "inline", "paragraph_close"], (line, tokens)
    children = tokens[1].children or []
    assert {child.type for child in children} <= {"text", "text_special"}
    assert "".join(child.content for child in children) == words


@pytest.mark.parametrize(
    "text",
    [
        "- a", "+ a", "* a", "-", "=", "===", "---", "- - -", "1. a", "12) a", "# a", "> a", "~~~", "```", "    a",
        "| a | b |", "|---|---|", ":--", "[a]: b", "<b>", "a\n===", "a\n---", "&lt;", "\\", "a\\", "1.", "123456789. a",
    ],
)  # fmt: skip
def test_a_line_begins_no_block(text: str):
    assert PLAIN.parse(to_inert_line(text))[0].type == "paragraph_open"
    below = PLAIN.parse(f"words above\n{to_inert_line(text)}")
    assert [token.type for token in below] == ["paragraph_open", "inline", "paragraph_close"]


def test_numbers_are_not_littered_with_backslashes():
    assert to_inert_line("-0.3, 75.2 and +0.30") == "-0.3, 75.2 and +0.30"
    assert to_inert_line("75.2") == "75.2"


@pytest.mark.parametrize("note", NOTES)
def test_a_quoted_note_holds_no_html_no_link_and_no_picture(note: str):
    tokens = PLAIN.parse(f"before\n\n{to_quoted(note)}\n\nafter")
    kinds = {token.type for token in tokens} | {child.type for token in tokens for child in token.children or ()}
    assert kinds.isdisjoint({"html_block", "html_inline", "link_open", "image"}), note
    assert [token.type for token in tokens if token.level == 0] == [
        "paragraph_open", "paragraph_close", "blockquote_open", "blockquote_close", "paragraph_open", "paragraph_close",
    ]  # fmt: skip
    assert (tokens[1].content, tokens[-2].content) == ("before", "after")


def test_quoted_prose_keeps_its_shape():
    assert to_quoted("Dear Oda,\n\n- one\n- *two* & <three>\n") == (
        "> Dear Oda,\n>\n> - one\n> - *two* &amp; &lt;three>"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("", ()),
        ("*Set and half-moon*: see `Play` first", ("Set and half-moon: see Play first",)),
        ("one\ntwo\n\n**three** [four](https://x.example)", ("one two", "three four")),
        ("- a\n- b\n  1. c\n  2. d\n", ("- a", "- b", "  1. c", "  2. d")),
        ("## Head\n> said", ("Head", "said")),
        ("2 * 3 * 4 and a_b_c", ("2 * 3 * 4 and a_b_c",)),
        ("```\nraw *x*\n```", ("raw *x*",)),
        ("<b>kept</b>", ("<b>kept</b>",)),
        ("![tip](https://x.example/tip.jpg)", ("tip",)),
    ],
)
def test_a_terminal_shows_words_without_their_marks(text: str, lines: tuple[str, ...]):
    assert to_plain_text(text) == lines

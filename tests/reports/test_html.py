"""The page stands alone, is well formed, can be read by ear, and no word of a user becomes part of it."""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise

import pytest

from evalkit.domain.value import MAX_NOTE
from evalkit.progress.results import answer_round
from evalkit.reports.formats import Job
from evalkit.reports.prose import ALLOWED_ATTRIBUTES, ALLOWED_TAGS
from evalkit.settings import Paper
from tests.reports.conftest import job_of, spoiled
from tests.reports.hostile import LINES
from tests.reports.pages import Element, elements
from tests.reports.spoiling import Words, in_turn
from tests.reports.values import RUBRIC, result_of, round_of

ADDRESSES = {"href", "src", "srcset", "action", "data", "poster", "formaction", "background", "xlink:href"}


def shape(element: Element) -> tuple[str, tuple[str, ...]]:
    return element.tag, tuple(sorted(element.attributes))


# --- alone and whole -------------------------------------------------------------------------------------------------


def test_the_page_is_well_formed(job: Job):
    found = elements(job.page)
    assert job.page.startswith('<!DOCTYPE html>\n<html lang="en">')
    assert Counter(element.tag for element in found)["h1"] == 1
    assert len(found) > 300


def test_it_fetches_nothing(job: Job):
    for element in elements(job.page):
        for name in ADDRESSES & set(element.attributes):
            if not element.inside("div", "note"):
                assert element.attributes[name].startswith(("#", "data:image/")), element
        assert element.tag not in {"script", "link", "iframe", "object", "embed", "base", "form"}
        assert not any(name.startswith("on") for name in element.attributes)
    style = re.search(r"<style>(.*?)</style>", job.page, re.DOTALL)
    assert style is not None
    assert not re.search(r"url\(|@import|https?:", style[1])


def test_it_forbids_what_it_does_not_need(job: Job):
    metas = [element.attributes for element in elements(job.page) if element.tag == "meta"]
    policy = next(one["content"] for one in metas if one.get("http-equiv") == "Content-Security-Policy")
    assert policy == (
        "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
    )  # fmt: skip
    assert {"name": "referrer", "content": "no-referrer"} in metas


def test_no_id_stands_twice_and_every_reference_leads_somewhere(job: Job):
    found = elements(job.page)
    ids = [element.attributes["id"] for element in found if "id" in element.attributes]
    assert len(set(ids)) == len(ids)
    for element in found:
        for name in element.attributes.get("aria-labelledby", "").split():
            assert name in ids
        if element.attributes.get("href", "").startswith("#"):
            assert element.attributes["href"][1:] in ids


@pytest.mark.parametrize("paper", list(Paper))
def test_the_paper_is_said_in_its_style(paper: Paper):
    assert f"@page {{ size: {paper.value};" in job_of(result_of(), paper).page


def test_a_box_with_nothing_in_it_yet_is_a_page_too():
    page = job_of(answer_round(round_of(), RUBRIC, None, None)).page
    elements(page)
    assert page.count("Nothing is marked yet.") == 2


# --- read by ear -----------------------------------------------------------------------------------------------------


def test_every_drawing_has_a_title_and_a_description(job: Job):
    drawings = [one for one in elements(job.page) if one.tag == "svg" and one.inside("figure", "blades")]
    assert len(drawings) == 8  # three stages of pairs 1 and 2, two of pair 3
    for drawing in drawings:
        titles = [one for one in drawing.children if one.tag == "title"]
        descriptions = [one for one in drawing.children if one.tag == "desc"]
        assert [len(titles), len(descriptions)] == [1, 1]
        assert titles[0].text
        assert descriptions[0].text.startswith("Worst level seen at each place.")
        assert drawing.attributes["role"] == "img"
        assert drawing.attributes["aria-labelledby"].split() == [
            titles[0].attributes["id"], descriptions[0].attributes["id"],
        ]  # fmt: skip


def test_every_other_drawing_is_named_or_hidden(job: Job):
    for one in elements(job.page):
        if one.tag == "svg" and not one.inside("figure", "blades"):
            is_hidden = one.attributes.get("aria-hidden") == "true"
            assert is_hidden or (one.attributes.get("aria-label") and one.children[0].tag == "title")


def test_marks_are_told_by_shape_and_sign_and_word(job: Job):
    drawing = next(one for one in elements(job.page) if one.tag == "svg" and one.inside("figure", "blades"))
    marks = [one for one in drawing.children if one.tag == "g" and one.children and one.children[0].tag == "title"]
    assert len(marks) >= 8
    for mark in marks:
        kinds = [child.tag for child in mark.children]
        assert kinds[0] == "title"
        assert kinds[1] in {"path", "rect", "circle"}
        assert kinds[2] == "text"


def test_table_headers_say_what_they_head(job: Job):
    heads = [element for element in elements(job.page) if element.tag == "th"]
    assert len(heads) > 20
    assert all(element.attributes.get("scope") in {"col", "row"} for element in heads)
    for table in (element for element in elements(job.page) if element.tag == "table"):
        widths = {len([one for one in row.children if one.tag in {"th", "td"}])
                  for body in table.children if body.tag in {"thead", "tbody"}
                  for row in body.children if "tail" not in row.attributes.get("class", "")}  # fmt: skip
        assert widths == {7}


def test_what_scrolls_can_be_reached_by_keyboard(job: Job):
    for element in elements(job.page):
        if element.attributes.get("class") == "scroll":
            assert element.attributes["tabindex"] == "0"
            assert element.attributes["role"] == "region"
            assert element.attributes["aria-label"]


def test_pictures_have_words(job: Job):
    pictures = [element for element in elements(job.page) if element.tag == "img"]
    assert [one.attributes["alt"] for one in pictures] == ["thumb blade, heel"]


def test_headings_do_not_skip_a_step(job: Job):
    levels = [int(element.tag[1]) for element in elements(job.page) if re.fullmatch(r"h[1-6]", element.tag)]
    assert levels[0] == 1
    assert all(later <= earlier + 1 for earlier, later in pairwise(levels))


# --- hostile words in every field ------------------------------------------------------------------------------------


def plain(name: str, most: int) -> str:
    return "plain words"


def hostile(note: str) -> Words:
    return lambda _name, most: note[:most]


@pytest.mark.parametrize("at", range(0, len(LINES), 4))
def test_hostile_words_in_every_field_make_no_element_and_no_attribute(at: int):
    """Outside prose the page has exactly the elements it has with plain words; in prose only those allowed by name."""
    found = elements(spoiled(in_turn(LINES[at : at + 4])).page)
    assert Counter(shape(one) for one in found if not _in_prose(one)) == Counter(
        shape(one) for one in elements(spoiled(plain).page) if not _in_prose(one)
    )
    for one in found:
        if _in_prose(one):
            assert one.tag in ALLOWED_TAGS
            assert set(one.attributes) <= ALLOWED_ATTRIBUTES.get(one.tag, set()) | {"rel"}
            assert one.attributes.get("href", "https:").partition(":")[0] in {"http", "https", "mailto"}


def _in_prose(element: Element) -> bool:
    return any("note" in one.attributes.get("class", "").split() for one in element.parents)


def test_every_field_that_a_report_shows_was_spoiled():
    """Each field gets words of its own; those the page does not show are known by name."""
    said: dict[str, str] = {}

    def words(name: str, most: int) -> str:
        key = f"{name}-{'prose' if most > MAX_NOTE else most}"
        return said.setdefault(key, f"quirk{len(said)}z")

    page = spoiled(words).page
    missing = {key for key, mark in said.items() if mark not in page}
    assert missing == {"about-prose", "ask-prose", "carrier_ref-200", "disinfected_with-2000", "file-200",
                       "origin-2000", "pivot-200", "source-2000", "why-2000"}  # fmt: skip


def test_the_words_themselves_are_shown_as_typed():
    note = '"><script>alert(1)</script>'
    page = spoiled(hostile(note)).page
    heads = [element for element in elements(page) if element.tag == "h1"]
    assert heads[0].text.endswith(note)
    assert "<script" not in page

"""The bench book as a paper form: everything is on it, nothing is cut off, on A4 and on Letter."""

from __future__ import annotations

import io
import re
import unicodedata
from pathlib import Path

import pytest
from pypdf import PdfReader

from evalkit.domain.criterion import Use
from evalkit.domain.round import Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision
from tests.browser.boxes import round_in
from tests.browser.hand import Hand
from tests.browser.story import LETTER, short_story_of

MARGIN_MM = 15
PAPER_MM = {"A4": (210, 297), "Letter": (215.9, 279.4)}
PX_PER_MM = 96 / 25.4

CUT_OFF = """() => [...document.querySelectorAll("#paper *")]
    .filter((one) => {
        const box = one.getBoundingClientRect();
        const isOverItsBox = one.clientWidth && one.scrollWidth > one.clientWidth + 1;
        return box.right > innerWidth + 0.5 || box.left < -0.5 || isOverItsBox;
    })
    .map((one) => `${one.tagName}.${one.className}: ${one.textContent.slice(0, 60)}`)"""
"""What reaches over the edge of the paper, or of the box it stands in."""


def printed(page, paper: str) -> PdfReader:
    return PdfReader(io.BytesIO(page.pdf(format=paper, print_background=True, prefer_css_page_size=False)))


def words_of(pdf: PdfReader) -> str:
    """All text: a PDF breaks lines and joins letters where it likes."""
    return one_line(" ".join(page.extract_text() for page in pdf.pages))


def one_line(text: str) -> str:
    """Ligatures taken apart, white space made one."""
    return re.sub(r"\s+", " ", unicodedata.normalize("NFKC", text))


def cut_off(page, paper: str) -> list[str]:
    """Shown as for print, as wide as the paper less its margins."""
    page.evaluate("() => dispatchEvent(new Event('beforeprint'))")
    page.emulate_media(media="print")
    width = int((PAPER_MM[paper][0] - 2 * MARGIN_MM) * PX_PER_MM)
    page.set_viewport_size({"width": width, "height": 900})
    found: list[str] = page.evaluate(CUT_OFF)
    page.emulate_media(media="screen")
    return found


@pytest.mark.parametrize("paper", PAPER_MM)
def test_an_empty_form_asks_for_everything(box: Path, laptop, paper: str):
    round_, rubric = round_in(box)
    page = laptop.new_page()
    Hand(page, is_touch=False).open(box / "teo-1.html")
    pdf = printed(page, paper)
    width_pt, height_pt = (float(side) for side in pdf.pages[0].mediabox[2:])
    assert (width_pt, height_pt) == pytest.approx([mm / 25.4 * 72 for mm in PAPER_MM[paper]], abs=1)
    assert _missing(words_of(pdf), round_, rubric) == []
    assert len(pdf.pages) <= 1 + 2 * len(round_.pairs) + 1, "two pages for a pair at most"
    assert cut_off(page, paper) == []


def _missing(text: str, round_: Round, rubric: Rubric) -> list[str]:
    """What a form has to ask, pair by pair, and does not."""
    missing = []
    for numbered in round_.pairs:
        begin = text.find(f"Pair {numbered.number}: ")
        end = text.find(f"Pair {numbered.number + 1}: ")
        part = text[begin : end if end > 0 else None] if begin >= 0 else ""
        asked = [
            numbered.pair.tag,
            numbered.pair.words,
            "as received",
            "as finished",
            "Class",
            "Own verdict",
            "Minutes",
        ]
        asked += [on.name for on in rubric.on(numbered.pair.edge_type) if on.use is not Use.NOT_APPLICABLE]
        missing += [f"pair {numbered.number}: {words}" for words in asked if words not in part]
    return missing


@pytest.mark.parametrize("paper", PAPER_MM)
def test_what_was_written_is_printed(small_box: Path, laptop, paper: str):
    told = short_story_of(*round_in(small_box))[0]
    assert told.pair.decision is Decision.SHARPEN
    page = laptop.new_page()
    hand = Hand(page, is_touch=False)
    hand.open(small_box / "teo-1.html")
    hand.say_disinfected()
    hand.pair(told)
    long_word, long_note = "Widerspruchsfreiheit" * 12, "One more line of a long note, as people write it. " * 80
    hand.to_step("Verdict")
    hand.field("Lessons").fill(f"{long_word}\n{long_note}")
    page.evaluate("() => { location.hash = '#/check'; }")
    page.locator("#letter").fill(LETTER)
    text = words_of(printed(page, paper))
    close = text.replace(" ", "")
    pair, work = told.pair, told.pair.work
    typed = [pair.notes, *pair.questions, LETTER, long_note, long_word, "Blue Dip (invented)"]
    typed += [str(pair.decision), str(pair.stated_class), str(work.minutes), *(step.what for step in work.steps)]
    typed += [reading.note for reading in pair.readings]
    for words in typed:
        assert one_line(words).replace(" ", "") in close, words
    assert cut_off(page, paper) == []

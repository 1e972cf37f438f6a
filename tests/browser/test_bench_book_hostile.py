"""Words that try to be more than words: typed into every field, or brought along in the round. They stay words."""

from __future__ import annotations

from pathlib import Path

import pytest

from evalkit.domain.assessment import Assessment
from evalkit.domain.value import MAX_NOTE
from evalkit.reports.to_bench_book import bench_book
from tests.browser.boxes import KEY, do, opened, round_in
from tests.browser.driving import Watch
from tests.browser.hand import Hand
from tests.browser.packets import unpack
from tests.reports.hostile import NOTES
from tests.reports.spoiling import in_turn, spoil

N_NOTES = 150
BREAKERS = (
    "</script><script>alert(1)</script>",
    "<!--<script>",
    "]]></style><img src=x onerror=alert(1)>",
    "'; alert(1); //",
    "\\u003cscript\\u003ealert(1)",
    "${alert(1)}",
    "{{ 7 * 7 }}{% raw %}",
    "\u2028\u2029\u202e\u0000\u0007",
    "ＡＬＥＲＴ\ufeff(1)",
    "javascript:alert(1)",
)
"""What breaks out of JSON in HTML, of templates, of text: a few ways of their own beside those of the reports."""

TRACES = """() => [...document.querySelectorAll("script, iframe, object, embed, base, link, form, img, svg script")]
    .filter((one) => !(one.tagName === "IMG" && one.src.startsWith("blob:")))
    .map((one) => one.outerHTML.slice(0, 80))"""
"""Elements that words should never become. The page's own three scripts are among them."""


def hostile_notes() -> list[str]:
    """150 of those that the reports are tried with, spread over all their kinds, and the breakers."""
    step = len(NOTES) / (N_NOTES - len(BREAKERS))
    return [*BREAKERS, *(NOTES[int(at * step)] for at in range(N_NOTES - len(BREAKERS)))]


def as_kept(text: str) -> str:
    """A note as the record can have it: no control signs but tab and line break."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(sign for sign in lines if sign in "\t\n" or not (ord(sign) < 0x20 or 0x7F <= ord(sign) < 0xA0))


def test_there_are_150_of_them():
    assert len(set(hostile_notes())) == N_NOTES


def test_hostile_notes_stay_words_on_every_screen(small_box: Path, phone, watch: Watch, tmp_path: Path):
    """Typed as notes, lessons, questions, remarks, reason, steps, parts, letter and product; looked at; sealed."""
    notes = hostile_notes()
    hand = Hand(phone.new_page())
    hand.open(small_box / "teo-1.html")
    own = hand.page.evaluate(TRACES)
    typed = _fill_everything(hand, notes)
    for way in ("#/", "#/pair/1/received", "#/pair/1/decide", "#/pair/1/work", "#/pair/1/verdict", "#/check"):
        hand.page.evaluate("way => { location.hash = way; }", way)
        hand.page.wait_for_timeout(20)
        assert hand.page.evaluate(TRACES) == own, way
    hand.page.evaluate("() => dispatchEvent(new Event('beforeprint'))")
    assert hand.page.evaluate(TRACES) == own, "on paper"
    assert watch.misdeeds == []

    download = hand.seal()
    packet = tmp_path / download.suggested_filename
    download.save_as(packet)
    sent = Assessment.model_validate(unpack(packet, tmp_path / "bag").document("assessment.json")["assessment"])
    for text, stored in zip(typed, _told(sent), strict=True):
        assert stored == as_kept(text)
    do(small_box, "assessment", "take-in", packet)
    with opened(small_box) as book:
        assert _told(book.get_assessment(KEY).assessment) == _told(sent)


def _fill_everything(hand: Hand, notes: list[str]) -> list[str]:
    """Fields of long text take many notes at once, one below the other; answers what was typed into which, in order."""
    page = hand.page
    blocks = ["\n\n".join(notes[at::4]) for at in range(4)]
    hand.to_pair(1)
    hand.press(hand.button("The rest was not tested (11)"))
    hand.press(hand.button("Yes, 11 not tested"))
    hand.to_step("Decide")
    reason = "\n".join(notes)[:MAX_NOTE]
    page.locator("#reason").fill(reason)
    hand.to_step("Work")
    for at, note in enumerate(notes[:12]):
        hand.press(hand.button("+ another step"))
        hand.field(f"Step {at + 1}").fill(note)
    hand.to_step("Verdict")
    hand.field("Notes").fill(blocks[0])
    hand.field("Lessons").fill(blocks[1])
    for at, note in enumerate(notes[12:28]):
        hand.press(hand.button("Ask a question"))
        hand.field(f"Question {at + 1}").fill(note)
    hand.to_list()
    page.locator("#disinfected-product").fill("<img src=x onerror=alert(1)>")
    page.evaluate("() => { location.hash = '#/check'; }")
    page.locator("#letter").fill(blocks[2])
    return [reason, blocks[0], blocks[1], blocks[2], "<img src=x onerror=alert(1)>"]


def _told(assessment: Assessment) -> list[str]:
    pair = assessment.pairs[0]
    return [pair.reason, pair.notes, pair.lessons, assessment.letter, assessment.disinfected_with]


@pytest.mark.parametrize("size", ["phone", "laptop"])
def test_a_round_whose_every_word_is_hostile_is_shown_as_words(small_box: Path, new_context, size: str, tmp_path: Path):
    """The mentor's side is not trusted either: names, tags, rubric and what to practise may come from anywhere."""
    round_, rubric = round_in(small_box)
    hostile = in_turn(hostile_notes())
    spoilt, words = spoil(round_, hostile), spoil(rubric, hostile)
    path = tmp_path / "hostile.html"
    path.write_text(bench_book(spoilt, words, BREAKERS), encoding="utf-8")
    page = new_context(size).new_page()
    page.goto(path.as_uri())
    page.locator("#next").wait_for()
    own = page.evaluate(TRACES)
    assert len(own) == 3, "data, library, page"
    for way in ("#/pair/1", *(f"#/pair/1/received/{one.key}" for one in words.criteria), "#/check"):
        page.evaluate("way => { location.hash = way; }", way)
        page.wait_for_timeout(20)
        assert page.evaluate(TRACES) == own, way

"""The bench book by keyboard alone, at the size of a laptop."""

from __future__ import annotations

from pathlib import Path

from evalkit.domain.assessment import Assessment
from evalkit.domain.triage import Decision
from tests.browser.boxes import KEY, do, opened, round_in
from tests.browser.keys import Keys
from tests.browser.packets import unpack
from tests.browser.story import DISINFECTED, DISINFECTED_WORDS, short_story_of
from tests.browser.typed import differences


def test_a_pair_is_read_worked_and_sealed_without_a_mouse(small_box: Path, laptop, tmp_path: Path):
    told = short_story_of(*round_in(small_box))[0]
    assert told.pair.decision is Decision.SHARPEN, "the pair with the longest way"
    page = laptop.new_page()
    page.goto((small_box / "teo-1.html").as_uri())
    page.locator("#next").wait_for()
    keys = Keys(page)
    keys.write("Disinfected with", DISINFECTED["product"])
    keys.write("Contact time", DISINFECTED["contact"])
    keys.write("Begun at", "0810AM")
    keys.write("Ended at", "0822AM")
    keys.pair(told)

    keys.use(". All pairs")
    keys.use("Look over and seal")
    keys.use("Seal version 1")
    with page.expect_download() as download:
        keys.use("Yes, seal it")
    page.locator("#seal-code").wait_for()
    packet = tmp_path / download.value.suggested_filename
    download.value.save_as(packet)
    assert keys.hidden == set(), "what has the focus can be seen"

    sent = Assessment.model_validate(unpack(packet, tmp_path / "bag").document("assessment.json")["assessment"])
    assert [*differences(sent.pairs[0], told.pair)] == []
    assert sent.disinfected_with == DISINFECTED_WORDS
    do(small_box, "assessment", "take-in", packet)
    with opened(small_box) as book:
        assert [*differences(book.get_assessment(KEY).assessment.pairs[0], told.pair)] == []


def test_the_untested_are_found_and_left_by_keyboard(small_box: Path, laptop):
    page = laptop.new_page()
    page.goto((small_box / "teo-1.html").as_uri())
    page.locator("#next").wait_for()
    keys = Keys(page)
    keys.use(r"\d+ untested")
    page.get_by_role("dialog").wait_for()
    keys.press("Escape")
    page.get_by_role("dialog").wait_for(state="detached")
    assert "untested" in keys.focused()["name"], "the focus is where it was"
    keys.use(r"Pair 2\b")
    keys.use(r"\d+ untested")
    keys.use("Tips")
    assert page.locator("#reading").get_attribute("data-criterion") == "tips"


def test_the_first_thing_is_a_way_past_the_frame(small_box: Path, laptop):
    page = laptop.new_page()
    page.goto((small_box / "teo-1.html").as_uri())
    page.locator("#next").wait_for()
    keys = Keys(page)
    keys.to("Skip to the page")
    keys.press("Enter")
    keys.press("Tab")
    assert page.evaluate("() => document.getElementById('main').contains(document.activeElement)")

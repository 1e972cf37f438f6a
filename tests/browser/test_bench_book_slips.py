"""Slips of the hand at the bench book: nothing is lost without a word, nothing is written where nobody meant it."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.hand import Hand

RECEIVED = "#/pair/1/received"
SCREENS = ("#/", RECEIVED, f"{RECEIVED}/ride-line", f"{RECEIVED}/tension", "#/pair/1/work", "#/check")
WINDOWS = ((390, 844), (844, 390), (1280, 720))


def at(page: Page, way: str) -> None:
    page.evaluate("way => { location.hash = way; }", way)
    page.wait_for_function("way => location.hash === way && document.getElementById('title')", arg=way)


@pytest.fixture
def hand(box: Path, phone) -> Hand:
    hand = Hand(phone.new_page())
    hand.open(box / "teo-1.html")
    return hand


@pytest.fixture
def desk(box: Path, laptop) -> Page:
    page = laptop.new_page()
    Hand(page, is_touch=False).open(box / "teo-1.html")
    return page


def spot(page: Page, place: str) -> str:
    return page.locator(f"#spot-{place}").get_attribute("aria-label") or ""


# --- what was written over -------------------------------------------------------------------------------------------


def test_a_level_over_a_measured_value_can_be_undone(hand: Hand):
    page = hand.page
    at(page, f"{RECEIVED}/ride-line")
    page.locator("#measure").fill("0.4")
    hand.press(page.locator("#level-1"))
    assert spot(page, "thumb-heel") == "thumb heel: level 1"
    expect(page.locator("#reading")).to_have_attribute("data-place", "thumb middle")
    hand.press(hand.button("Put back 0.4 mm at thumb heel"))
    expect(page.locator("#reading")).to_have_attribute("data-place", "thumb heel")
    expect(page.locator("#measure")).to_have_value("0.4")
    assert spot(page, "thumb-heel").startswith("thumb heel: 0.4 mm")
    expect(page.locator("#put-back")).to_have_count(0)


def test_a_measured_value_over_a_level_can_be_undone(hand: Hand):
    page = hand.page
    at(page, f"{RECEIVED}/tension")
    hand.press(page.locator("#level-2"))
    page.locator("#measure").press_sequentially("52.5")
    expect(page.locator("#place")).to_contain_text("52.5")
    hand.press(hand.button("Put back level 2"))
    expect(page.locator("#level-2")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#measure")).to_have_value("")


def test_saying_how_it_was_done_takes_no_level_away(hand: Hand):
    page = hand.page
    at(page, f"{RECEIVED}/tension")
    hand.press(page.locator("#level-2"))
    hand.press(page.locator("#as-told"))
    expect(page.locator("#level-2")).to_have_attribute("aria-pressed", "true")


def test_a_cut_over_a_push_with_its_millimetres_can_be_undone(hand: Hand):
    page = hand.page
    at(page, f"{RECEIVED}/dry-tissue")
    hand.press(page.locator("#cut-push"))
    page.locator("#push").fill("2")
    hand.press(page.locator("#cut-not-cut"))
    hand.press(hand.button("Put back push 2 mm at heel"))
    expect(page.locator("#push")).to_have_value("2")


def test_what_can_be_put_back_goes_with_the_next_reading(hand: Hand):
    page = hand.page
    at(page, f"{RECEIVED}/ride-line")
    page.locator("#measure").fill("0.4")
    hand.press(page.locator("#level-1"))
    expect(page.locator("#put-back")).to_have_count(1)
    hand.press(page.locator("#level-2"))
    expect(page.locator("#put-back")).to_have_count(0)


# --- taps and keys ---------------------------------------------------------------------------------------------------


def test_a_double_tap_is_one_reading(box: Path, phone):
    """The page goes on to the next place by itself; its clock stands still here, however slow the machine is."""
    page = phone.new_page()
    page.clock.install()
    hand = Hand(page, is_quick=False)
    hand.open(box / "teo-1.html")
    at(page, f"{RECEIVED}/ride-line")
    level = page.locator("#level-2")
    level.scroll_into_view_if_needed()
    page.clock.pause_at(page.evaluate("() => Date.now() + 1000"))
    bounds = level.bounding_box()
    assert bounds
    for _ in range(3):
        page.touchscreen.tap(bounds["x"] + 40, bounds["y"] + bounds["height"] / 2)
    assert spot(page, "thumb-heel") == "thumb heel: level 2"
    assert spot(page, "thumb-middle") == "thumb middle: untested"
    page.clock.run_for(1000)
    hand.press(level)
    assert spot(page, "thumb-middle") == "thumb middle: level 2"
    hand.press(hand.button("‹ Back: thumb middle"))
    expect(page.locator("#reading")).to_have_attribute("data-place", "thumb middle")


def test_digits_are_levels_only_where_it_is_said(desk: Page):
    at(desk, f"{RECEIVED}/tension")
    desk.keyboard.type("32")
    expect(desk.locator("#measure")).to_have_value("32")
    at(desk, f"{RECEIVED}/finish")
    desk.keyboard.type("2")
    expect(desk.locator("#place")).to_contain_text("untested")
    expect(desk.locator(".keys")).to_be_visible()
    desk.locator("#level-0").focus()
    desk.keyboard.type("2")
    expect(desk.locator("#place")).to_contain_text("kept: level 2")


def test_a_remark_takes_the_digits_that_are_typed_at_once(desk: Page):
    at(desk, f"{RECEIVED}/finish")
    desk.locator("#level-1").click()
    desk.get_by_text("Add a remark", exact=True).click()
    expect(desk.locator("#remark")).to_be_focused()
    desk.keyboard.type("2 spots")
    expect(desk.locator("#remark")).to_have_value("2 spots")
    expect(desk.locator("#level-1")).to_have_attribute("aria-pressed", "true")


def test_who_could_not_read_a_place_is_asked_for_the_remark(hand: Hand):
    at(hand.page, f"{RECEIVED}/finish")
    hand.press(hand.button("could not"))
    expect(hand.page.locator("#remark")).to_be_focused()


# --- what is told ----------------------------------------------------------------------------------------------------


def test_closed_without_testing_is_no_tick(hand: Hand):
    page = hand.page
    at(page, RECEIVED)
    hand.press(page.locator("#tab-decide"))
    expect(page.get_by_role("dialog")).to_contain_text("39 places")
    hand.press(page.get_by_role("dialog").get_by_role("button"))
    hand.press(page.locator("#rest-not-tested"))
    hand.press(page.locator("[data-answer=yes]"))
    tab = page.locator("#tab-received")
    expect(tab).to_contain_text("closed, ")
    expect(tab).to_contain_text("untested")
    assert "✓" not in tab.inner_text()


def test_leaving_the_work_tells_what_is_wrong_and_the_way_back_is_short(hand: Hand):
    page = hand.page
    at(page, RECEIVED)
    hand.press(page.locator("#rest-not-tested"))
    hand.press(page.locator("[data-answer=yes]"))
    at(page, "#/pair/1/work")
    hand.press(page.locator("#clock-start"))
    page.locator("#angle").fill("95")
    hand.press(hand.next)
    expect(page.get_by_role("dialog")).to_contain_text("The stopwatch still runs")
    hand.press(hand.button("Go on all the same"))
    page.get_by_role("heading", name="As finished").wait_for()
    expect(page.locator("#running")).to_be_visible()
    at(page, "#/check")
    hand.press(hand.next)
    expect(page.locator("#angle")).to_be_focused()
    expect(page.locator("#angle")).to_be_in_viewport()
    hand.press(page.locator("#back-to-check"))
    expect(page.get_by_role("heading", name="Look over and seal")).to_be_visible()


# --- the frame -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("width", "height"), WINDOWS)
def test_the_frame_never_slides_off(box: Path, new_context, width: int, height: int):
    page = new_context("phone", viewport={"width": width, "height": height}).new_page()
    Hand(page).open(box / "teo-1.html")
    for way in SCREENS:
        at(page, way)
        high = page.evaluate("() => [document.documentElement.scrollHeight, document.documentElement.clientHeight]")
        assert high[0] == high[1], way

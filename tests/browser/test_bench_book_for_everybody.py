"""Every screen of the bench book under WCAG 2.2 A and AA as axe-core judges it: light and dark, phone and laptop."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.browser.driving import axe_faults
from tests.browser.hand import Hand
from tests.browser.pictures import telephone_picture

CONVEX = "#/pair/1"
READINGS = ("dry-tissue", "hair", "ride-line", "face", "edge-angle", "burr", "tension", "finish")
"""Criteria of each kind: cut, measured, judged; read per blade and station, per station, per blade, and once."""


class Walk:
    """Goes from screen to screen and has each judged."""

    def __init__(self, hand: Hand) -> None:
        self.hand = hand
        self.faults: list[str] = []
        self.n_seen = 0

    def look(self, name: str) -> None:
        self.n_seen += 1
        self.faults += [f"{name}: {fault}" for fault in axe_faults(self.hand.page)]

    def go(self, way: str, then: Callable[[], object] | None = None) -> None:
        """Open a screen, do something there, and look."""
        self.hand.page.evaluate("way => { location.hash = way; }", way)
        self.hand.page.wait_for_function(
            "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))"
        )
        if then:
            then()
        self.look(way)

    def open_everything(self) -> None:
        """All that can be unfolded on this screen."""
        self.hand.page.evaluate("() => { for (const one of document.querySelectorAll('details')) one.open = true; }")


@pytest.mark.parametrize("size", ["phone", "laptop"])
@pytest.mark.parametrize("is_dark", [False, True], ids=["light", "dark"])
def test_every_screen_can_be_used_by_everybody(box: Path, new_context, size: str, is_dark: bool, tmp_path: Path):
    hand = Hand(new_context(size, is_dark=is_dark).new_page(), is_touch=size == "phone")
    hand.open(box / "teo-1.html")
    walk = Walk(hand)
    walk.go("#/", walk.open_everything)
    _as_received(walk, hand)
    _the_other_steps(walk, hand, telephone_picture(tmp_path / "1.jpg", 1))
    _the_end(walk, hand)
    assert walk.faults == []
    assert walk.n_seen > 25


def _as_received(walk: Walk, hand: Hand) -> None:
    walk.go(f"{CONVEX}/received", walk.open_everything)
    for key in READINGS:
        walk.go(f"{CONVEX}/received/{key}", walk.open_everything)
    walk.go(f"{CONVEX}/received/hair", lambda: hand.press(hand.button("push")))
    walk.go(f"{CONVEX}/received/edge-angle", lambda: hand.page.locator("#measure").fill("no number"))
    hand.page.locator("#measure").fill("")
    walk.go(f"{CONVEX}/received/tips", lambda: hand.press(hand.page.locator("#level-0")))
    hand.press(hand.page.locator("#untested"))
    walk.look("the list of what is untested")
    hand.press(hand.page.get_by_role("dialog").get_by_role("button"))
    walk.go(f"{CONVEX}/received")
    hand.press(hand.page.locator("#rest-not-tested"))
    walk.look("leaving the rest untested")
    hand.press(hand.page.locator("[data-answer=yes]"))
    walk.go(f"{CONVEX}/received")


def _the_other_steps(walk: Walk, hand: Hand, picture: Path) -> None:
    walk.go(f"{CONVEX}/decide")
    hand.press(hand.page.locator("#decision-leave"))
    walk.look("left without a reason")
    hand.press(hand.page.locator("#decision-sharpen"))
    hand.press(hand.page.locator("#class-B"))
    walk.go(f"{CONVEX}/work")
    hand.press(hand.page.locator("#clock-start"))
    hand.press(hand.button("+ sharpen outside"))
    hand.field("Grit of step 1").fill("15")
    hand.page.locator("#angle").fill("95")
    hand.page.locator("#width-before-heel").fill("7")
    hand.page.locator("#width-after-heel").fill("8")
    hand.press(hand.button("washer"))
    walk.look("work with faults in it, the stopwatch running")
    walk.go("#/check")
    for field in ("#width-after-heel", "#angle"):
        walk.hand.page.evaluate("way => { location.hash = way; }", f"{CONVEX}/work")
        hand.page.locator(field).fill("")
    hand.field("Scale of step 1").select_option("micron")
    walk.go(f"{CONVEX}/finished", walk.open_everything)
    walk.go(f"{CONVEX}/finished/dry-tissue")
    walk.go(f"{CONVEX}/verdict", lambda: hand.press(hand.button("Ask a question")))
    walk.go(f"{CONVEX}/photos", lambda: hand.field("Add from files").set_input_files(picture))
    hand.field("What photo 1 shows").fill("the edge")
    walk.look("a photo with its words")
    walk.go("#/pair/6", walk.open_everything)


def _the_end(walk: Walk, hand: Hand) -> None:
    walk.go("#/check")
    hand.press(hand.next)
    walk.look("asked whether to seal")
    with hand.page.expect_download():
        hand.press(hand.button("Yes, seal it"))
    hand.page.locator("#seal-code").wait_for()
    walk.go("#/sealed", walk.open_everything)
    hand.press(hand.button("Make a new version"))
    walk.look("a new version without its reason")
    walk.go(f"{CONVEX}/verdict")
    walk.go(f"{CONVEX}/received/tips")
    hand.page.evaluate("() => dispatchEvent(new Event('beforeprint'))")
    hand.page.emulate_media(media="print")
    walk.look("on paper")


@pytest.mark.parametrize("is_dark", [False, True], ids=["light", "dark"])
def test_what_has_to_be_told_first_can_be_read_by_everybody(small_box: Path, new_context, is_dark: bool):
    context = new_context("phone", is_dark=is_dark)
    first, second = Hand(context.new_page()), Hand(context.new_page())
    first.open(small_box / "teo-1.html")
    second.page.goto((small_box / "teo-1.html").as_uri())
    second.page.bring_to_front()
    second.page.get_by_role("alert").wait_for()
    assert axe_faults(second.page) == [], "open elsewhere"

    context = new_context("phone", is_dark=is_dark)
    context.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined })")
    page = context.new_page()
    page.goto((small_box / "teo-1.html").as_uri())
    page.get_by_role("alert").wait_for()
    assert axe_faults(page) == [], "not kept"


def test_a_browser_without_scripts_says_what_to_do(small_box: Path, new_context):
    page = new_context("phone", java_script_enabled=False).new_page()
    page.goto((small_box / "teo-1.html").as_uri())
    assert "open it with the browser itself" in page.locator("main").inner_text()


@pytest.mark.parametrize("width", [320, 390, 820, 1280])
def test_nothing_has_to_be_scrolled_sideways(box: Path, new_context, width: int):
    """WCAG 1.4.10: at 320 CSS pixels everything can be read by scrolling downward alone."""
    page = new_context("phone", viewport={"width": width, "height": 700}).new_page()
    hand = Hand(page)
    hand.open(box / "teo-1.html")
    for way in (
        "#/",
        "#/pair/1",
        "#/pair/1/received/hair",
        "#/pair/1/received/tension",
        "#/pair/6/received",
        "#/check",
    ):
        page.evaluate("way => { location.hash = way; }", way)
        page.wait_for_timeout(30)
        too_wide = page.evaluate(TOO_WIDE)
        assert too_wide == [], f"{way} at {width}"


TOO_WIDE = """() => [...document.querySelectorAll("#app *, dialog *")]
    .filter((one) => !one.closest(".unseen-words, .skip, svg") && getComputedStyle(one).visibility === "visible")
    .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 || one.getBoundingClientRect().left < -1)
    .map((one) => `${one.tagName}#${one.id}.${one.className}: ${one.textContent.slice(0, 40)}`)"""
"""What reaches over an edge of the window."""

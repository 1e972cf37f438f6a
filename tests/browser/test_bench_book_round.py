"""A whole round of twelve at the bench: on a phone, offline, broken off twice, sealed, and taken in by evalkit."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from playwright.sync_api import BrowserContext

from evalkit.domain.assessment import Assessment
from evalkit.files.places import templates_dir
from tests.browser.boxes import KEY, SECRETS, do, opened, round_in
from tests.browser.driving import PHONE, Watch, launching
from tests.browser.hand import Hand
from tests.browser.killing import kill_browser_on
from tests.browser.packets import metadata_of, unpack
from tests.browser.pictures import TOLD, is_red, telephone_picture
from tests.browser.story import DISINFECTED_WORDS, LETTER, story_of, story_of_some
from tests.browser.typed import PairStory, differences

NOON = "2026-11-25T11:30:00Z"
PATIENCE_MS = 90_000
"""As for the other pages: long, for a machine with much else to do."""

BROKEN_OFF_AT, CLOSED_AT = 2, 9
"""The pairs in the middle of which the browser is killed, and the tab closed."""


@pytest.fixture
def devices(driver, chromium: str, tmp_path: Path, watch: Watch) -> Iterator[Callable[[], BrowserContext]]:
    """Switches the same phone on again and again: what it keeps is what lies on its disk."""
    made: list[BrowserContext] = []

    def switch_on() -> BrowserContext:
        context = driver.chromium.launch_persistent_context(
            tmp_path / "phone", **launching(chromium), **PHONE, offline=True, timezone_id="Europe/Oslo"
        )
        context.set_default_timeout(PATIENCE_MS)
        context.clock.set_fixed_time(NOON)
        watch.over(context)
        made.append(context)
        return context

    yield switch_on
    made[-1].close()


def test_a_round_of_twelve_is_stored_as_it_was_typed(box: Path, devices, tmp_path: Path):
    round_, rubric = round_in(box)
    stories = story_of(round_, rubric)
    pictures = [telephone_picture(tmp_path / f"IMG_{at}.jpg", at) for at in range(5)]

    hand = Hand(devices().pages[0])
    hand.open(box / "teo-1.html")
    hand.say_disinfected()
    taken = 0
    for told in stories:
        number = told.pair.number
        if number == BROKEN_OFF_AT:
            hand = _killed_and_back(hand, told, box, devices, tmp_path)
        elif number == CLOSED_AT:
            hand = _closed_and_back(hand, told, box)
        else:
            n = len(told.pair.photos)
            hand.pair(told, pictures[taken : taken + n])
            taken += n

    sent = _sealed(hand, box, stories, tmp_path)
    assert sent.disinfected_with == DISINFECTED_WORDS
    _assert_pictures_tell_nothing(sorted(tmp_path.glob("unpacked/**/*.jpg")), n=taken)


def test_the_other_edge_types_are_stored_as_they_were_typed(box: Path, devices, tmp_path: Path):
    """Read everywhere as received, in a box of which nothing else was touched: of that, nothing is stored."""
    stories = story_of_some(*round_in(box), (3, 4, 5, 6))
    hand = Hand(devices().pages[0])
    hand.open(box / "teo-1.html")
    for told in stories:
        if told.received:
            hand.pair(told)
    _sealed(hand, box, stories, tmp_path)


def _sealed(hand: Hand, box: Path, stories: list[PairStory], to: Path) -> Assessment:
    """Sealed, found whole by other people's tools, taken in: the packet and the book hold what was typed."""
    download = hand.seal(LETTER)
    packet = to / download.suggested_filename
    download.save_as(packet)
    assert packet.name == "teo-1-assessment-1.zip"
    code = hand.seal_code
    bag = unpack(packet, to / "unpacked")
    assert bag.code == code
    assert bag.folder.name == "teo-1-assessment-1"
    document = bag.document("assessment.json")
    assert (document["kind"], document["version"]) == ("assessment", 1)
    schema = json.loads((templates_dir() / "packets" / "assessment.schema.json").read_text(encoding="utf-8"))
    assert [fault.message for fault in Draft202012Validator(schema).iter_errors(document)] == []
    sent = Assessment.model_validate(document["assessment"])
    _assert_as_typed(sent, stories)
    _assert_taken_in(packet, code, box, stories)
    return sent


def _assert_taken_in(packet: Path, code: str, box: Path, stories: list[PairStory]) -> None:
    assert code in do(box, "assessment", "take-in", packet)
    with opened(box) as book:
        stored = book.get_assessment(KEY).assessment
    _assert_as_typed(stored, stories)
    assert stored.written_on == date(2026, 11, 25)
    assert not stored.is_transcribed
    assert "nothing changed" in do(box, "assessment", "take-in", packet)
    assert do(box, "book", "check").startswith("The book is sound")


def _killed_and_back(hand: Hand, told: PairStory, box: Path, devices, tmp_path: Path) -> Hand:
    """The battery dies after half of the readings as received; the page is opened again on the same device."""
    hand.to_list()
    hand.to_pair(told.pair.number)
    half = len(told.received) // 2
    hand.stage(told.received[:half])
    hand.until_kept()
    with hand.page.context.expect_event("close"):
        kill_browser_on(tmp_path / "phone")
    return _go_on(Hand(devices().pages[0]), told, box, half)


def _closed_and_back(hand: Hand, told: PairStory, box: Path) -> Hand:
    """The tab is closed without being asked whether it may be."""
    hand.to_list()
    hand.to_pair(told.pair.number)
    half = len(told.received) // 2
    hand.stage(told.received[:half])
    hand.until_kept()
    context = hand.page.context
    hand.page.close(run_before_unload=False)
    return _go_on(Hand(context.new_page()), told, box, half)


def _go_on(hand: Hand, told: PairStory, box: Path, half: int) -> Hand:
    hand.open(box / "teo-1.html")
    assert hand.next.inner_text() == f"Go on with pair {told.pair.number}"
    hand.pair(told, already=half)
    return hand


def _assert_as_typed(assessment: Assessment, stories: list[PairStory]) -> None:
    faults = [
        fault for told, pair in zip(stories, assessment.pairs, strict=True) for fault in differences(pair, told.pair)
    ]
    assert faults == []
    assert assessment.letter == LETTER


def _assert_pictures_tell_nothing(photos: list[Path], *, n: int) -> None:
    """Upright, and with no word of where and by what they were taken."""
    assert len(photos) == n == 5
    for photo in photos:
        assert metadata_of(photo) == []
        assert not any(word in photo.read_bytes() for word in TOLD)
        assert is_red(photo, 0.1, 0.1)
        assert not is_red(photo, 0.9, 0.1)


def test_the_page_keeps_the_mentors_secrets(box: Path):
    page = (box / "teo-1.html").read_text(encoding="utf-8")
    assert [secret for secret in SECRETS if secret in page] == []
    assert "S-101" in page, "what lies in the box is told"

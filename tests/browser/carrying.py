"""Files out of the page and into it again: packets, drafts, and what they hold beside what was typed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from playwright.sync_api import Page

from evalkit.domain.assessment import Assessment
from tests.browser.hand import Hand
from tests.browser.packets import unpack
from tests.browser.typed import PairStory, differences


def assert_as_typed(assessment: Assessment, stories: Sequence[PairStory]) -> None:
    """Every pair is stored as its story was typed."""
    pairs = zip(stories, assessment.pairs, strict=True)
    assert [fault for told, pair in pairs for fault in differences(pair, told.pair)] == []


def without_photos(assessment: Assessment) -> Assessment:
    """The same as if no photos had been added."""
    pairs = tuple(pair.model_copy(update={"photos": ()}) for pair in assessment.pairs)
    return assessment.model_copy(update={"pairs": pairs})


def sealed_by(hand: Hand, to: Path) -> tuple[Path, Assessment]:
    """Seal what stands there: the packet and what is in it."""
    download = hand.seal()
    packet = to / download.suggested_filename
    download.save_as(packet)
    return packet, assessment_in(packet, to / f"unpacked-{packet.stem}")


def assessment_in(packet: Path, into: Path) -> Assessment:
    """What a packet holds that other people's tools find whole."""
    return Assessment.model_validate(unpack(packet, into).document("assessment.json")["assessment"])


def draft_of(hand: Hand, to: Path) -> Path:
    """The draft as a file, saved on the first screen."""
    hand.to_list()
    with hand.page.expect_download() as download:
        hand.press(hand.button("Save a draft file"))
    path = to / download.value.suggested_filename
    download.value.save_as(path)
    return path


def take_up(page: Page, draft: Path) -> None:
    """Choose a draft file on the first screen."""
    page.get_by_label("Take up a draft file").set_input_files(draft)

"""A draft goes from one device to another as a file; one that is spoilt is refused and does no harm."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import expect

from tests.browser.boxes import do
from tests.browser.carrying import assert_as_typed, draft_of, sealed_by, take_up, without_photos
from tests.browser.driving import Watch
from tests.browser.hand import Hand
from tests.browser.pictures import telephone_picture
from tests.browser.typed import PairStory


def test_a_draft_goes_on_on_another_device(small_box: Path, new_context, stories: list[PairStory], tmp_path: Path):
    pictures = [telephone_picture(tmp_path / f"{at}.jpg", at) for at in range(2)]
    first = Hand(new_context("phone").new_page())
    first.open(small_box / "teo-1.html")
    first.pair(stories[0])
    first.photos(pictures, ("", "the edge"))
    draft = draft_of(first, tmp_path)

    second = Hand(new_context("laptop").new_page(), is_touch=False)
    second.open(small_box / "teo-1.html")
    take_up(second.page, draft)
    expect(second.page.locator("#next")).to_have_text("Go on with pair 2")
    second.pair(stories[1])
    packet, sent = sealed_by(second, tmp_path)
    assert [photo.caption for photo in sent.pairs[0].photos] == ["", "the edge"]
    assert_as_typed(without_photos(sent), stories)
    assert "2 photos" in do(small_box, "assessment", "take-in", packet)


def test_a_draft_from_elsewhere_asks_before_it_takes_the_place_of_another(
    small_box: Path, new_context, stories: list[PairStory], tmp_path: Path
):
    first, second = (Hand(new_context("phone").new_page()) for _ in range(2))
    for hand, told in zip((first, second), stories, strict=True):
        hand.open(small_box / "teo-1.html")
        hand.to_pair(told.pair.number)
        hand.stage(told.received)
    draft = draft_of(first, tmp_path)
    second.to_list()
    take_up(second.page, draft)
    asked = second.page.get_by_role("dialog")
    expect(asked).to_contain_text("Which draft shall stay?")
    second.press(asked.get_by_role("button", name="Keep what is here"))
    expect(second.page.locator("#next")).to_have_text("Go on with pair 1")
    expect(second.page.locator("#pair-1")).to_contain_text("Not begun")
    take_up(second.page, draft)
    second.press(asked.get_by_role("button", name="Take the one from the file"))
    expect(second.page.locator("#pair-2")).to_contain_text("Not begun")
    expect(second.page.locator("#pair-1")).not_to_contain_text("Not begun")


def _of_another_round(draft: dict[str, Any]) -> None:
    draft["round_key"] = "lin-4"


def _of_other_words(draft: dict[str, Any]) -> None:
    draft["rubric_digest"] = "0" * 64


def _with_a_number_too_many(draft: dict[str, Any]) -> None:
    draft["pairs"]["3"] = draft["pairs"]["1"]


def _with_an_empty_pair(draft: dict[str, Any]) -> None:
    draft["pairs"]["1"] = {}


def _with_readings_of_another_shape(draft: dict[str, Any]) -> None:
    draft["pairs"]["1"]["readings"] = [1, 2, 3]


def _with_a_number_for_words(draft: dict[str, Any]) -> None:
    draft["pairs"]["1"]["notes"] = 7


def _with_a_level_off_the_ladder(draft: dict[str, Any]) -> None:
    draft["pairs"]["1"]["readings"]["as received|tips||tip"] = {"way": "level", "level": 77}


def _with_a_decision_that_does_not_exist(draft: dict[str, Any]) -> None:
    draft["pairs"]["1"]["decision"] = "burn"


def _with_seals_that_are_none(draft: dict[str, Any]) -> None:
    draft["sealed"] = [{"version": 1}]


def _without_its_pairs(draft: dict[str, Any]) -> None:
    draft["pairs"] = None


SPOILT: tuple[Callable[[dict[str, Any]], None], ...] = (
    _of_another_round, _of_other_words, _with_a_number_too_many, _with_an_empty_pair, _with_readings_of_another_shape,
    _with_a_number_for_words, _with_a_level_off_the_ladder, _with_a_decision_that_does_not_exist,
    _with_seals_that_are_none, _without_its_pairs,
)  # fmt: skip


def test_a_spoilt_draft_file_is_refused_and_nothing_is_lost(
    small_box: Path, phone, stories: list[PairStory], tmp_path: Path, watch: Watch
):
    hand = Hand(phone.new_page())
    hand.open(small_box / "teo-1.html")
    hand.to_pair(1)
    hand.stage(stories[0].received)
    hand.until_kept()
    good = draft_of(hand, tmp_path)
    before = hand.page.locator(".pairs").inner_text()
    for number, path in enumerate(_spoilt_files(good, tmp_path)):
        take_up(hand.page, path)
        told = hand.page.get_by_role("dialog")
        expect(told, f"{number}: {path.name}").to_contain_text("cannot be taken up")
        expect(told).to_contain_text("Nothing was changed.")
        hand.press(told.get_by_role("button"))
        expect(told).to_have_count(0)
        assert watch.misdeeds == [], path.name
    hand.open(small_box / "teo-1.html")
    hand.page.reload()
    assert hand.page.locator(".pairs").inner_text() == before


def _spoilt_files(good: Path, folder: Path) -> list[Path]:
    """The good draft with one thing wrong in each; then files that are no drafts at all."""
    paths = []
    with zipfile.ZipFile(good) as archive:
        text = archive.read("draft.json").decode()
    for spoil in SPOILT:
        draft = json.loads(text)
        spoil(draft)
        paths.append(folder / f"{spoil.__name__}.zip")
        with zipfile.ZipFile(paths[-1], "w") as archive:
            archive.writestr("draft.json", json.dumps(draft))
    for name, content in (
        ("empty.zip", b""),
        ("words.zip", b"no zip at all"),
        ("cut-short.zip", good.read_bytes()[:-40]),
        ("changed.zip", good.read_bytes().replace(b'"format":1', b'"format":9', 1)),
    ):
        paths.append(folder / name)
        paths[-1].write_bytes(content)
    paths.append(folder / "broken-json.zip")
    with zipfile.ZipFile(paths[-1], "w") as archive:
        archive.writestr("draft.json", text[:-20])
    return paths

"""What was written is never lost: two windows, a device that keeps nothing, versions after sealing."""

from __future__ import annotations

import json
import re
import zipfile
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.boxes import KEY, do, opened
from tests.browser.carrying import assert_as_typed, assessment_in, draft_of, sealed_by, take_up, without_photos
from tests.browser.driving import Watch
from tests.browser.hand import Hand
from tests.browser.packets import unpack
from tests.browser.pictures import telephone_picture
from tests.browser.story import LETTER
from tests.browser.typed import PairStory

NOT_KEPT = "Your work is not kept on this device."


# --- two windows -----------------------------------------------------------------------------------------------------


def test_a_second_window_is_told_and_nothing_is_lost(small_box: Path, phone, stories: list[PairStory], tmp_path: Path):
    first = Hand(phone.new_page())
    first.open(small_box / "teo-1.html")
    first.to_pair(1)
    first.stage(stories[0].received[:4])
    first.until_kept()

    second = Hand(phone.new_page())
    second.page.goto((small_box / "teo-1.html").as_uri())
    told = second.page.get_by_role("alert")
    expect(told).to_contain_text("open in another window")
    expect(second.page.locator("#disinfected-product")).not_to_be_editable()

    second.press(second.button("Go on here instead"))
    expect(told).to_have_count(0)
    first.page.bring_to_front()
    expect(first.page.get_by_role("alert")).to_contain_text("open in another window")
    second.page.bring_to_front()
    second.to_pair(1)
    second.stage(stories[0].received[4:])
    second.until_kept()

    first.page.bring_to_front()
    first.press(first.button("Go on here instead"))
    first.pair(stories[0], already=len(stories[0].received))
    first.pair(stories[1])
    _, sent = sealed_by(first, tmp_path)
    assert_as_typed(sent, stories)


# --- a device that keeps nothing -------------------------------------------------------------------------------------

NO_STORE = {
    "no store": "Object.defineProperty(window, 'indexedDB', { value: undefined })",
    "store that refuses": "IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError'); }",
    "store that never answers": "IDBFactory.prototype.open = () => new EventTarget()",
    "store that fails": "IDBObjectStore.prototype.put = () => { throw new DOMException('no', 'UnknownError'); }",
}


@pytest.mark.parametrize("trouble", NO_STORE)
def test_where_nothing_is_kept_it_is_said_and_the_work_can_be_saved(
    small_box: Path, phone, stories: list[PairStory], tmp_path: Path, watch: Watch, trouble: str
):
    hand = _begun_without_store(NO_STORE[trouble], phone, small_box, stories)
    expect(hand.page.get_by_role("alert")).to_contain_text(NOT_KEPT)
    expect(hand.page.locator("#kept")).to_have_text("Not kept!")
    with zipfile.ZipFile(draft_of(hand, tmp_path)) as archive:
        assert len(json.loads(archive.read("draft.json"))["pairs"]["1"]["readings"]) == 3
    assert all("UnknownError" in one or "complained: no" in one for one in watch.take()), "the trouble itself"


def test_a_whole_round_can_be_sealed_where_nothing_is_kept(
    small_box: Path, phone, stories: list[PairStory], tmp_path: Path
):
    hand = _begun_without_store(NO_STORE["no store"], phone, small_box, stories)
    for told in stories:
        hand.pair(told, already=3 if told.pair.number == 1 else 0)
    hand.photos([telephone_picture(tmp_path / "1.jpg", 1)], ["kept by nobody"])
    packet, sent = sealed_by(hand, tmp_path)
    assert [photo.caption for photo in sent.pairs[1].photos] == ["kept by nobody"]
    assert_as_typed(without_photos(sent), stories)
    assert "1 photo" in do(small_box, "assessment", "take-in", packet)


def _begun_without_store(trouble: str, phone, box: Path, stories: list[PairStory]) -> Hand:
    """Three readings were made where the browser keeps nothing."""
    phone.add_init_script(trouble)
    hand = Hand(phone.new_page())
    hand.page.goto((box / "teo-1.html").as_uri())
    hand.to_pair(1)
    hand.stage(stories[0].received[:3])
    return hand


def give_room(page: Page, n_bytes: int | None) -> None:
    """How much the device lets pages keep; None: as much as it has."""
    room = {} if n_bytes is None else {"quotaSize": n_bytes}
    page.context.new_cdp_session(page).send("Storage.overrideQuotaForOrigin", {"origin": "file:///", **room})


def test_room_that_runs_out_for_a_while_loses_nothing(small_box: Path, phone, stories: list[PairStory]):
    hand = Hand(phone.new_page())
    hand.open(small_box / "teo-1.html")
    hand.to_pair(1)
    give_room(hand.page, 10)
    hand.stage(stories[0].received[:4])
    expect(hand.page.get_by_role("alert")).to_contain_text("There is no room left on this device.")
    give_room(hand.page, None)
    hand.stage(stories[0].received[4:5], is_there=True)
    hand.until_kept()
    expect(hand.page.get_by_role("alert")).to_have_count(0)
    hand.page.reload()
    expect(hand.page.locator("#untested")).to_contain_text(f"{_n_left(stories[0]) - 5} untested")


def _n_left(told: PairStory) -> int:
    """Places of a pair at both stages."""
    return len(told.received) + len(told.finished)


# --- after sealing ---------------------------------------------------------------------------------------------------


def test_after_sealing_only_a_new_version_with_a_reason_can_be_made(
    small_box: Path, phone, stories: list[PairStory], tmp_path: Path
):
    hand = Hand(phone.new_page())
    hand.open(small_box / "teo-1.html")
    for told in stories:
        hand.pair(told)
    first, sent = sealed_by(hand, tmp_path)
    assert_as_typed(sent, stories)
    code = hand.seal_code

    hand.page.reload()
    expect(hand.page.locator("#seal-code")).to_have_text(code)
    with hand.page.expect_download() as again:
        hand.press(hand.button("Download the packet again"))
    again.value.save_as(tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == first.read_bytes()
    _assert_closed(hand)

    hand.page.goto(f"{hand.page.url.partition('#')[0]}#/sealed")
    hand.press(hand.page.get_by_text("Something must be put right?"))
    hand.press(hand.button("Make a new version"))
    expect(hand.page.get_by_text("A new version needs its reason.")).to_be_visible()
    hand.field("Reason for a new version").fill("Wrote the finger blade down as the thumb blade.")
    hand.press(hand.button("Make a new version"))
    hand.to_pair(2)
    hand.to_step("Verdict")
    hand.field("Lessons").fill("Look twice which blade it is.")
    second, sent = sealed_by(hand, tmp_path)
    assert second.name == "teo-1-assessment-2.zip"
    assert sent.pairs[1].lessons == "Look twice which blade it is."
    assert hand.seal_code != code
    document = unpack(second, tmp_path / "second").document("assessment.json")
    assert document["reason"] == "Wrote the finger blade down as the thumb blade."

    do(small_box, "assessment", "take-in", first)
    do(small_box, "assessment", "take-in", second)
    with opened(small_box) as book:
        assert book.get_assessment(KEY).version == 2
        assert book.get_assessment(KEY).assessment.pairs[1].lessons == "Look twice which blade it is."
        assert_as_typed(book.get_assessment(KEY, 1).assessment, stories)


def _assert_closed(hand: Hand) -> None:
    """Nothing that was sealed can be changed: no field takes words, no choice can be made."""
    hand.to_list()
    hand.to_pair(1)
    hand.to_step("Verdict")
    expect(hand.page.get_by_text("Sealed as version 1")).to_be_visible()
    expect(hand.field("Notes")).not_to_be_editable()
    expect(hand.page.get_by_role("radio", name=re.compile("^accepted"))).to_be_disabled()
    hand.to_step("Decide")
    for radio in hand.page.get_by_role("radio").all():
        expect(radio).to_be_disabled()
    hand.to_step("As received")
    hand.press(hand.page.locator("#criterion-tips"))
    for level in hand.page.locator(".level").all():
        expect(level).to_be_disabled()
    hand.page.keyboard.press("1")
    hand.to_step("Photos")
    expect(hand.page.get_by_label("Add from files")).to_have_count(0)


def test_a_letter_and_a_draft_of_a_sealed_round_go_along(small_box: Path, new_context, stories, tmp_path: Path):
    hand = Hand(new_context("phone").new_page())
    hand.open(small_box / "teo-1.html")
    hand.pair(stories[0])
    download = hand.seal(LETTER)
    download.save_as(tmp_path / "sealed.zip")
    assert assessment_in(tmp_path / "sealed.zip", tmp_path / "unpacked").letter == LETTER
    code = hand.seal_code

    other = Hand(new_context("phone").new_page())
    draft = draft_of(hand, tmp_path)
    other.open(small_box / "teo-1.html")
    take_up(other.page, draft)
    other.press(other.page.get_by_role("link", name="Packet and seal code").first)
    expect(other.page.locator("#seal-code")).to_have_text(code)

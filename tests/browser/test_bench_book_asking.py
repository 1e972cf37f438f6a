"""What the bench book asks back, and what it says of itself: as it was typed, only when it is so, and in sight."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from evalkit.domain.reading import SeenMeasure
from tests.browser.carrying import sealed_by
from tests.browser.hand import Hand
from tests.browser.pictures import telephone_picture
from tests.browser.test_bench_book_slips import at

CONVEX, BEVEL, MICRO = 1, 3, 4
"""Numbers in the box of twelve."""


@pytest.fixture
def hand(box: Path, phone) -> Hand:
    hand = Hand(phone.new_page())
    hand.open(box / "teo-1.html")
    return hand


def leave_rest_untested(hand: Hand, number: int) -> None:
    at(hand.page, f"#/pair/{number}/received")
    hand.press(hand.page.locator("#rest-not-tested"))
    hand.press(hand.page.locator("[data-answer=yes]"))


# --- numbers as they were typed --------------------------------------------------------------------------------------


def test_a_fraction_of_an_inch_comes_back_as_a_fraction_and_is_stored_exactly(hand: Hand, tmp_path: Path):
    page, way = hand.page, f"#/pair/{CONVEX}/received/ride-line"
    at(page, way)
    hand.press(hand.button("in"))
    page.locator("#measure").fill("1/64")
    expect(page.locator("#place")).to_contain_text("kept: 1/64 in")
    hand.until_kept()
    page.reload()
    at(page, "#/")
    at(page, way)
    hand.press(page.locator("#spot-thumb-heel"))
    expect(page.locator("#measure")).to_have_value("1/64")
    expect(page.locator("#place")).to_contain_text("kept: 1/64 in")
    expect(page.locator("#spot-thumb-heel")).to_have_attribute("aria-label", "thumb heel: 1/64 in, level 3")
    leave_rest_untested(hand, CONVEX)
    at(page, f"#/pair/{CONVEX}/work")
    hand.press(page.get_by_role("radio", name="inches"))
    page.locator("#width-before-heel").fill("1/64")
    _, sent = sealed_by(hand, tmp_path)
    reading = next(one for one in sent.pairs[0].readings if one.criterion == "ride-line")
    assert isinstance(reading.seen, SeenMeasure)
    assert (reading.seen.number, reading.seen.unit) == (1 / 64, "in")
    assert sent.pairs[0].work.width_before_mm == {"heel": 25.4 / 64}


def test_a_width_typed_in_another_unit_says_how_it_was_typed(hand: Hand):
    page = hand.page
    leave_rest_untested(hand, CONVEX)
    at(page, f"#/pair/{CONVEX}/work")
    hand.press(page.get_by_role("radio", name="inches"))
    page.locator("#width-before-heel").fill("1/4")
    at(page, "#/")
    at(page, f"#/pair/{CONVEX}/work")
    expect(page.locator("#width-before-heel")).to_have_value("1/4")
    expect(page.get_by_text("typed as")).to_have_count(0)
    hand.press(page.get_by_role("radio", name="millimetres"))
    expect(page.locator("#width-before-heel")).to_have_value("6.35")
    expect(page.get_by_text("typed as 1/4 in", exact=True)).to_be_visible()
    page.locator("#width-before-heel").fill("6.4")
    expect(page.get_by_text("typed as")).to_have_count(0)


def test_a_reading_in_inches_leaves_the_calliper_in_millimetres(hand: Hand):
    at(hand.page, f"#/pair/{CONVEX}/received/ride-line")
    hand.press(hand.button("in"))
    leave_rest_untested(hand, CONVEX)
    at(hand.page, f"#/pair/{CONVEX}/work")
    expect(hand.page.get_by_role("heading", name="Blade width (mm)").first).to_be_visible()


# --- what is asked back ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("contact", "begun", "ended", "asked"),
    [
        ("10", "08:10", "08:10", "in the same minute"),
        ("", "08:10", "08:10", "in the same minute"),
        ("10 min", "08:10", "08:14", "4 minutes from begun to ended, and 10 on the label"),
        ("10", "23:55", "00:10", "earlier than it began"),
        ("10", "08:10", "08:20", ""),
        ("ten", "08:10", "08:12", ""),
        ("10", "08:10", "", ""),
    ],
)
def test_times_of_disinfecting_that_cannot_be_are_asked_about(
    small_box: Path, phone, contact: str, begun: str, ended: str, asked: str
):
    hand = Hand(phone.new_page())
    hand.open(small_box / "teo-1.html")
    hand.field("Disinfected with (product)").fill("Blue Dip (invented)")
    hand.field("Contact time", exact=False).fill(contact)
    hand.field("Begun at").fill(begun)
    hand.field("Ended at").fill(ended)
    question = hand.page.locator("#disinfected-doubt")
    expect(question).to_contain_text(asked) if asked else expect(question).to_be_empty()
    at(hand.page, "#/check")
    expect(hand.page.get_by_role("link", name="Disinfecting: ")).to_have_count(1 if asked else 0)
    expect(hand.next).to_have_text("Seal version 1")


def test_the_list_before_sealing_leads_to_the_very_field_of_the_disinfecting(hand: Hand):
    """The panel is folded away by then: it opens, and the way back is short."""
    page = hand.page
    hand.field("Disinfected with (product)").fill("Blue Dip (invented)")
    at(page, f"#/pair/{CONVEX}/received/finish")
    hand.press(page.locator("#level-2"))
    at(page, "#/")
    expect(page.locator("#disinfected-to")).not_to_be_visible()
    at(page, "#/check")
    hand.press(page.get_by_role("link", name="not said when the disinfecting ended"))
    expect(page.locator("#disinfected-to")).to_be_focused()
    expect(page.locator("#disinfected-to")).to_be_in_viewport()
    hand.press(page.locator("#back-to-check"))
    expect(page.get_by_role("heading", name="Look over and seal")).to_be_visible()


def test_a_class_that_the_cuts_do_not_say_is_asked_for_its_reason_in_place(hand: Hand):
    page = hand.page
    at(page, f"#/pair/{CONVEX}/received/dry-tissue")
    for _ in range(3):
        hand.press(page.locator("#cut-not-cut"))
    leave_rest_untested(hand, CONVEX)
    at(page, f"#/pair/{CONVEX}/decide")
    hand.press(page.get_by_role("radio", name="Class A"))
    expect(page.get_by_label("Reason", exact=True)).to_be_visible()
    hand.press(page.get_by_role("radio", name="Class D"))
    reason = page.get_by_label("Why class D, and not A", exact=True)
    expect(reason).to_be_in_viewport()
    assert reason.evaluate("it => Boolean(it.closest('.field').previousElementSibling.querySelector('[name=class]'))")
    at(page, "#/check")
    expect(page.get_by_role("link", name="class D is not what the test cuts say")).to_have_count(1)
    at(page, f"#/pair/{CONVEX}/decide/reason")
    expect(reason).to_be_focused()
    reason.fill("The tissue was damp.")
    at(page, "#/check")
    expect(page.get_by_role("link", name="class D is not what the test cuts say")).to_have_count(0)


def test_a_photo_without_words_is_allowed_and_told(small_box: Path, phone, tmp_path: Path):
    hand = Hand(phone.new_page())
    hand.open(small_box / "teo-1.html")
    leave_rest_untested(hand, 1)
    at(hand.page, "#/pair/1/photos")
    hand.field("Add from files").set_input_files(telephone_picture(tmp_path / "1.jpg", 1))
    hand.field("What photo 1 shows").fill("")
    at(hand.page, "#/check")
    told = hand.page.get_by_role("link", name="1 photo without a word on what it shows")
    expect(told).to_have_count(1)
    expect(hand.next).to_have_text("Seal version 1")
    at(hand.page, "#/pair/1/photos")
    hand.field("What photo 1 shows").fill("the tip")
    at(hand.page, "#/check")
    expect(told).to_have_count(0)


# --- what is asked of an edge type -----------------------------------------------------------------------------------


def test_what_the_rubric_says_of_an_edge_type_is_told_and_cannot_be_put_aside(hand: Hand):
    page = hand.page
    at(page, f"#/pair/{BEVEL}/received/face")
    expect(page.locator("#for-type")).to_contain_text("Bevel: ")
    expect(hand.button("not tested")).to_be_visible()
    expect(hand.button("not applicable")).to_have_count(0)
    at(page, f"#/pair/{CONVEX}/received/face")
    expect(page.locator("#for-type")).to_have_count(0)
    expect(hand.button("not applicable")).to_be_visible()


def test_what_only_advises_says_so_and_what_does_not_apply_is_not_asked(hand: Hand):
    page = hand.page
    at(page, f"#/pair/{BEVEL}/received")
    expect(page.locator("#criterion-wet-tissue")).to_contain_text("advice only")
    at(page, f"#/pair/{BEVEL}/received/wet-tissue")
    expect(page.locator("#reading")).to_contain_text("advice only")
    expect(page.locator("#for-type")).to_contain_text("It is never in the sum.")
    at(page, f"#/pair/{MICRO}/received")
    expect(page.locator("#criterion-dry-tissue")).to_be_visible()
    expect(page.locator("#criterion-wet-tissue")).to_have_count(0)
    expect(page.locator("#criterion-slide-cut")).to_have_count(0)


def test_nothing_is_ticked_that_was_not_asked_of_a_pair_left_as_it_came(hand: Hand):
    page = hand.page
    leave_rest_untested(hand, CONVEX)
    at(page, f"#/pair/{CONVEX}/decide")
    hand.press(page.locator("#class-X"))
    hand.press(page.locator("#decision-leave"))
    page.locator("#reason").fill("Crack at the pivot.")
    for step in ("work", "finished", "verdict"):
        expect(page.locator(f"#tab-{step}")).to_contain_text("not asked")
        expect(page.locator(f"#tab-{step}")).not_to_contain_text("✓")
    at(page, "#/")
    expect(page.locator(f"#pair-{CONVEX}")).to_contain_text("Left as it came, ")


# --- what a tap does -------------------------------------------------------------------------------------------------


def test_where_a_tap_stays_the_page_says_why(hand: Hand):
    page = hand.page
    at(page, f"#/pair/{CONVEX}/received/dry-tissue")
    expect(page.locator("#just")).to_contain_text("goes on to the next place; a push asks for its mm first")
    hand.press(page.locator("#cut-push"))
    expect(page.locator("#reading")).to_have_attribute("data-place", "heel")
    expect(page.locator("#just")).to_contain_text("Type how many millimetres")
    expect(page.locator("#just")).not_to_contain_text("goes on")
    expect(page.locator("#push")).to_be_in_viewport()
    hand.press(page.locator("#cut-clean"))
    expect(page.locator("#reading")).to_have_attribute("data-place", "middle")
    hand.press(hand.button("could not"))
    expect(page.locator("#reading")).to_have_attribute("data-place", "middle")
    at(page, f"#/pair/{CONVEX}/received/ride-line")
    expect(page.locator("#just")).to_contain_text("after a number press Next")


def test_what_is_wrong_with_a_field_comes_clear_of_the_bar(hand: Hand):
    page = hand.page
    leave_rest_untested(hand, CONVEX)
    at(page, f"#/pair/{CONVEX}/work")
    hand.press(hand.button("+ sharpen outside"))
    page.evaluate(JUST_ABOVE_THE_BAR, "step-0-grit")
    hidden, bar = page.evaluate(BOTTOMS, "step-0-grit-fault")
    page.keyboard.type("15")
    expect(page.locator("#step-0-grit-fault")).to_have_text("A grit needs its scale.")
    bottom, bar = page.evaluate(BOTTOMS, "step-0-grit-fault")
    assert bottom <= bar
    assert hidden is None, "it was not there before"


JUST_ABOVE_THE_BAR = """id => {
    const main = document.getElementById("main");
    const gap = document.getElementById("bar").getBoundingClientRect().top - 2;
    main.scrollTop += document.getElementById(id).getBoundingClientRect().bottom - gap;
}"""
"""The field stands with its lower edge right on the bar: what comes under it would be covered."""

BOTTOMS = """id => {
    const box = document.getElementById(id).getBoundingClientRect();
    return [box.height ? box.bottom : null, document.getElementById("bar").getBoundingClientRect().top];
}"""


# --- kept ------------------------------------------------------------------------------------------------------------

SLOW_STORE = """
const put = IDBObjectStore.prototype.put;
IDBObjectStore.prototype.put = function (...its) {
    const asked = put.apply(this, its);
    const goOn = () => { if (window.isHeld) this.count().onsuccess = goOn; };
    goOn();
    return asked;
};
"""
"""While `isHeld`, no transaction that writes comes to its end."""


def test_kept_is_said_only_of_what_is_kept(small_box: Path, phone):
    phone.add_init_script(SLOW_STORE)
    hand = Hand(phone.new_page())
    hand.open(small_box / "teo-1.html")
    page = hand.page
    said = page.locator("#kept")
    field = hand.field("Disinfected with (product)")
    page.evaluate("() => { window.isHeld = true; }")
    field.press_sequentially("B")
    assert "Kept" not in said.inner_text()
    expect(said).to_have_text("Keeping…")
    page.evaluate("() => { window.isHeld = false; }")
    expect(said).to_have_text("Kept on this device")


# --- little room, large letters --------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [195, 320, 360, 390])
def test_a_tag_and_the_steps_keep_their_shape(box: Path, new_context, width: int):
    """195 is a phone of 390 at 200 %. A tag stands on one line; the six steps stand in even rows."""
    page = new_context("phone", viewport={"width": width, "height": 700}).new_page()
    Hand(page).open(box / "teo-1.html")
    at(page, f"#/pair/{CONVEX}/received")
    assert _lines(page, ".tag") == {1}
    in_a_row = page.evaluate(IN_A_ROW)
    assert in_a_row in ([6], [3, 3])
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width


def _lines(page: Page, selector: str) -> set[int]:
    return set(
        page.evaluate("one => [...document.querySelectorAll(one)].map(it => it.getClientRects().length)", selector)
    )


IN_A_ROW = """() => {
    const rows = new Map();
    for (const step of document.querySelectorAll(".tabs > li")) {
        const top = Math.round(step.getBoundingClientRect().top);
        rows.set(top, (rows.get(top) || 0) + 1);
    }
    return [...rows.values()];
}"""


def test_forced_colours_take_no_meaning_away(box: Path, new_context):
    """What is chosen, what leads on and where a dialog ends can be seen without any colour of the page's own."""
    page = new_context("phone", forced_colors="active").new_page()
    hand = Hand(page)
    hand.open(box / "teo-1.html")
    at(page, f"#/pair/{CONVEX}/received/ride-line")
    assert _style(page, "[aria-pressed=true].unit", "outlineStyle") == "solid"
    assert _style(page, ".spot[aria-pressed=true]", "outlineStyle") == "solid"
    assert _style(page, ".spot[aria-pressed=false]", "outlineStyle") == "none"
    at(page, f"#/pair/{CONVEX}/received")
    current, other = (
        _style(page, one, "borderBottomWidth") for one in (".tab[aria-current]", ".tab:not([aria-current])")
    )
    assert current != other
    assert _style(page, "#next", "backgroundColor") != _style(page, "#untested", "backgroundColor")
    hand.press(page.locator("#rest-not-tested"))
    assert _style(page, "dialog", "borderTopStyle") == "solid"


def _style(page: Page, selector: str, name: str) -> str:
    return str(page.locator(selector).first.evaluate("(it, name) => getComputedStyle(it)[name]", name))

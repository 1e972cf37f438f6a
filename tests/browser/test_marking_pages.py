"""The marking pages in a real browser: by thumb, by key, without a connection, in two tabs, without JavaScript."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Error, Page, expect

from evalkit.actions.marking import lines_on, untested_names
from evalkit.domain.reading import SeenCut, SeenLevel, SeenMeasure
from tests.browser.driving import OF_COLOURS, Watch, axe_faults
from tests.browser.served import DONE, ROUND, Served
from tests.reports.hostile import MARKDOWN, RAW
from tests.web.boxes import RUBRIC

MOST_KEYS_PER_READING = 1.3
TOUCH_PX = 48
OFFLINE = "ERR_INTERNET_DISCONNECTED"


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[..., Served]]:
    opened: list[Served] = []

    def start(**more: Any) -> Served:
        opened.append(Served(tmp_path / f"book-{len(opened)}", **more))
        return opened[-1]

    yield start
    for one in opened:
        one.stop()


@pytest.fixture
def served(serve) -> Served:
    return serve()


@pytest.fixture
def open_page(new_context) -> Callable[..., Page]:
    def open_(size: str, **options: Any) -> Page:
        return new_context(size, **{"offline": False, **options}).new_page()

    return open_


def go(page: Page, served: Served, path: str) -> None:
    page.goto(served.base + path)


def where(page: Page) -> str:
    return page.inner_text("#pad-where")


def until_kept(page: Page) -> None:
    expect(page.locator("#saved")).to_have_text(re.compile(r"^Kept"))


def places_of(served: Served, number: int) -> int:
    pair = served.book.get_round("r-0001").get_pair(number).pair
    return sum(len(on.places) for on in lines_on(RUBRIC, pair))


def untested(served: Served, number: int) -> list[str]:
    from evalkit.actions.marking import by_criterion

    pair = served.kept(number)
    lines = lines_on(RUBRIC, served.book.get_round("r-0001").get_pair(number).pair)
    return untested_names(lines, by_criterion(pair.readings if pair else ()))  # type: ignore[attr-defined]


# --- whole markings --------------------------------------------------------------------------------------------------


class Keys:
    """A keyboard that counts how often it is struck."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.n = 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.n += 1


def mark_by_keys(page: Page, keys: Keys, number: int) -> None:
    """Level by level; what the bench measures by its number, and the cuts by what the medium did."""
    while page.inner_text("#untested") != "Everything is tested.":
        line = where(page)
        if line.startswith("Tension"):
            keys.press("m", "3", str(number % 10), "Enter")
        elif line.startswith("Ride line"):
            keys.press("Shift+M", ".", "4", "Enter")
        elif line.startswith(("Dry tissue", "Wet tissue", "Hair swatch")):
            keys.press("f" if number % 3 == 0 else "c")
        else:
            keys.press(str((number + len(line)) % 2 + 2))


@pytest.mark.slow
def test_a_round_by_keyboard_alone_with_few_strokes(served: Served, open_page):
    page = open_page("laptop")
    go(page, served, "/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="To the page itself")).to_be_focused()
    go(page, served, f"{ROUND}/mark")
    keys = Keys(page)
    n_readings = 0
    for number in range(1, 13):
        expect(page.locator("h1")).to_contain_text(f"Pair {number}")
        mark_by_keys(page, keys, number)
        n_readings += places_of(served, number)
        keys.press("]")
        page.wait_for_url(re.compile(rf"/pairs/{number + 1}$|/rounds/r-0001$"))
    print(f"{keys.n} strokes for {n_readings} readings: {keys.n / n_readings:.2f}")
    assert keys.n <= MOST_KEYS_PER_READING * n_readings
    assert [untested(served, number) for number in range(1, 13)] == [[]] * 12
    pair = served.kept(3)
    seen = {(one.criterion, str(one.place)): one.seen for one in pair.readings}  # type: ignore[attr-defined]
    assert isinstance(seen["tension", "whole pair"], SeenMeasure)
    assert isinstance(seen["ride-line", "thumb heel"], SeenMeasure)
    assert isinstance(seen["hair", "tip"], SeenCut)
    assert isinstance(seen["finish", "whole pair"], SeenLevel)
    page.get_by_label(re.compile("A word to")).focus()
    page.keyboard.type("Well done.")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/report")
    expect(page.get_by_text("Marked blind")).to_be_visible()
    assert served.book.get_marking("r-0001").marking.letter == "Well done."


GONE_ON = """(stoodAt) => document.getElementById("untested").textContent === "Everything is tested."
    || document.getElementById("pad-where").textContent !== stoodAt"""


@pytest.mark.slow
def test_a_round_by_touch_alone(served: Served, open_page):
    page = open_page("tablet")
    go(page, served, "/")
    page.get_by_role("link", name=re.compile("^Mark r-0001")).tap()
    for number in range(1, 13):
        expect(page.locator("h1")).to_contain_text(f"Pair {number}")
        while page.inner_text("#untested") != "Everything is tested.":
            stood_at = page.inner_text("#pad-where")
            if page.locator("#pad-all").is_enabled():
                page.locator("#pad-all").tap()
                expect(page.locator("#pad-all")).to_have_attribute("aria-pressed", "true")
            page.get_by_role("button", name=re.compile(r"^Level 2:")).tap()
            page.wait_for_function(GONE_ON, arg=stood_at)
        page.get_by_role("button", name="Done: both views").first.tap()
        page.wait_for_url("**/both")
        if number < 12:
            page.get_by_role("link", name=f"On to pair {number + 1}").tap()
        else:
            page.get_by_role("link", name="To the round").tap()
    assert [untested(served, number) for number in range(1, 13)] == [[]] * 12
    page.get_by_role("button", name="Finish the marking").tap()
    page.wait_for_url("**/report")
    assert served.book.get_marking("r-0001").marking.is_blind


def test_a_place_is_tapped_on_the_drawing(served: Served, open_page):
    page = open_page("tablet")
    go(page, served, f"{ROUND}/pairs/1")
    page.locator("summary", has_text="Ride line").tap()
    page.get_by_role("button", name="finger tip: untested").tap()
    expect(page.locator("#pad-where")).to_have_text("Ride line · finger tip")
    page.get_by_role("button", name=re.compile("^Level 1:")).tap()
    expect(page.get_by_role("button", name="finger tip: level 1")).to_be_visible()
    until_kept(page)
    (reading,) = served.kept(1).readings  # type: ignore[attr-defined]
    assert (str(reading.place), reading.seen) == ("finger tip", SeenLevel(level=1))


def test_what_is_untested_and_whether_it_is_kept_stay_in_sight(served: Served, open_page):
    for size in ("tablet", "laptop", "phone"):
        page = open_page(size)
        go(page, served, f"{ROUND}/pairs/2")
        page.evaluate("() => window.scrollTo(0, document.body.scrollHeight)")
        expect(page.locator("#untested")).to_be_in_viewport(ratio=0.9)
        expect(page.locator("#saved")).to_be_in_viewport(ratio=0.9)
        page.evaluate("() => window.scrollTo(0, 0)")
        expect(page.locator("#pad")).to_be_in_viewport(ratio=0.95)
        assert page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth"), size


def test_what_a_thumb_has_to_hit_is_large_enough(served: Served, open_page):
    page = open_page("tablet")
    for path in (f"{ROUND}/pairs/1", "/", ROUND, f"{ROUND}/pairs/1/both"):
        go(page, served, path)
        if path.endswith("/1"):
            page.locator("summary", has_text="Hair swatch").tap()
        small = page.evaluate(
            """least => Array.from(document.querySelectorAll(
                   'button, .button, summary, .choice, .tabs a, nav.top a, .pairs a, input:not([type=hidden])'))
               .filter(it => it.checkVisibility() && !it.closest('.for-ears') && !it.classList.contains('for-ears')
                             && !it.matches('.choice input, .opt input, .tick input'))
               .map(it => [it.textContent.trim().slice(0, 30) || it.name || it.id, it.getBoundingClientRect()])
               .filter(([, box]) => box.height < least - 0.5 || box.width < least - 0.5)
               .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)""",
            TOUCH_PX,
        )
        assert small == [], path


def levels(served: Served, number: int) -> dict[str, int]:
    pair = served.kept(number)
    return {one.criterion: one.seen.level for one in pair.readings} if pair else {}  # type: ignore[attr-defined]


def until(look: Callable[[], object], expected: object) -> None:
    """Wait until the book says so; it is written a moment after the page."""
    for _ in range(300):
        if look() == expected:
            return
        time.sleep(0.1)
    assert look() == expected


def test_undo_takes_back_stroke_by_stroke_after_a_reload_too(served: Served, open_page, watch: Watch):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    for key in "213":
        page.keyboard.press(key)
    until(lambda: levels(served, 1), {"finish": 2, "tension": 1, "play": 3})
    page.keyboard.press("u")
    until(lambda: levels(served, 1), {"finish": 2, "tension": 1})
    page.reload()
    page.keyboard.press("u")
    until(lambda: levels(served, 1), {"finish": 2})
    page.keyboard.press("u")
    until(lambda: levels(served, 1), {})
    until_kept(page)
    page.reload()
    page.keyboard.press("u")
    expect(page.locator("#saved")).to_have_text("Nothing to undo")
    assert levels(served, 1) == {}, "what was taken back was brought forward again"
    assert all("422" in error for error in watch.take())


def test_undo_on_another_device_takes_back_save_by_save(served: Served, open_page, watch: Watch):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    for key in "21":
        page.keyboard.press(key)
        until_kept(page)
    until(lambda: levels(served, 1), {"finish": 2, "tension": 1})
    other = open_page("tablet")
    go(other, served, f"{ROUND}/pairs/1")
    for expected in ({"finish": 2}, {}):
        other.locator("#pad-undo").tap()
        until(lambda: levels(served, 1), expected)
    other.locator("#pad-undo").tap()
    expect(other.locator("#saved")).to_have_text("Nothing to undo")
    assert all("422" in error for error in watch.take())


def test_what_cannot_be_read_is_told_where_it_stands(served: Served, open_page):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.locator("summary", has_text="Ride line").click()
    page.keyboard.press("m")
    page.keyboard.type("wide")
    page.keyboard.press("Enter")
    expect(page.locator("#saved")).to_contain_text("cannot be read")
    page.locator("summary", has_text="Ride line").click()
    expect(page.locator("#l-ride-line .pad-fault")).to_contain_text("'wide' is not understood")
    assert served.kept(1) is None


def test_next_untested_goes_on_from_the_present_place_and_round(served: Served, open_page):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.locator("summary", has_text="Hair swatch").click()
    expect(page.locator("#pad-where")).to_have_text("Hair swatch · heel")
    for expected in ("Hair swatch · middle", "Hair swatch · tip"):
        page.locator("#pad-next").click()
        expect(page.locator("#pad-where")).to_have_text(expected)
    page.keyboard.press("n")
    expect(page.locator("#pad-where")).not_to_contain_text("Hair swatch")
    page.locator("summary", has_text="Hair swatch").click()
    page.get_by_role("button", name="tip: untested").click()
    page.keyboard.press("c")
    expect(page.locator("#pad-where")).to_have_text("Hair swatch · heel")
    page.get_by_role("button", name="middle: untested").click()
    page.keyboard.press("n")
    seen = [where(page)]
    while not seen[-1].startswith("Hair swatch"):
        assert len(seen) < 200, "it does not come round"
        page.keyboard.press("n")
        seen.append(where(page))
    assert seen[-1] == "Hair swatch · heel"
    assert len(seen) == len(set(seen))


def test_a_correction_stays_on_its_line(served: Served, open_page):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.locator("summary", has_text="Ride line").click()
    page.keyboard.press("Shift+2")
    page.locator("summary", has_text="Ride line").click()
    for place in ("thumb heel", "thumb middle"):
        expect(page.locator("#pad-where")).to_have_text(f"Ride line · {place}")
        page.keyboard.press("3")
    page.get_by_role("button", name="finger tip: level 2").click()
    for level in "13":
        page.keyboard.press(level)
        expect(page.locator("#pad-where")).to_have_text("Ride line · finger tip")
    until_kept(page)
    found = {str(one.place): one.seen.level for one in served.kept(1).readings}  # type: ignore[attr-defined]
    assert [found[place] for place in ("thumb heel", "thumb middle", "thumb tip", "finger tip")] == [3, 3, 2, 3]


def test_a_mark_written_over_by_what_cannot_be_read_counts_as_untested(served: Served, open_page):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.locator("summary", has_text="Ride line").click()
    page.keyboard.press("Shift+2")
    expect(page.locator("#untested")).not_to_contain_text("Ride line")
    page.locator("summary", has_text="Ride line").click()
    page.keyboard.press("m")
    page.keyboard.type("wide")
    page.keyboard.press("Enter")
    expect(page.locator("#saved")).to_contain_text("cannot be read")
    expect(page.locator("#untested")).to_contain_text("Ride line (thumb heel)")
    page.locator("summary", has_text="Clean, finish").click()
    page.keyboard.press("2")
    expect(page.locator("#untested")).to_contain_text("Ride line (thumb heel)")
    until(lambda: "Ride line (thumb heel)" in untested(served, 1), expected=True)


def test_leaving_right_after_a_mark_asks_nothing_and_loses_nothing(served: Served, open_page, watch: Watch):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.keyboard.press("2")
    page.locator(".bench-line .home").click()
    page.wait_for_url(f"**{ROUND}")
    expect(page.locator(".pairs li").first).to_contain_text("untested")
    go(page, served, f"{ROUND}/pairs/2")
    page.keyboard.press("3")
    go(page, served, "/rubrics")
    until(lambda: levels(served, 2), {"finish": 3})
    go(page, served, f"{ROUND}/pairs/3")
    page.keyboard.press("1")
    page.close(run_before_unload=True)
    until(lambda: levels(served, 3), {"finish": 1})
    assert watch.take() == [], "the browser asked whether to leave"


def test_leaving_while_nothing_can_be_kept_asks(served: Served, open_page, watch: Watch):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.context.route(
        f"**{ROUND}/pairs/1", lambda route: route.abort() if route.request.method == "POST" else route.continue_()
    )
    page.keyboard.press("2")
    expect(page.locator("#saved")).to_contain_text("No connection")
    page.locator(".bench-line .home").click()
    page.wait_for_url(f"**{ROUND}")
    assert [told for told in watch.take() if "beforeunload" in told], "nothing was asked, and the mark is not kept"


def test_keys_can_be_switched_off(served: Served, open_page):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.keyboard.press("?")
    assert axe_faults(page) == []
    page.get_by_label("single keys work").uncheck()
    page.get_by_role("button", name="Close").click()
    page.keyboard.press("2")
    expect(page.locator("#pad-where")).to_have_text("Clean, finish, oil")
    page.reload()
    page.keyboard.press("2")
    expect(page.locator("#pad-where")).to_have_text("Clean, finish, oil")


# --- cut off, started anew, crashed ----------------------------------------------------------------------------------


def test_a_connection_lost_and_found_loses_nothing(served: Served, open_page, watch: Watch):
    page = open_page("tablet")
    go(page, served, f"{ROUND}/pairs/1")
    page.keyboard.press("2")
    until_kept(page)
    page.context.set_offline(True)
    page.keyboard.press("1")
    page.keyboard.press("3")
    expect(page.locator("#saved")).to_contain_text("No connection. Kept on this device")
    assert len(served.kept(1).readings) == 1  # type: ignore[attr-defined]
    page.context.set_offline(False)
    until_kept(page)
    assert len(served.kept(1).readings) == 3  # type: ignore[attr-defined]
    assert all(OFFLINE in error for error in watch.take())


def test_the_program_started_anew_is_gone_on_with(served: Served, open_page, watch: Watch):
    """Its new secret makes every form of before worthless; the page fetches itself another, and nothing is lost."""
    page = open_page("tablet")
    go(page, served, f"{ROUND}/pairs/1")
    page.keyboard.press("2")
    until_kept(page)
    served.anew()
    page.keyboard.press("1")
    until_kept(page)
    assert len(served.kept(1).readings) == 2  # type: ignore[attr-defined]
    assert all("403" in error or "ERR_CONNECTION" in error for error in watch.take())


def test_a_browser_that_crashed_takes_up_what_was_not_kept_yet(served: Served, open_page, watch: Watch):
    page = open_page("tablet")
    context = page.context
    go(page, served, f"{ROUND}/pairs/1")
    page.keyboard.press("2")
    until_kept(page)
    context.set_offline(True)
    page.keyboard.press("1")
    page.locator("textarea[name='c.play']").fill("a drop too tight")
    expect(page.locator("#saved")).to_contain_text("No connection")
    with page.expect_event("crash"), suppress(Error):  # closed, it would send what is left as it goes
        page.goto("chrome://crash")
    page.close()
    again = context.new_page()
    context.set_offline(False)
    go(again, served, f"{ROUND}/pairs/1")
    expect(again.locator("#banner")).to_contain_text("Taken up again")
    until_kept(again)
    pair = served.kept(1)
    assert len(pair.readings) == 2  # type: ignore[attr-defined]
    assert [one.text for one in pair.comments] == ["a drop too tight"]  # type: ignore[attr-defined]
    assert all(OFFLINE in error for error in watch.take())


# --- two hands -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("is_other_device", [False, True])
def test_the_second_hand_is_told_and_shown_both(served: Served, open_page, watch: Watch, is_other_device: bool):
    first = open_page("laptop")
    second = open_page("tablet") if is_other_device else first.context.new_page()
    go(first, served, f"{ROUND}/pairs/1")
    go(second, served, f"{ROUND}/pairs/1")
    first.keyboard.press("3")
    until_kept(first)
    second.keyboard.press("1")
    second.keyboard.press("2")
    expect(second.locator("#banner")).to_contain_text("changed meanwhile")
    assert [one.seen.level for one in served.kept(1).readings] == [3]  # type: ignore[attr-defined]
    second.get_by_role("button", name="Show both", exact=True).click()
    expect(second.get_by_role("heading", level=1)).to_contain_text("was changed meanwhile")
    assert axe_faults(second) == []
    group = second.get_by_role("group", name="Clean, finish, oil")
    group.locator("label", has_text="Yours, here").click()
    second.get_by_role("button", name="Save this").click()
    expect(second.locator("#saved")).to_have_text("Kept")
    levels = {one.criterion: one.seen.level for one in served.kept(1).readings}  # type: ignore[attr-defined]
    assert levels == {"finish": 1, "tension": 2}, "a mark of either hand was lost"
    assert all("409" in error for error in watch.take())


# --- a second time ---------------------------------------------------------------------------------------------------

AGAIN = f"{DONE}/second/pairs/1"


def again(served: Served, number: int = 1) -> dict[str, int]:
    pair = served.book.list_second_drafts("r-0000", "oda").get(number)
    return {one.criterion: one.seen.level for one in pair.readings} if pair else {}  # type: ignore[union-attr]


def test_a_second_marking_is_kept_as_it_goes_and_gone_on_with_elsewhere(served: Served, open_page):
    page = open_page("tablet")
    go(page, served, f"{DONE}/second")
    page.get_by_role("button", name="Draw them").tap()
    page.get_by_role("link", name=re.compile("^Begin")).first.tap()
    page.wait_for_url("**/second/pairs/*")
    number = int(page.url.rsplit("/", 1)[1])
    expect(page.locator("#saved")).to_have_text("Nothing kept yet")
    page.get_by_role("button", name=re.compile("^Level 2:")).tap()
    until(lambda: again(served, number), {"finish": 2})
    expect(page.locator("#saved")).to_contain_text("not finished")
    other = open_page("laptop")
    go(other, served, f"{DONE}/second")
    other.get_by_role("link", name=f"Go on with pair {number}", exact=True).click()
    expect(other.locator("#pad-where")).to_have_text("Tension")
    other.keyboard.press("3")
    until(lambda: again(served, number), {"finish": 2, "tension": 3})
    other.keyboard.press("u")
    until(lambda: again(served, number), {"finish": 2})
    assert served.book.list_second_markings() == [], "it was finished though nobody said so"
    other.get_by_role("button", name="Finish this pair").first.click()
    expect(other.get_by_role("heading", level=1)).to_contain_text("all the same?")
    assert served.book.list_second_markings() == [], "it was kept for good at one tap"
    assert axe_faults(other) == []
    other.get_by_role("button", name=re.compile("^Finish it with")).click()
    expect(other.get_by_text(f"The second marking of pair {number} is kept.")).to_be_visible()
    (kept,) = served.book.list_second_markings("r-0000")
    assert [pair.number for pair in kept.pairs] == [number]


def test_two_tabs_on_one_second_marking_are_told_and_shown_both(served: Served, open_page, watch: Watch):
    first = open_page("laptop")
    second = first.context.new_page()
    go(first, served, AGAIN)
    go(second, served, AGAIN)
    first.keyboard.press("3")
    until(lambda: again(served), {"finish": 3})
    second.keyboard.press("1")
    expect(second.locator("#banner")).to_contain_text("changed meanwhile")
    assert again(served) == {"finish": 3}
    second.get_by_role("button", name="Show both", exact=True).click()
    assert axe_faults(second) == []
    second.get_by_role("group", name="Clean, finish, oil").locator("label", has_text="Yours, here").click()
    second.get_by_role("button", name="Save this").click()
    expect(second.locator("#saved")).to_have_text("Kept, not finished")
    assert again(served) == {"finish": 1}
    assert all("409" in error for error in watch.take())


def test_a_second_marking_without_a_connection_loses_nothing(served: Served, open_page, watch: Watch):
    page = open_page("tablet")
    go(page, served, AGAIN)
    page.keyboard.press("2")
    until(lambda: again(served), {"finish": 2})
    page.context.set_offline(True)
    page.keyboard.press("1")
    expect(page.locator("#saved")).to_contain_text("No connection. Kept on this device")
    page.context.set_offline(False)
    until(lambda: again(served), {"finish": 2, "tension": 1})
    assert all(OFFLINE in error for error in watch.take())


def test_a_pair_is_marked_a_second_time_without_javascript(served: Served, open_page):
    page = open_page("tablet", java_script_enabled=False)
    go(page, served, f"{DONE}/second")
    page.get_by_label("How many pairs").fill("2")
    page.get_by_role("button", name="Draw them").tap()
    expect(page.get_by_role("link", name=re.compile("^Begin"))).to_have_count(2)
    first, second = served.book.list_second_drafts("r-0000", "oda")
    page.get_by_role("link", name=f"Begin with pair {first}", exact=True).tap()
    page.locator("#l-finish .opt", has_text="2").tap()
    page.get_by_role("button", name="Save", exact=True).last.tap()
    expect(page.locator("#saved")).to_have_text("Kept, not finished")
    page.locator("#l-finish .opt", has_text="3").tap()
    page.get_by_role("button", name=f"Pair {second}", exact=True).tap()
    page.get_by_role("button", name=f"Pair {first}", exact=True).tap()
    page.get_by_role("button", name="Undo the last save").tap()
    page.wait_for_url("**?undone=yes")
    assert again(served, first) == {"finish": 2}
    page.get_by_role("button", name="Finish this pair").tap()
    page.get_by_role("button", name=re.compile("^Finish it with")).tap()
    expect(page.get_by_text("finished and kept")).to_be_visible()
    assert list(served.book.list_second_drafts("r-0000", "oda")) == [second]


# --- without JavaScript ----------------------------------------------------------------------------------------------


def test_a_pair_is_marked_and_a_round_finished_without_javascript(served: Served, open_page):
    page = open_page("tablet", java_script_enabled=False)
    go(page, served, f"{ROUND}/mark")
    for number in range(1, 13):
        expect(page.locator("h1")).to_contain_text(f"Pair {number}")
        page.locator("#l-finish .opt", has_text="2").tap()
        page.locator("input[name='v.tension.pair']").fill("32")
        if number == 1:
            page.locator("textarea[name='c.tension']").fill("good")
            page.get_by_role("button", name="Done: show both views").tap()
            expect(page.get_by_role("heading", level=1)).to_contain_text("both views")
            page.get_by_label("How even?").fill("As even as a hair.")
            page.get_by_role("button", name="Keep, and on to pair 2").tap()
        elif number < 12:
            page.get_by_role("button", name=f"Pair {number + 1}", exact=True).tap()
        else:
            page.get_by_role("button", name="To the round").tap()
    page.get_by_role("button", name="Finish the marking").tap()
    expect(page.get_by_text("Marked blind")).to_be_visible()
    first = served.book.get_marking("r-0001").marking.pairs[0]
    assert [one.text for one in first.answers] == ["As even as a hair."]
    assert len(first.readings) == 2


def test_nothing_that_was_not_looked_at_is_called_good(served: Served, open_page):
    page = open_page("tablet", java_script_enabled=False)
    go(page, served, f"{ROUND}/pairs/1")
    page.locator("#l-finish .opt", has_text="3").tap()
    page.get_by_role("button", name="Done: show both views").tap()
    expect(page.locator(".verdicts")).to_contain_text("not shown")


# --- to be read by everybody, and safe -------------------------------------------------------------------------------

PAGES = ("/", ROUND, f"{ROUND}/pairs/1", f"{ROUND}/pairs/2", f"{ROUND}/pairs/1/both", f"{ROUND}/pairs/2/both",
         f"{DONE}/report", f"{DONE}/second", f"{DONE}/second/pairs/1", DONE, "/trainees", "/trainees/t0", "/rubrics",
         "/rubrics/shears/1", "/stock", "/stock?where=here&q=bevel", "/stock/S-00001", "/steadiness", "/who",
         "/nothing", "/trainees/t0/sign-off", "/trainees/t0/next-box", f"{ROUND}/report")  # fmt: skip


@pytest.mark.parametrize("size", ["tablet", "laptop"])
def test_axe_finds_nothing(serve, open_page, watch: Watch, size: str):
    """In the dark only the colours differ, so only what is said of colours is asked again."""
    served = serve(n_begun=3)
    page = open_page(size)
    faults = {}
    for path in PAGES:
        go(page, served, path)
        faults[path] = axe_faults(page)
        page.emulate_media(color_scheme="dark")
        faults[f"{path} in the dark"] = axe_faults(page, only=OF_COLOURS)
        page.emulate_media(color_scheme="light")
    assert {path: found for path, found in faults.items() if found} == {}
    assert all("404" in error or "422" in error for error in watch.take())


@pytest.mark.parametrize("is_dark", [False, True])
def test_axe_finds_nothing_at_the_door(serve, open_page, is_dark: bool):
    served = serve(asks_code=True)
    page = open_page("tablet", is_dark=is_dark)
    go(page, served, "/")
    assert axe_faults(page) == []
    page.get_by_label("Code").fill(served.site.door.code)
    page.get_by_role("button", name="Come in").tap()
    expect(page.get_by_role("heading", name="Rounds")).to_be_visible()
    assert axe_faults(page) == []


def test_a_box_is_checked_in_by_touch(serve, open_page, tmp_path: Path):
    from evalkit.domain.round import Leg, LegKind
    from tests.web.conftest import picture

    served = serve()
    book = served.book
    round_ = book.get_round("r-0001").model_copy(update={"key": "again", "legs": ()})
    book.add_round(round_, "oda")
    for kind in (LegKind.SENT, LegKind.RECEIVED, LegKind.RETURNED):
        book.add_leg("again", Leg(kind=kind, happened_on=round_.planned_on), "oda")
    (tmp_path / "tip.jpg").write_bytes(picture())
    page = open_page("tablet")
    go(page, served, "/rounds/again/check-in")
    assert axe_faults(page) == []
    for number in range(1, 13):
        word = {2: "damaged in transit", 5: "missing"}.get(number, "here")
        page.locator("fieldset").nth(number - 1).locator(".choice", has_text=word).tap()
    page.locator("input[name='damage.2']").fill("tip bent")
    page.locator("input[name='photo.2']").set_input_files(tmp_path / "tip.jpg")
    assert axe_faults(page) == []
    page.get_by_role("button", name="It is checked in").tap()
    expect(page.get_by_text("Missing: pair 5. Damaged in transit: pair 2.")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_role("link", name=re.compile("damaged on the way back")).tap()
    expect(page.get_by_text("Damaged on the way back:")).to_be_in_viewport()
    assert axe_faults(page) == []
    go(page, served, "/rounds/again")
    page.get_by_role("link", name="Correct the check-in").tap()
    expect(page.locator("input[name='damage.2']")).to_have_value("tip bent")
    assert axe_faults(page) == []
    for number, word in ((2, "here"), (5, "here"), (6, "missing")):
        page.locator("fieldset").nth(number - 1).locator(".choice", has_text=word).tap()
    page.get_by_role("button", name="Keep the correction").tap()
    expect(page.get_by_text("Missing: pair 6.")).to_be_visible()
    draft = book.find_draft("again", "oda")
    assert draft is not None
    assert {pair.number for pair in draft.pairs if pair.readings} == {6}


def test_a_box_is_proposed_changed_and_planned(serve, open_page):
    from decimal import Decimal

    from evalkit.domain.pair import EdgeType, Pair

    served = serve()
    served.book.add_pairs(
        [Pair(tag=f"N-{n}", edge_type=EdgeType.BEVEL, size_in=Decimal("6.0")) for n in range(6)], "oda"
    )
    page = open_page("tablet")
    go(page, served, "/trainees/t0")
    page.get_by_role("link", name="Plan the next box").tap()
    page.get_by_label("How many pairs").fill("4")
    page.get_by_role("button", name="Propose a box").tap()
    rows = page.locator(".proposed li")
    expect(rows).to_have_count(4)
    assert axe_faults(page) == []
    struck = rows.first.locator("b").nth(1).inner_text()
    rows.first.locator(".tick input").check()
    page.get_by_role("button", name="Propose again").tap()
    expect(rows).to_have_count(4)
    expect(page.locator(".proposed")).not_to_contain_text(struck)
    page.get_by_role("button", name="Plan this round").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("t0-")
    assert len(served.book.list_rounds("t0")) == 3
    assert axe_faults(page) == []
    with page.expect_download() as fetched:
        page.get_by_role("link", name="Bench book").tap()
    assert fetched.value.suggested_filename.endswith("-bench-book.html")
    page.locator("summary", has_text="Take the plan back").tap()
    assert axe_faults(page) == []
    page.get_by_role("button", name="Take the plan back").tap()
    expect(page.get_by_text("The plan is taken back")).to_be_visible()
    assert axe_faults(page) == []
    assert len(served.book.list_rounds("t0")) == 2


def test_a_sign_off_is_given_and_withdrawn(served: Served, open_page):
    page = open_page("tablet")
    go(page, served, "/trainees/t0")
    page.get_by_role("link", name="Sign-off").tap()
    page.get_by_role("button", name="Work the progress out").tap()
    expect(page.get_by_role("heading", name="Your decision")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_label("convex").first.check()
    page.get_by_label("Why").fill("Seen on the bench.")
    page.get_by_label("I have seen the work").check()
    page.get_by_role("button", name="Sign off", exact=True).tap()
    expect(page.get_by_text("The sign-off is written down.")).to_be_visible()
    page.get_by_role("link", name="Sign-off").tap()
    expect(page.get_by_role("heading", name="What stands")).to_be_visible()
    assert axe_faults(page) == []
    page.locator("summary", has_text="Withdraw it").tap()
    page.get_by_label("Why is it withdrawn?").fill("Two came back.")
    page.get_by_role("button", name="Withdraw the sign-off").tap()
    expect(page.get_by_text("The sign-off is withdrawn.")).to_be_visible()
    assert [kept.sign_off.reason for kept in served.book.list_sign_offs("t0")] == ["Two came back."]


def test_hostile_notes_do_nothing_and_the_policy_has_nothing_to_report(serve, open_page, watch: Watch):
    hostile = "\n\n".join([*RAW, *MARKDOWN, *RAW, *MARKDOWN][:150])[:19_000]
    served = serve(notes=hostile)
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.locator("textarea[name='c.finish']").fill(hostile[:1900])
    page.locator("textarea[name='notes']").fill(hostile)
    page.keyboard.press("Escape")
    page.keyboard.press("2")
    page.keyboard.press("d")
    page.wait_for_url("**/both")
    for path in (f"{ROUND}/pairs/1/both", f"{ROUND}/pairs/1", f"{DONE}/report"):
        go(page, served, path)
        assert "alert(1)" in page.content()
    assert watch.misdeeds == [], "something ran, was fetched, or was stopped by the policy"


EVIL = "http://evil.example/"
EVIL_PAGE = """<!DOCTYPE html><iframe name="in"></iframe>
<form method="post" target="_self" action="{base}/rounds/r-0001/pairs/1"><input name="keep" value="evil"></form>
<iframe id="framed" src="{base}/rounds/r-0001/pairs/1"></iframe>"""


def test_another_site_can_neither_read_nor_post_nor_frame(served: Served, open_page, watch: Watch):
    page = open_page("laptop")
    go(page, served, f"{ROUND}/pairs/1")
    page.context.route(
        EVIL + "**", lambda route: route.fulfill(body=EVIL_PAGE.format(base=served.base), content_type="text/html")
    )
    evil = page.context.new_page()
    evil.goto(EVIL)
    read = evil.evaluate(
        """async base => { try { return await (await fetch(base + '/', {credentials: 'include'})).text(); }
                           catch (error) { return 'closed'; } }""",
        served.base,
    )
    assert read == "closed"
    posted = evil.evaluate(
        """async base => { try { const body = new FormData(); body.append('keep', 'evil');
                const answer = await fetch(base + '/rounds/r-0001/pairs/1', {method: 'POST', body, mode: 'no-cors',
                                                                             credentials: 'include'});
                return answer.type; } catch (error) { return 'closed'; } }""",
        served.base,
    )
    assert posted in {"opaque", "closed"}
    framed = evil.frame_locator("#framed").locator("body")
    assert "Ride line" not in (framed.inner_text() if framed.count() else "")
    with evil.expect_navigation():
        evil.evaluate("() => document.forms[0].submit()")
    assert "Ride line" not in evil.inner_text("body")
    assert served.kept(1) is None
    watch.take()

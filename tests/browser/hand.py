"""A trainee's hand at the bench book: finds things by what they are called, as somebody does who was told nothing."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from playwright.sync_api import Download, Locator, Page

from evalkit.domain.measures import SHORT
from evalkit.domain.pair import Station
from evalkit.domain.reading import WHOLE_PAIR, NotSeen, Place, SeenCut, SeenLevel, SeenMeasure, Stage
from evalkit.domain.triage import Decision
from tests.browser.story import DISINFECTED
from tests.browser.typed import PairStory, Typed, TypedWork

USUAL_PARTS = {"bumper", "washer", "click plate", "screw", "ring inserts", "finger rest"}


QUICK = """
const later = window.setTimeout;
window.setTimeout = (act, ms, ...more) => later(act, ms === 350 ? 0 : ms, ...more);
"""
"""The moment in which the page takes a second tap for part of the first would double the time of a long test."""


class Hand:
    """Works by touch, or by mouse where the page is not touched. `is_quick`: without a person's pause between taps."""

    def __init__(self, page: Page, *, is_touch: bool = True, is_quick: bool = True) -> None:
        self.page = page
        self.is_touch = is_touch
        if is_quick:
            page.add_init_script(QUICK)

    # --- the small movements ---

    def open(self, book: Path) -> None:
        self.page.goto(book.as_uri())
        self.until_kept()

    def press(self, thing: Locator) -> None:
        thing.tap() if self.is_touch else thing.click()

    def button(self, name: str | re.Pattern[str], *, exact: bool = True) -> Locator:
        return self.page.get_by_role("button", name=name, exact=exact)

    def field(self, label: str | re.Pattern[str], *, exact: bool = True) -> Locator:
        return self.page.get_by_label(label, exact=exact)

    @property
    def next(self) -> Locator:
        """What the bar at the bottom offers as the next thing to do."""
        return self.page.locator("#next")

    def until_kept(self) -> None:
        """The page says that all is on the device."""
        self.page.locator("#kept[data-state=kept]").get_by_text("Kept on this device").wait_for()

    # --- the round ---

    def say_disinfected(self) -> None:
        self.field("Disinfected with (product)").fill(DISINFECTED["product"])
        self.field(re.compile("^Contact time"), exact=False).fill(DISINFECTED["contact"])
        self.field("Begun at").fill(DISINFECTED["from"])
        self.field("Ended at").fill(DISINFECTED["to"])

    def to_list(self) -> None:
        self.page.evaluate("() => { location.hash = '#/'; }")
        self.page.get_by_role("heading", name="The pairs").wait_for()

    def to_pair(self, number: int) -> None:
        self.press(self.page.get_by_role("link", name=re.compile(rf"^Pair {number}\b")))

    def to_step(self, name: str) -> None:
        steps = self.page.get_by_role("navigation")
        if not steps.is_visible():  # on a small screen a reading has the whole of it
            self.press(self.page.locator("#back"))
        self.press(steps.get_by_role("link", name=re.compile(f"^{name}")))

    def pair(self, told: PairStory, pictures: Sequence[Path] = (), *, already: int = 0) -> None:
        """Everything of one pair, from the list of pairs to its last step; so many readings stand already."""
        self.lengths_in("inches" if told.work.is_in_inches else "millimetres")
        self.to_pair(told.pair.number)
        self.stage(told.received[already:], n_rest=_rest(told, Stage.AS_RECEIVED))
        self.decide(told)
        if told.pair.decision is not Decision.LEAVE:
            self.work(told.work)
            self.to_step("As finished")
            self.stage(told.finished, n_rest=_rest(told, Stage.AS_FINISHED))
        self.verdict(told)
        if pictures:
            self.photos(pictures, [photo.caption for photo in told.pair.photos])

    # --- readings ---

    def stage(self, typed: Iterable[Typed], *, n_rest: int = 0, is_there: bool = False) -> None:
        """All readings of a stage, in the order in which the page asks for them; then the rest as not tested.

        `is_there`: the page asks for a reading already.
        """
        waiting = {one.at: one for one in typed}
        if waiting and not is_there:
            self.press(self.next)
            self.page.locator("#reading").wait_for()
        while waiting:
            key, words = self._where()
            found = next((one for (name, place), one in waiting.items() if name == key and str(place) == words), None)
            if found is None:
                self._go_on(key, words)
                continue
            del waiting[found.at]
            self.reading(found)
            if waiting and self._where() == (key, words):
                self._go_on(key, words)
        if n_rest:
            self.press(self.page.locator("#back"))
            self.press(self.button(f"The rest was not tested ({n_rest})"))
            self.press(self.button(f"Yes, {n_rest} not tested"))

    def _where(self) -> tuple[str, str]:
        """The criterion and the place that the page asks for."""
        criterion, place = self.page.locator("#reading").evaluate("it => [it.dataset.criterion, it.dataset.place]")
        return criterion, place

    def _go_on(self, key: str, words: str) -> None:
        """Press what the bar offers, and see that something else is asked for then."""
        self.press(self.next)
        here = f'[data-criterion="{key}"][data-place="{words}"]'
        self.page.locator(f"#reading:not({here})").wait_for()

    def reading(self, typed: Typed) -> None:
        """One reading at the place that is asked for; a moment after the last, since a double tap counts once."""
        self.page.locator("#app:not([data-settling])").wait_for()
        match typed.reading.seen:
            case SeenLevel(level=level):
                self.press(self.button(re.compile(f"^Level {level}:")))
            case NotSeen(why=why):
                self.press(self.button(why))
            case SeenCut() as cut:
                self._cut(cut, typed.number)
            case SeenMeasure() as measure:
                self._measure(measure, typed)
        if typed.reading.note:
            self._remark(typed.reading.place, typed.reading.note)

    def _cut(self, cut: SeenCut, push: str) -> None:
        if self.field("Cut in").count():
            self.field("Cut in").select_option(cut.medium)
        self.press(self.button(cut.result))
        if push:
            self.field("How far it was pushed (mm)").fill(push)

    def _measure(self, measure: SeenMeasure, typed: Typed) -> None:
        unit = self.button(SHORT[measure.unit])
        if unit.count():
            self.press(unit)
        self.page.locator("#measure").fill(typed.number)
        if typed.doubt:
            self.press(self.page.get_by_text("Say how sure you are", exact=True))
            self.field("Give or take").fill(typed.doubt)
        if measure.ring == "finger":
            self.press(self.button(re.compile("^Done as told")))
        elif measure.ring:
            self.press(self.page.get_by_text("Done another way", exact=True))
            self.press(self.button(f"{measure.ring} ring held"))
            if not self.field("Let go from (degrees open)").is_visible():
                self.press(self.page.get_by_text("Done another way", exact=True))
            self.field("Let go from (degrees open)").fill(typed.start)

    def _remark(self, place: Place, note: str) -> None:
        """The page may have gone on to the next place: back to this one by its spot on the drawing."""
        if self._where()[1] != str(place) and place != WHOLE_PAIR:
            self.press(self.button(re.compile(f"^{place}:"), exact=False))
        self.press(self.page.get_by_text("Add a remark", exact=True))
        self.field("Remark on this reading").fill(note)

    # --- the other steps ---

    def decide(self, told: PairStory) -> None:
        self.to_step("Decide")
        self.press(self.page.get_by_role("radio", name=re.compile(f"^Class {told.pair.stated_class}")))
        self.press(self.page.get_by_role("radio", name=re.compile(f"^{told.pair.decision}")))
        if told.pair.reason:
            self.page.locator("#reason").fill(told.pair.reason)

    def work(self, typed: TypedWork) -> None:
        self.to_step("Work")
        log = typed.log
        self._lengths("before", typed.widths_before, typed.length_before)
        for at, (step, grit) in enumerate(zip(log.steps, typed.grits, strict=True)):
            chip = self.button(f"+ {step.what}")
            self.press(chip if chip.count() else self.button("+ another step"))
            self.field(f"Step {at + 1}").fill(step.what)
            if grit:
                self.field(f"Grit of step {at + 1}").fill(grit)
                self.field(f"Scale of step {at + 1}").select_option(step.scale)
        if log.angle:
            self.field("Angle you worked to (degrees)").fill(typed.angle)
            name = "bench dial" if log.angle.unit == "deg dial" else "included"
            self.press(self.page.get_by_role("radio", name=re.compile(f"^{name}")))
        for part in log.parts:
            if part in USUAL_PARTS:
                self.press(self.button(part))
        self.field(re.compile("^Other parts"), exact=False).fill(
            ", ".join(part for part in log.parts if part not in USUAL_PARTS)
        )
        self.field("Minutes at this pair").fill(str(log.minutes))
        self._lengths("after", typed.widths_after, typed.length_after)

    def _lengths(self, when: str, widths: Sequence[str], length: str) -> None:
        for station, text in zip(Station, widths, strict=False):
            self.page.locator(f"#width-{when}-{station}").fill(text)
        if length:
            self.page.locator(f"#length-{when}").fill(length)

    def lengths_in(self, words: str) -> None:
        """`millimetres` or `inches`, chosen on the first screen."""
        self.to_list()
        choice = self.page.get_by_role("radio", name=words)
        if not choice.is_checked():
            self.press(choice)

    def verdict(self, told: PairStory) -> None:
        self.to_step("Verdict")
        if told.pair.verdict:
            self.press(self.page.get_by_role("radio", name=re.compile(f"^{told.pair.verdict}")))
        self.field("Notes").fill(told.pair.notes)
        for at, question in enumerate(told.pair.questions):
            self.press(self.button("Ask a question"))
            self.field(f"Question {at + 1}").fill(question)
        self.field("Lessons").fill(told.pair.lessons)

    def photos(self, pictures: Sequence[Path], captions: Sequence[str]) -> None:
        self.to_step("Photos")
        self.field("Add from files").set_input_files(list(pictures))
        for at, caption in enumerate(captions):
            self.field(f"What photo {at + 1} shows").fill(caption)

    # --- sealing ---

    def seal(self, letter: str = "") -> Download:
        """Look over, seal, and answer what the browser downloads."""
        self.to_list()
        self.press(self.page.get_by_role("link", name="Look over and seal").first)
        if letter:
            self.field(re.compile("^Letter to"), exact=False).fill(letter)
        self.press(self.next)
        with self.page.expect_download() as download:
            self.press(self.button("Yes, seal it"))
        self.page.get_by_role("heading", name="Seal code").wait_for()
        return download.value

    @property
    def seal_code(self) -> str:
        return self.page.locator("#seal-code").inner_text()


def _rest(told: PairStory, stage: Stage) -> int:
    typed = told.received if stage is Stage.AS_RECEIVED else told.finished
    return len(told.pair.at_stage(stage)) - len(typed)

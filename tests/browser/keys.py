"""A trainee's hand on the keyboard alone: Tab to a thing by its name, then type; the mouse is never touched."""

from __future__ import annotations

import re
from collections.abc import Iterable

from playwright.sync_api import Page

from evalkit.domain.assessment import WorkLog
from evalkit.domain.pair import Station
from evalkit.domain.reading import NotSeen, Place, SeenCut, SeenLevel, SeenMeasure
from tests.browser.typed import PairStory, Typed, TypedWork

MOST_TABS = 150

FOCUSED = """() => {
    const it = document.activeElement;
    if (!it || it === document.body) return { name: "", kind: "", group: "", isHidden: false };
    const label = it.getAttribute("aria-label") || (it.labels && it.labels.length && it.labels[0].innerText);
    const box = it.getBoundingClientRect();
    const own = [it, ...(it.labels || [])];
    const isSeenAt = (x, y) => {
        const above = document.elementFromPoint(box.x + box.width * x, box.y + box.height * y);
        return Boolean(above) && own.some((one) => one.contains(above));
    };
    return {
        name: (label || it.innerText || "").replace(/\\s+/g, " ").trim(),
        kind: it.tagName.toLowerCase() + (it.type ? `:${it.type}` : ""),
        group: it.name || "",
        isHidden: ![0.1, 0.5, 0.9].some((y) => [0.1, 0.5, 0.9].some((x) => isSeenAt(x, y))),
    };
}"""
"""What has the focus: its name as it is told, what it is, and whether all of it is covered."""


class Keys:
    """Keeps in `hidden` the name of everything that had the focus and could not be seen at all (WCAG 2.2, 2.4.11)."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.hidden: set[str] = set()

    def focused(self) -> dict[str, str]:
        found: dict[str, str] = self.page.evaluate(FOCUSED)
        if found["isHidden"]:
            self.hidden.add(found["name"] or found["kind"])
        return found

    def press(self, key: str, times: int = 1) -> None:
        for _ in range(times):
            self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)

    def to(self, name: str, kind: str = "") -> None:
        """Tab on until something of this name has the focus: a pattern, from the beginning of the name."""
        passed = []
        for _ in range(MOST_TABS):
            self.press("Tab")
            found = self.focused()
            if re.match(name, found["name"]) and found["kind"].startswith(kind):
                return
            passed.append(found["name"])
        raise AssertionError(f"Tab never came to {name!r}, but to {passed}")

    def use(self, name: str) -> None:
        """Tab to a button or link and press it."""
        self.to(name)
        self.press("Enter")

    def write(self, name: str, text: str) -> None:
        """Tab to a field and type."""
        self.to(name)
        self.type(text)

    def choose(self, name: str, group: str) -> None:
        """Tab to a group of choices, then by arrow to the one of this name."""
        for _ in range(MOST_TABS):
            self.press("Tab")
            if self.focused()["group"] == group:
                break
        if re.match(name, self.focused()["name"]):
            self.press("Space")
        for _ in range(10):
            if re.match(name, self.focused()["name"]):
                return
            self.press("ArrowDown")
        raise AssertionError(f"the arrows never came to {name!r}")

    def next(self) -> None:
        """Tab to what the bar offers and press it."""
        self.use(re.escape(self.page.locator("#next").inner_text()))

    # --- one pair ---

    def pair(self, told: PairStory) -> None:
        self.use(rf"Pair {told.pair.number}\b")
        self.next()
        self.stage(told.received)
        self._step("Decide")
        self.choose(f"Class {told.pair.stated_class}", "class")
        self.choose(str(told.pair.decision), "decision")
        self._step("Work")
        self.work(told.work)
        self._step("As finished")
        self.next()
        self.stage(told.finished)
        self._step("Verdict")
        self.choose(str(told.pair.verdict), "verdict")
        self.write("Notes", told.pair.notes)
        for at, question in enumerate(told.pair.questions):
            self.use("Ask a question")
            assert self.focused()["name"] == f"Question {at + 1}"
            self.type(question)
        self.write("Lessons", told.pair.lessons)

    def _step(self, name: str) -> None:
        self.use(rf"(. |\d )?{name}")
        self.page.wait_for_function("name => document.title.toLowerCase().includes(name)", arg=name.lower())

    def stage(self, typed: Iterable[Typed]) -> None:
        waiting = {(one.reading.criterion, str(one.reading.place)): one for one in typed}
        self.page.locator("#reading").wait_for()
        while waiting:
            here = self._where()
            found = waiting.pop(here, None)
            if found:
                self.reading(found)
            if waiting and self._where() == here:
                self.press("Enter") if self._may_press_enter() else self.next()
                self.page.wait_for_function(WHERE_IS_ELSE, arg=list(here))

    def _may_press_enter(self) -> bool:
        """On the heading or in a field of one line Enter leads on, as the page promises."""
        return self.focused()["kind"] in {"h1", "input:text"}

    def _where(self) -> tuple[str, str]:
        panel = self.page.locator("#reading")
        return panel.get_attribute("data-criterion") or "", panel.get_attribute("data-place") or ""

    def reading(self, typed: Typed) -> None:
        match typed.reading.seen:
            case SeenLevel(level=level):
                if not self.focused()["name"].startswith("Level "):  # number keys work on the levels, as the page says
                    self.to("Level 0", "button")
                self.press(str(level))
            case NotSeen(why=why):
                self.use(f"{why}$")
            case SeenCut() as cut:
                self.use(f"{cut.result}$")
                if typed.number:
                    self.write("How far it was pushed", typed.number)
            case SeenMeasure() as measure:
                self._measure(measure, typed)
        if typed.reading.note:
            self._remark(typed.reading.place, typed.reading.note)

    def _measure(self, measure: SeenMeasure, typed: Typed) -> None:
        if not self.focused()["name"].startswith("Measured"):
            self.to("Measured")
        self.press("Control+a")
        self.type(typed.number)
        unit = self.page.get_by_role("button", name=measure.unit, exact=True)
        if unit.get_attribute("aria-pressed") == "false":
            self.use(f"{measure.unit}$")
        if typed.doubt:
            self.use("Say how sure you are")
            self.write("Give or take", typed.doubt)

    def _remark(self, place: Place, note: str) -> None:
        if self._where()[1] != str(place):
            self.use(f"{place}:")
        self.use("Add a remark")
        self.page.wait_for_function("() => document.activeElement.id === 'remark'")
        self.type(note)

    def work(self, typed: TypedWork) -> None:
        log: WorkLog = typed.log
        self._lengths("before", typed.widths_before, typed.length_before)
        self.write("Minutes at this pair", str(log.minutes))
        for at, (step, grit) in enumerate(zip(log.steps, typed.grits, strict=True)):
            chip = self.page.get_by_role("button", name=f"+ {step.what}", exact=True)
            self.use(re.escape(f"+ {step.what}" if chip.count() else "+ another step") + "$")
            if not chip.count():
                self.type(step.what)
            if grit:
                if self.focused()["name"] != f"Grit of step {at + 1}":
                    self.to(f"Grit of step {at + 1}")
                self.type(grit)
                self.to(f"Scale of step {at + 1}")
                self._scale(at, str(step.scale))
        if log.angle:
            self.write("Angle you worked to", typed.angle)
            self.choose("bench dial" if log.angle.unit == "deg dial" else "included", "angle-unit")
        for part in log.parts:
            if self.page.get_by_role("button", name=part, exact=True).count():
                self.use(f"{part}$")
            else:
                self.write("Other parts", part)
        self._lengths("after", typed.widths_after, typed.length_after)

    def _scale(self, at: int, scale: str) -> None:
        for _ in range(8):
            if self.page.locator(f"#step-{at}-scale").input_value() == scale:
                return
            self.press("ArrowDown")
        raise AssertionError(f"no scale {scale!r}")

    def _lengths(self, when: str, widths: Iterable[str], length: str) -> None:
        """The labels say only the station, so the field is known by its group's name."""
        for station, text in zip(Station, widths, strict=False):
            self._to_field(f"width-{when}-{station}")
            self.type(text)
        if length:
            self._to_field(f"length-{when}")
            self.type(length)

    def _to_field(self, name: str) -> None:
        for _ in range(MOST_TABS):
            self.press("Tab")
            if self.focused()["group"] == name:
                return
        raise AssertionError(f"Tab never came to {name!r}")


WHERE_IS_ELSE = """([criterion, place]) => {
    const panel = document.getElementById("reading");
    return panel && (panel.dataset.criterion !== criterion || panel.dataset.place !== place);
}"""

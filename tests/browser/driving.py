"""How a real browser is found, started and watched; nothing here knows which page is tried."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from axe_playwright_python import base as axe_package
from playwright.sync_api import BrowserContext, ConsoleMessage, Dialog, Page, Request

BROWSER = "EVALKIT_TEST_BROWSER"
"""Environment: the path of a chromium to drive, or `none` to do without these tests on purpose."""

QUIET = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)
"""No traffic of its own, and no name that leads off this machine."""

PHONE = {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 2, "has_touch": True, "is_mobile": True}
LAPTOP = {"viewport": {"width": 1280, "height": 800}}
TABLET = {"viewport": {"width": 820, "height": 1180}, "has_touch": True}
SIZES = {"phone": PHONE, "laptop": LAPTOP, "tablet": TABLET}

WCAG = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
"""axe-core's names for the success criteria of WCAG 2.0 to 2.2, levels A and AA."""

AXE = Path(axe_package.__file__).with_name("axe.min.js")
OURS = {"file", "blob", "data", "about"}


class NoBrowserError(Exception):
    """There is no browser. `is_excused`: nobody could be expected to have installed one here, or it was said so."""

    def __init__(self, why: str, *, is_excused: bool) -> None:
        super().__init__(why)
        self.is_excused = is_excused


def find_chromium() -> str:
    """The browser's path. Raises NoBrowserError, which tells whether the tests may be left out for that."""
    named = os.environ.get(BROWSER, "")
    if named == "none":
        raise NoBrowserError(f"{BROWSER}=none: the pages are not tried in a browser", is_excused=True)
    found = shutil.which(named or "chromium")
    if found is None and named:
        raise NoBrowserError(f"{BROWSER}={named} is not a program", is_excused=False)
    if found is None:
        raise NoBrowserError(
            "no chromium: the pages are not tried in a browser (apt-get install --no-install-recommends chromium, "
            f"or name one: {BROWSER}=/path, or leave these tests out: {BROWSER}=none)",
            is_excused=not _could_be_installed(),
        )
    return found


def _could_be_installed() -> bool:
    """As `.ci/ready` asks: where it may install, a missing browser is a fault and not an excuse."""
    if shutil.which("apt-get") is None:
        return False
    is_root = os.name == "posix" and os.geteuid() == 0
    return is_root or _has_sudo()


def _has_sudo() -> bool:
    return shutil.which("sudo") is not None and subprocess.run(["sudo", "-n", "true"], check=False).returncode == 0


def launching(program: str) -> dict[str, Any]:
    """What playwright is told to start it with."""
    return {"executable_path": program, "chromium_sandbox": False, "args": list(QUIET)}


@dataclass
class Watch:
    """All that a page did beside showing itself. A page that behaves does none of it."""

    requests: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)

    def take(self) -> list[str]:
        """What was done so far, which is then forgotten: for a test that expects it."""
        told = self.misdeeds
        for one in (self.requests, self.errors, self.dialogs):
            one.clear()
        return told

    def over(self, context: BrowserContext) -> None:
        """Watch every page of a context, those to come too."""
        context.on("request", self._asked)
        context.on("weberror", lambda error: self.errors.append(str(error.error)))
        context.on("console", self._told)
        context.on("dialog", self._opened)

    def _asked(self, request: Request) -> None:
        parts = urlsplit(request.url)
        if parts.scheme not in OURS and parts.hostname != "127.0.0.1":
            self.requests.append(request.url)

    def _told(self, message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            self.errors.append(message.text)

    def _opened(self, dialog: Dialog) -> None:
        self.dialogs.append(f"{dialog.type}: {dialog.message}")
        dialog.accept()

    @property
    def misdeeds(self) -> list[str]:
        """Everything, in words; empty when all is well."""
        return [
            *(f"asked for {url}" for url in self.requests),
            *(f"complained: {error}" for error in self.errors),
            *(f"opened a dialog: {dialog}" for dialog in self.dialogs),
        ]


OF_COLOURS = ("color-contrast", "link-in-text-block")
"""The rules whose answer hangs on colours."""


def axe_faults(page: Page, *, but: Iterable[str] = (), only: Iterable[str] = ()) -> list[str]:
    """What axe-core finds against WCAG 2.2 A and AA on the page as it stands, one readable line for each place.

    With `only` just these rules are asked.

    The window is made as high as the page meanwhile: a bar that stays at an edge covers other things in passing, and
    axe would count what can be scrolled free as too small to be pressed.
    """
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(f"() => {{ {AXE.read_text(encoding='utf-8')} }}")
    options = {
        "runOnly": {"type": "rule", "values": list(only)} if only else {"type": "tag", "values": list(WCAG)},
        "rules": {rule: {"enabled": False} for rule in but},
        "resultTypes": ["violations"],
    }
    with _whole_page_in_sight(page):
        found = page.evaluate("options => axe.run(document, options)", options)
    return [
        f"{fault['id']}: {fault['help']} at {' '.join(map(str, node['target']))} ({_first(node)})"
        for fault in found["violations"]
        for node in fault["nodes"]
    ]


WHOLE_HEIGHT = """() => {
    const hidden = [...document.querySelectorAll("*")].map((one) => {
        const isScroller = ["auto", "scroll"].includes(getComputedStyle(one).overflowY);
        return isScroller ? one.scrollHeight - one.clientHeight : 0;
    });
    return document.documentElement.scrollHeight + Math.max(0, ...hidden);
}"""
"""How high a window must be to show all of a page, with what scrolls inside it."""


@contextmanager
def _whole_page_in_sight(page: Page) -> Iterator[None]:
    size = page.viewport_size
    assert size is not None
    height = int(page.evaluate(WHOLE_HEIGHT))
    if height <= size["height"]:
        yield
        return
    page.set_viewport_size({"width": size["width"], "height": height})
    try:
        yield
    finally:
        page.set_viewport_size(size)


def _first(node: dict[str, Any]) -> str:
    causes: Sequence[dict[str, Any]] = [*node["any"], *node["all"], *node["none"]]
    return str(causes[0]["message"]) if causes else str(node["html"])[:120]

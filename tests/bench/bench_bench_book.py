"""What the bench book costs on a slow phone: its file, its first usable paint, and sealing 24 large photos.

A real browser at phone size, its processor slowed down four times. Usable means painted with the list of pairs and the
button to begin. The photos have 12 megapixels each, two for each of 12 pairs. Not a test: it prints figures beside what
is allowed and judges none.

    python -m tests.bench.bench_bench_book

What chromium does beside the page's own thread, such as decoding a picture, is not slowed down by its means.
"""

from __future__ import annotations

import gzip
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any

from playwright.sync_api import BrowserContext, Page, sync_playwright

from tests.browser.boxes import bench_book, pack, round_in
from tests.browser.driving import PHONE, find_chromium, launching
from tests.browser.hand import Hand
from tests.browser.packets import unpack
from tests.browser.pictures import telephone_picture

SLOWER = 4
N_LOADS = 9
PHOTO_PX = (4000, 3000)
PER_PAIR = 2
ALLOWED = {"file": "400 kB", "paint": "1 s", "sealing": "30 s"}

WHEN_USABLE = """
new MutationObserver((_, observer) => {
    if (!document.getElementById("next") || !document.querySelector("#pair-1")) return;
    observer.disconnect();
    requestAnimationFrame(() => requestAnimationFrame(() => { window.usableAt = performance.now(); }));
}).observe(document, { childList: true, subtree: true });
"""
"""Milliseconds from the start of the navigation to the frame after the one that shows the list and the button."""


def slow(page: Page) -> None:
    """Take three quarters of the processor away from this page."""
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})


def paint_ms(context: BrowserContext, book: Path) -> tuple[float, float]:
    """(usable, first contentful paint) of one load in a page of its own."""
    page = context.new_page()
    page.add_init_script(WHEN_USABLE)
    slow(page)
    page.goto(book.as_uri())
    page.wait_for_function("() => window.usableAt && performance.getEntriesByName('first-contentful-paint').length")
    found = page.evaluate("() => [usableAt, performance.getEntriesByName('first-contentful-paint')[0].startTime]")
    page.close()
    return float(found[0]), float(found[1])


def tell_paint(browser: Any, book: Path) -> None:
    context = browser.new_context(**PHONE, offline=True)
    paint_ms(context, book)  # the first page of a browser pays for the browser
    usable, first = (sorted(times) for times in zip(*(paint_ms(context, book) for _ in range(N_LOADS)), strict=True))
    print(
        f"usable after {median(usable) / 1000:.2f} s (median of {N_LOADS}, worst {usable[-1] / 1000:.2f}), "
        f"first paint after {median(first) / 1000:.2f} s; allowed {ALLOWED['paint']}"
    )
    context.close()


def tell_sealing(browser: Any, book: Path, numbers: list[int], folder: Path) -> None:
    context = browser.new_context(**PHONE, offline=True)
    context.set_default_timeout(180_000)
    hand = Hand(context.new_page())
    hand.open(book)
    pictures = [telephone_picture(folder / f"{at}.jpg", at, size=PHOTO_PX) for at in range(PER_PAIR * len(numbers))]
    slow(hand.page)
    adding = []
    for at, number in enumerate(numbers):
        hand.to_list()
        hand.to_pair(number)
        hand.press(hand.page.locator("#rest-not-tested"))
        hand.press(hand.page.locator("[data-answer=yes]"))
        hand.to_step("Photos")
        started = time.perf_counter()
        hand.photos(pictures[PER_PAIR * at : PER_PAIR * (at + 1)], [""] * PER_PAIR)
        adding.append((time.perf_counter() - started) / PER_PAIR)
    hand.to_list()
    hand.press(hand.page.get_by_role("link", name="Look over and seal").first)
    hand.press(hand.next)
    started = time.perf_counter()
    with hand.page.expect_download() as download:
        hand.press(hand.button("Yes, seal it"))
    hand.page.locator("#seal-code").wait_for()
    seconds = time.perf_counter() - started
    packet = folder / "packet.zip"
    download.value.save_as(packet)
    bag = unpack(packet, folder / "bag")
    n_bytes = sum(picture.stat().st_size for picture in pictures)
    print(f"{len(pictures)} photos of 12 megapixels, {n_bytes / 1e6:.0f} MB: each taken up in {median(adding):.1f} s")
    print(
        f"sealed in {seconds:.1f} s; allowed {ALLOWED['sealing']}; the packet has {packet.stat().st_size / 1e6:.1f} MB "
        f"and {len(bag.photos)} photos, and is sound"
    )
    print(f"taking up all photos and sealing: {PER_PAIR * sum(adding) + seconds:.1f} s")
    context.close()


def main() -> None:
    with tempfile.TemporaryDirectory() as made, sync_playwright() as driver:
        folder = Path(made)
        pack(folder)
        book = bench_book(folder)
        content = book.read_bytes()
        packed = len(gzip.compress(content))
        print(f"bench book of 12 pairs: {len(content) / 1000:.0f} kB, allowed {ALLOWED['file']}")
        print(f"the same zipped: {packed / 1000:.0f} kB")
        browser = driver.chromium.launch(**launching(find_chromium()))
        tell_paint(browser, book)
        tell_sealing(browser, book, list(round_in(folder)[0].numbers), folder)
        browser.close()


if __name__ == "__main__":
    main()

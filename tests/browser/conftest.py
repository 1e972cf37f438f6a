"""A real browser, started once for each worker; a context for each test, cut off from the network and watched."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect, sync_playwright

from tests.browser.boxes import bench_book, pack, pack_small, round_in
from tests.browser.driving import SIZES, NoBrowserError, Watch, find_chromium, launching
from tests.browser.story import short_story_of
from tests.browser.typed import PairStory

HERE = Path(__file__).parent
PATIENCE_MS = 90_000
"""Long, for a machine with much else to do; nothing waits that long where all is well."""


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Whatever drives a browser is slow. Without one, a single test is left to say so, once."""
    ours = [item for item in items if item.path.is_relative_to(HERE)]
    for item in ours:
        item.add_marker(pytest.mark.slow)
    if _is_excused():
        idle = [item for item in ours if "chromium" in item.fixturenames and item.name != "test_there_is_a_browser"]
        items[:] = [item for item in items if item not in idle]
        config.hook.pytest_deselected(items=idle)


def _is_excused() -> bool:
    try:
        find_chromium()
    except NoBrowserError as error:
        return error.is_excused
    return False


@pytest.fixture(scope="session")
def chromium() -> str:
    """The browser's path; without one the tests are left out, or fail where it could have been installed."""
    try:
        return find_chromium()
    except NoBrowserError as error:
        if error.is_excused:
            pytest.skip(str(error))
        pytest.fail(str(error), pytrace=False)


@pytest.fixture(scope="session")
def driver() -> Iterator[Any]:
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def browser(driver, chromium: str) -> Iterator[Any]:
    browser = driver.chromium.launch(**launching(chromium))
    yield browser
    browser.close()


@pytest.fixture
def watch() -> Iterator[Watch]:
    """Fails the test when a page asked the network, complained or opened a dialog that the test did not take out."""
    watch = Watch()
    yield watch
    assert watch.misdeeds == []


@pytest.fixture
def new_context(browser, watch: Watch) -> Iterator[Callable[..., Any]]:
    """Makes a context of a size by name (phone, laptop, tablet), offline unless said otherwise."""
    made = []

    def make(size: str, *, is_dark: bool = False, **options: Any):
        scheme = "dark" if is_dark else "light"
        context = browser.new_context(**{"offline": True, "color_scheme": scheme, **SIZES[size], **options})
        context.set_default_timeout(PATIENCE_MS)
        watch.over(context)
        made.append(context)
        return context

    yield make
    for context in made:
        context.close()


@pytest.fixture
def phone(new_context):
    """390 x 844, touched, offline."""
    return new_context("phone")


@pytest.fixture
def laptop(new_context):
    """1280 x 800, offline."""
    return new_context("laptop")


@pytest.fixture(scope="session")
def packed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with a round of twelve, and its bench book, made by the commands."""
    folder = tmp_path_factory.mktemp("box")
    pack(folder)
    bench_book(folder)
    return folder


@pytest.fixture
def box(packed: Path, tmp_path: Path) -> Path:
    """The round of twelve, for one test alone."""
    return shutil.copytree(packed, tmp_path / "box")


@pytest.fixture(scope="session")
def packed_small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("small-box")
    pack_small(folder)
    bench_book(folder)
    return folder


@pytest.fixture
def small_box(packed_small: Path, tmp_path: Path) -> Path:
    """A round of two pairs, convex and bevel, with few criteria, for one test alone."""
    return shutil.copytree(packed_small, tmp_path / "small-box")


@pytest.fixture
def stories(small_box: Path) -> list[PairStory]:
    """What is to be typed in the round of two, everywhere and without photos."""
    return short_story_of(*round_in(small_box))

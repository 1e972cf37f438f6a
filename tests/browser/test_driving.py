"""The means by which the pages are tried see what they are meant to see."""

from __future__ import annotations

import subprocess

import pytest

from tests.browser import driving
from tests.browser.driving import NoBrowserError, Watch, axe_faults, find_chromium

POOR = """<!doctype html><title>Poor</title><style>body { background: #fff; color: #ccc }
a { display: inline-block; width: 12px; height: 12px; overflow: hidden }</style>
<p>Words that hardly anyone can read.</p><img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">
<a href="#a">a</a><a href="#b">b</a><input>"""

GOOD = """<!doctype html><html lang="en"><title>Good</title><h1>Words</h1><label>Name <input></label>"""


def test_there_is_a_browser(chromium: str):
    """Where there is none, this one alone is left of all that need it, and says why."""
    told = subprocess.run([chromium, "--version"], capture_output=True, text=True, check=True)
    assert told.stdout.strip()


def test_axe_finds_what_is_wrong_and_nothing_where_all_is_well(phone):
    page = phone.new_page()
    page.set_content(POOR)
    found = {fault.partition(":")[0] for fault in axe_faults(page)}
    assert {"color-contrast", "image-alt", "html-has-lang", "label", "target-size"} <= found
    page.set_content(GOOD)
    assert axe_faults(page) == []


def test_a_page_that_misbehaves_is_told_on(laptop, watch: Watch):
    page = laptop.new_page()
    page.set_content(
        "<script>console.error('oh'); alert(1); fetch('http://else.invalid/x').catch(() => 0); nothing.there</script>"
    )
    page.wait_for_timeout(50)
    told = watch.take()
    assert any("http://else.invalid/x" in one for one in told)
    assert any("alert: 1" in one for one in told)
    assert any("oh" in one for one in told)
    assert any("nothing is not defined" in one for one in told)


def test_without_a_browser_one_line_says_why(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv(driving.BROWSER, "none")
    with pytest.raises(NoBrowserError, match="not tried in a browser") as told:
        find_chromium()
    assert told.value.is_excused


@pytest.mark.parametrize("can_install", [True, False])
def test_only_where_it_could_not_be_installed_is_a_missing_browser_an_excuse(
    monkeypatch: pytest.MonkeyPatch, can_install: bool
):
    monkeypatch.delenv(driving.BROWSER, raising=False)
    monkeypatch.setattr(driving.shutil, "which", lambda name: "apt-get" if can_install and name == "apt-get" else None)
    monkeypatch.setattr(driving.os, "geteuid", lambda: 0)
    with pytest.raises(NoBrowserError, match="apt-get install") as told:
        find_chromium()
    assert told.value.is_excused is not can_install

"""Something shows on a terminal after a while, and nothing where nobody watches."""

from __future__ import annotations

import io
import sys
from time import monotonic, sleep

import pytest

from evalkit.cli import waiting as module
from evalkit.cli.waiting import patience, waiting


class Screen(io.StringIO):
    """A stderr that says whether somebody watches."""

    def __init__(self, *, is_watched: bool) -> None:
        super().__init__()
        self._is_watched = is_watched

    def isatty(self) -> bool:
        return self._is_watched


def screen(monkeypatch: pytest.MonkeyPatch, *, is_watched: bool = True, patience_s: float = 0.01) -> Screen:
    made = Screen(is_watched=is_watched)
    monkeypatch.setattr(sys, "stderr", made)
    monkeypatch.setattr(module, "PATIENCE_S", patience_s)
    return made


def until(shown: Screen, words: str) -> None:
    end = monotonic() + 5
    while words not in shown.getvalue() and monotonic() < end:
        sleep(0.005)


def test_a_long_step_is_told_and_wiped_away(monkeypatch: pytest.MonkeyPatch):
    shown = screen(monkeypatch)
    with patience("Writing"):
        until(shown, "Writing ...")
        assert shown.getvalue() == "Writing ..."
    assert shown.getvalue() == "Writing ...\r           \r"


def test_a_short_step_says_nothing(monkeypatch: pytest.MonkeyPatch):
    shown = screen(monkeypatch, patience_s=60)
    with patience("Writing"), waiting("Reckoning") as on_step:
        on_step(1, 2)
    assert shown.getvalue() == ""


def test_where_nobody_watches_nothing_is_said(monkeypatch: pytest.MonkeyPatch):
    shown = screen(monkeypatch, is_watched=False)
    with patience("Writing"), waiting("Reckoning") as on_step:
        sleep(0.05)
        on_step(1, 2)
    assert shown.getvalue() == ""


def test_a_bar_takes_the_place_of_the_first_sign(monkeypatch: pytest.MonkeyPatch):
    shown = screen(monkeypatch)
    with waiting("Reckoning") as on_step:
        until(shown, "Reckoning ...")
        on_step(1, 2)
        assert shown.getvalue().startswith("Reckoning ...\r             \r")


def test_an_error_wipes_the_sign_too(monkeypatch: pytest.MonkeyPatch):
    shown = screen(monkeypatch)

    def fail() -> None:
        with patience("Writing"):
            until(shown, "Writing ...")
            raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        fail()
    assert shown.getvalue().endswith("\r")

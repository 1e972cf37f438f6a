"""A sign of life on stderr for anything that takes over a second; silent for the rest and where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Thread
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress

PATIENCE_S = 1.0


class _Sign:
    """'Reckoning ...' on a terminal after a second, wiped away when the step is done."""

    def __init__(self, what: str) -> None:
        self._words = f"{what} ..."
        self._done = Event()
        self._thread = Thread(target=self._wait, daemon=True) if sys.stderr.isatty() else None
        if self._thread is not None:
            self._thread.start()

    def _wait(self) -> None:
        if not self._done.wait(PATIENCE_S):
            print(self._words, end="", file=sys.stderr, flush=True)
            self._done.wait()
            print("\r" + " " * len(self._words) + "\r", end="", file=sys.stderr, flush=True)

    def stop(self) -> None:
        self._done.set()
        if self._thread is not None:
            self._thread.join()


@contextmanager
def patience(what: str) -> Iterator[None]:
    """For one long step that tells nothing of its own: the loading of libraries, the setting of a PDF."""
    sign = _Sign(what)
    try:
        yield
    finally:
        sign.stop()


@contextmanager
def waiting(what: str) -> Iterator[Callable[[int, int], None]]:
    """A function to call with (done, of all) after each step."""
    started = monotonic()
    bar: Progress | None = None
    sign = _Sign(what)

    def on_step(done: int, total: int) -> None:
        nonlocal bar
        if not sys.stderr.isatty() or (bar is None and monotonic() - started < PATIENCE_S):
            return
        if bar is None:
            sign.stop()
            bar = _bar()
            bar.add_task(what, total=total)
            bar.start()
        bar.update(bar.task_ids[0], completed=done, total=total)

    try:
        yield on_step
    finally:
        sign.stop()
        if bar is not None:
            bar.stop()


def _bar() -> Progress:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.completed:.0f} of {task.total:.0f}"))
    return Progress(*columns, TimeRemainingColumn(), console=Console(stderr=True), transient=True)

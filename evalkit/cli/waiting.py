"""A progress bar on stderr for anything that takes over a second; silent for the rest and where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress

PATIENCE_S = 1.0


@contextmanager
def waiting(what: str) -> Iterator[Callable[[int, int], None]]:
    """A function to call with (done, of all) after each step."""
    started = monotonic()
    bar: Progress | None = None

    def on_step(done: int, total: int) -> None:
        nonlocal bar
        if not sys.stderr.isatty() or (bar is None and monotonic() - started < PATIENCE_S):
            return
        if bar is None:
            bar = _bar()
            bar.add_task(what, total=total)
            bar.start()
        bar.update(bar.task_ids[0], completed=done, total=total)

    try:
        yield on_step
    finally:
        if bar is not None:
            bar.stop()


def _bar() -> Progress:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.completed:.0f} of {task.total:.0f}"))
    return Progress(*columns, TimeRemainingColumn(), console=Console(stderr=True), transient=True)

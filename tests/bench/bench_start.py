"""What it costs to start: `evalkit --help` beside a bare `python -c "import typer, rich"`, same interpreter.

The runs are interleaved, so that a busy machine slows both alike, and medians are taken. Not a test: it prints figures
and judges none.

    python -m tests.bench.bench_start
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from statistics import median

REPEATS = 21
ALLOWED = 1.5
"""`evalkit --help` may take this many times what Python, typer and rich take alone."""

BARE = (sys.executable, "-c", "import typer, rich")
HELP = (sys.executable, "-m", "evalkit", "--help")


def seconds(command: tuple[str, ...]) -> tuple[float, float]:
    """Wall time and processor time of one process, from start to end."""
    before = os.times()
    started = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
    wall_s = time.perf_counter() - started
    after = os.times()
    spent_s = after.children_user - before.children_user + after.children_system - before.children_system
    return wall_s, spent_s


def main() -> None:
    """Print both times and their ratio."""
    for command in (BARE, HELP):  # once without counting: the compiled files are written then
        seconds(command)
    bare, with_help = [], []
    for _ in range(REPEATS):
        bare.append(seconds(BARE))
        with_help.append(seconds(HELP))
    for at, name in enumerate(("wall time", "processor time")):
        bare_s, help_s = median(run[at] for run in bare), median(run[at] for run in with_help)
        print(
            f"{name}: evalkit --help {help_s * 1000:.0f} ms, typer and rich alone {bare_s * 1000:.0f} ms, "
            f"ratio {help_s / bare_s:.2f} (at most {ALLOWED})"
        )


if __name__ == "__main__":
    main()

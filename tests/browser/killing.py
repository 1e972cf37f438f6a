"""An empty battery: a browser dies at once, with all that belongs to it, and nobody is asked."""

from __future__ import annotations

import contextlib
import os
import signal
import time
from collections.abc import Iterable
from pathlib import Path

PROC = Path("/proc")
PATIENCE_S = 60


def kill_browser_on(device: Path) -> None:
    """Kill the browser that lives on this folder and every process under it. It is over when not one of them lives.

    Who they are is looked up before the first is killed: when the browser goes, its helpers may go by themselves.
    """
    browsers = [pid for pid in _all_pids() if _is_browser_on(device, pid)]
    assert browsers, f"no browser lives on {device}"
    doomed = _with_descendants(browsers)
    for pid in doomed:
        _kill(pid)
    _wait_for_the_end_of(doomed)


def _all_pids() -> list[int]:
    return sorted(int(folder.name) for folder in PROC.glob("[0-9]*"))


def _is_browser_on(device: Path, pid: int) -> bool:
    """The browser itself: its helpers say of which `--type` they are."""
    words = _read(pid, "cmdline").split(b"\0")
    is_its = any(word.startswith(b"--user-data-dir=") and word.endswith(os.fsencode(device)) for word in words)
    return is_its and not any(word.startswith(b"--type=") for word in words)


def _with_descendants(pids: Iterable[int]) -> list[int]:
    parents = {pid: _parent_of(pid) for pid in _all_pids()}
    found = list(pids)
    for pid in found:  # grows while it is walked
        found += [child for child, parent in parents.items() if parent == pid and child not in found]
    return found


def _parent_of(pid: int) -> int:
    state = _state_of(pid)
    return int(state[1]) if state else 0


def _state_of(pid: int) -> list[bytes]:
    """State, parent and more of a process, what stands after its name in `stat`; nothing of one that is gone."""
    return _read(pid, "stat").rpartition(b")")[2].split()


def _read(pid: int, name: str) -> bytes:
    try:
        return (PROC / str(pid) / name).read_bytes()
    except OSError:
        return b""


def _kill(pid: int) -> None:
    with contextlib.suppress(ProcessLookupError):  # it may have gone with the one before
        os.kill(pid, signal.SIGKILL)


def _wait_for_the_end_of(pids: Iterable[int]) -> None:
    """Dead and not yet buried (Z) is dead."""
    until = time.monotonic() + PATIENCE_S
    living = list(pids)
    while living := [pid for pid in living if _state_of(pid)[:1] not in ([], [b"Z"], [b"X"])]:
        assert time.monotonic() < until, f"still alive: {living}"
        time.sleep(0.02)

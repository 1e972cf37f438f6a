"""A command of evalkit in a process of its own that has loaded everything already; to be waited for, or killed."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from evalkit.book import connect
from evalkit.cli.app import run
from tests.bench.desk_making import answering
from tests.bench.writing_cases import Case, Words
from tests.cli.desk import TODAY

CRASHED = 70
"""The code of a command that raised what is no error of evalkit."""


@dataclass(frozen=True)
class Told:
    """How a command ended and what it said; `code` is None where it was killed before it ended."""

    code: int | None
    out: str
    err: str
    took_s: float


class Child:
    """One command, running since this was made."""

    def __init__(
        self, folder: Path, words: Words, typed: Words = (), *, temporary: Path | None = None, busy_ms: int = 0
    ) -> None:
        self._out, self._err = _file(), _file()
        self._says, writing = os.pipe()
        self._pid = os.fork()
        if self._pid == 0:
            os.close(self._says)
            if busy_ms:
                connect.BUSY_MS = busy_ms
            if temporary is not None:
                tempfile.tempdir = str(temporary)
            _be_child(folder, words, typed, (self._out, self._err), writing)
        os.close(writing)
        os.read(self._says, 1)
        self._started = time.perf_counter()

    @classmethod
    def of(cls, folder: Path, case: Case, *, temporary: Path | None = None, busy_ms: int = 0) -> Child:
        """The command of a case, in a copy of its desk."""
        return cls(folder, case.all_words, case.typed, temporary=temporary, busy_ms=busy_ms)

    def kill_after(self, seconds: float) -> Told:
        """SIGKILL at that moment, also where it has ended by then."""
        time.sleep(max(0.0, seconds - (time.perf_counter() - self._started)))
        os.kill(self._pid, signal.SIGKILL)
        return self.wait()

    def wait(self) -> Told:
        """How it ended."""
        said = os.read(self._says, 1)
        took_s = time.perf_counter() - self._started
        with contextlib.suppress(ProcessLookupError):
            os.kill(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)
        os.close(self._says)
        return Told(said[0] if said else None, _read(self._out), _read(self._err), took_s)


def _be_child(folder: Path, words: Words, typed: Words, files: tuple[IO[bytes], IO[bytes]], writing: int) -> None:
    """Never returns: what ran before the fork goes on in the parent alone."""
    code = CRASHED
    os.chdir(folder)
    for number, file in enumerate(files, 1):
        os.dup2(file.fileno(), number)
    sys.stdout = os.fdopen(os.dup(1), "w", buffering=1, encoding="utf-8")
    sys.stderr = os.fdopen(os.dup(2), "w", buffering=1, encoding="utf-8")
    os.write(writing, b"b")
    try:
        with answering(typed):
            code = run(["--today", TODAY, *words])
    except BaseException:  # noqa: BLE001 - what it was is what the parent reads
        traceback.print_exc()
    finally:
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
        os.write(writing, bytes([code]))
        time.sleep(60)  # to be killed, as the others are
        os._exit(code)


def _file() -> IO[bytes]:
    return tempfile.TemporaryFile()


def _read(file: IO[bytes]) -> str:
    with file:
        file.seek(0)
        return file.read().decode()

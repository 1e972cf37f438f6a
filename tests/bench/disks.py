"""A small disk of its own to be filled to the brim or made read-only; it lies in memory. Mounting takes root."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import Self

SIZE_MB = 48
PAGE = 4096
FILLER = "filler"


class SmallDisk:
    """A disk of `SIZE_MB`, mounted while the block runs. `desk` is the folder to work in, `temporary` for the rest."""

    def __init__(self, place: Path) -> None:
        self.place = place
        self.desk = place / "desk"
        self.temporary = place / "tmp"
        self._filler = place / FILLER

    def __enter__(self) -> Self:
        if os.geteuid() != 0:
            raise SystemExit("only root may mount a disk")
        self.place.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={SIZE_MB}m", "tmpfs", self.place], check=True)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        os.chdir("/")
        subprocess.run(["umount", "-l", self.place], check=True)
        self.place.rmdir()

    def lay(self, prepared: Path) -> None:
        """The disk with nothing on it but a copy of this folder."""
        os.chdir("/")
        self.make_room()
        for folder in (self.desk, self.temporary):
            shutil.rmtree(folder, ignore_errors=True)
        self.temporary.mkdir()
        shutil.copytree(prepared, self.desk)

    def fill(self, *, n_left: int) -> None:
        """Write until the disk refuses, then give so many bytes back."""
        with self._filler.open("wb", buffering=0) as file, suppress(OSError):
            while True:
                file.write(b"x" * (1 << 20))
        with self._filler.open("ab", buffering=0) as file, suppress(OSError):
            while True:
                file.write(b"x" * PAGE)
        os.truncate(self._filler, self._filler.stat().st_size - n_left)

    def make_room(self) -> None:
        self._filler.unlink(missing_ok=True)

    @contextmanager
    def read_only(self) -> Iterator[None]:
        """Nobody may write, root neither, while the block runs."""
        self._remount("ro")
        try:
            yield
        finally:
            self._remount("rw")

    def _remount(self, how: str) -> None:
        os.chdir("/")
        subprocess.run(["mount", "-o", f"remount,{how}", self.place], check=True)

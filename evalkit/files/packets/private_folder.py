"""A folder to unpack in, gone afterwards; what a killed program left of one is gone when the next packet is opened."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

PREFIX = "evalkit-packet-"
IN_USE = "in-use"
"""A file that is locked as long as the program lives which made the folder; the system lifts the lock when it dies."""


@contextmanager
def private_folder() -> Iterator[Path]:
    """A new folder that only this user may read."""
    _remove_abandoned(Path(tempfile.gettempdir()))
    with tempfile.TemporaryDirectory(prefix=f"{PREFIX}{os.getpid()}-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        with (folder / IN_USE).open("wb") as file:
            _is_locked_now(file)
            yield folder


def _remove_abandoned(place: Path) -> None:
    for folder in place.glob(f"{PREFIX}*"):
        if _is_abandoned(folder):
            shutil.rmtree(folder, ignore_errors=True)


def _is_abandoned(folder: Path) -> bool:
    """One that is locked is in use; one without the file is being made or removed, unless its program is gone."""
    try:
        with (folder / IN_USE).open("r+b") as file:
            return _is_locked_now(file)
    except FileNotFoundError:
        return _is_maker_gone(folder)
    except OSError:
        return False


def _is_maker_gone(folder: Path) -> bool:
    """Whether the program whose number the folder bears has ended; False where that cannot be asked safely."""
    number = folder.name.removeprefix(PREFIX).partition("-")[0]
    if sys.platform == "win32" or not (number.isascii() and number.isdecimal()):
        return False
    try:
        os.kill(int(number), 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        pass  # somebody else's program, or no number of one
    return False


def _is_locked_now(file: BinaryIO) -> bool:
    """Lock the file for as long as it is open; False when another program holds the lock."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True

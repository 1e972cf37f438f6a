"""Files that are whole or absent, and on disk before anybody says that they are kept."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_whole(path: Path, data: bytes, *, mode: int = 0o600) -> None:
    """`data` at `path`, in the place of what was there: written beside it, synced, renamed. Raises OSError."""
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(beside).chmod(mode)
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def take_name(written: Path, path: Path) -> None:
    """Give a written file its name, but never another's: a second name fails where one is taken, a rename would not.

    The old name may still be there afterwards. Raises FileExistsError.
    """
    try:
        os.link(written, path)
    except FileExistsError:
        raise
    except OSError:  # a stick with a file system that knows no second names
        if path.exists():
            raise FileExistsError from None
        written.rename(path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """So that a new name outlives a power cut. Windows keeps no handle on a folder, and needs none."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_all() -> None:
    """Everything written so far is on disk; one call for many files. Elsewhere than on POSIX the system sees to it."""
    if os.name == "posix":
        os.sync()

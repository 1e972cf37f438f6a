"""Files that are whole or absent, and on disk before anybody says that they are kept."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO


def write_whole(path: Path, data: bytes, *, mode: int = 0o600) -> None:
    """`data` at `path`, in the place of what was there: written beside it, synced, renamed. Raises OSError."""
    with naming(path):
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


@contextmanager
def naming(path: Path) -> Iterator[None]:
    """A refusal of the system tells of `path`: a full disk names no file, and others one hidden beside it."""
    try:
        yield
    except OSError as error:
        is_hidden = Path(str(error.filename)).name.startswith(".")
        if error.errno is not None and (error.filename is None or is_hidden):
            error.filename = str(path)
        raise


def write_new(path: Path, data: bytes) -> None:
    """`data` in the new file `path`, whole or absent. Raises FileExistsError where there is one, OSError."""
    with new_file(path) as file:
        file.write(data)


@contextmanager
def new_file(path: Path, *, mode: int | None = None) -> Iterator[BinaryIO]:
    """A file to write in that becomes the new file `path` when the block ends well, and is gone otherwise.

    Its mode is the usual one of a new file unless it is given. Raises FileExistsError where there is one, before
    anything is written and at the end; OSError.
    """
    with naming(path):
        if path.exists() or path.is_symlink():
            raise FileExistsError
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
        try:
            with os.fdopen(handle, "w+b") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            Path(beside).chmod(0o666 & ~umask() if mode is None else mode)
            take_name(Path(beside), path)
        finally:
            Path(beside).unlink(missing_ok=True)


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


def umask() -> int:
    """The rights that new files and folders do without."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


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

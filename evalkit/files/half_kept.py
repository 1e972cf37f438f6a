"""Pictures are written before the act that names them is done; what an act left that died meanwhile is found by a list.

The list of the new pictures lies on disk before the first of them does, and goes when the act is done. All of this
happens while nobody else may write in the book, so a list that is found there belongs to an act that is over: what the
book knows of it was kept, and the rest is no picture of the book.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Collection, Iterable
from contextlib import suppress
from pathlib import Path

from evalkit.disk import naming, sync_folder
from evalkit.files.photos import NAME, PhotoStore

PREFIX = ".being-kept-"


def list_ahead(store: PhotoStore, names: Iterable[str]) -> Path:
    """Write down, on disk, which pictures are about to be kept."""
    with naming(store.folder):
        store.folder.mkdir(parents=True, exist_ok=True)
        handle, path = tempfile.mkstemp(dir=store.folder, prefix=PREFIX)
        try:
            with os.fdopen(handle, "w", encoding="ascii") as file:
                file.writelines(f"{name}\n" for name in names)
                file.flush()
                os.fsync(file.fileno())
            sync_folder(store.folder)
        except BaseException:
            Path(path).unlink(missing_ok=True)
            raise
    return Path(path)


def has_half_kept(store: PhotoStore) -> bool:
    """Whether a list is there; true as well while another program keeps pictures."""
    return next(store.folder.glob(f"{PREFIX}*"), None) is not None


def remove_half_kept(store: PhotoStore, known: Callable[[], Collection[str]]) -> int:
    """Remove the listed pictures that are not among the `known` ones; how many there were.

    To be called only while nobody else may write in the book.
    """
    n_removed = 0
    for path in store.folder.glob(f"{PREFIX}*"):
        with suppress(FileNotFoundError):  # whoever wrote it is done with it and takes it away
            # A list that was cut short is older than its first picture, so a piece of a name tells of none.
            names = [line for line in path.read_text(encoding="ascii").splitlines() if NAME.fullmatch(line)]
            kept = frozenset(known()) if names else frozenset()
            n_removed += sum(_remove(store, name, is_known=name in kept) for name in names)
            path.unlink()
    return n_removed


def _remove(store: PhotoStore, name: str, *, is_known: bool) -> bool:
    """Remove what is half written of a picture; the picture too unless it is known, and the folder it leaves empty."""
    path = store.path_of(name)
    for part in path.parent.glob(".*.part"):
        part.unlink()
    is_there = path.exists()
    if not is_known:
        store.drop(name)
        with suppress(OSError):  # other pictures lie in it, or it was never made
            path.parent.rmdir()
    return is_there and not is_known

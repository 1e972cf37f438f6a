"""A book that cannot be written where it lies (a read-only disk, a full one) can be read all the same: from memory.

SQLite wants to write even to read, because readers tell each other by a file beside the book. So what stands in the
book is taken into memory once, with what its log holds, and whoever would write is refused.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from evalkit.book.connect import WORDS, engine_for
from evalkit.errors import BookError

REASONS = {
    "SQLITE_CANTOPEN": "SQLITE_READONLY",
    "SQLITE_READONLY": "SQLITE_READONLY",
    "SQLITE_FULL": "SQLITE_FULL",
    "SQLITE_IOERR_SHMSIZE": "SQLITE_FULL",
}
"""What SQLite says where it may not write beside a book, and what a writer is told."""


def find_refusal(error: BookError) -> BookError | None:
    """What whoever would write is to be told where only writing failed; None for every other fault."""
    cause = error.__cause__
    raw = cause.orig if isinstance(cause, DBAPIError) else cause
    name = getattr(raw, "sqlite_errorname", "")
    for prefix, reason in REASONS.items():
        if name.startswith(prefix):
            what, mend = WORDS[reason]
            return BookError(what, mend=mend, where=error.where)
    return None


def engine_in_memory(path: Path, refusal: BookError) -> Engine:
    """An engine on what stands in the book at `path` now. Raises OSError or sqlite3.Error where it cannot be read."""
    held = sqlite3.connect(":memory:", check_same_thread=False)
    log = path.with_name(f"{path.name}-wal")
    if log.exists() and log.stat().st_size:
        _take_with_log(path, log, held)
    else:
        _take(f"{path.absolute().as_uri()}?mode=ro&immutable=1", held)

    def copied() -> sqlite3.Connection:
        # One for each, as with a file: a transaction in one is none in the other.
        copy = sqlite3.connect(":memory:", check_same_thread=False)
        held.backup(copy)
        return copy

    return engine_for(path, held=copied, refusal=refusal)


def _take_with_log(path: Path, log: Path, into: sqlite3.Connection) -> None:
    """SQLite reads a log only where it may write beside it."""
    with tempfile.TemporaryDirectory(prefix="evalkit-reading-") as name:
        for file in (path, log):
            shutil.copyfile(file, Path(name) / file.name)
        _take((Path(name) / path.name).as_uri(), into)


def _take(uri: str, into: sqlite3.Connection) -> None:
    with closing(sqlite3.connect(uri, uri=True)) as source:
        source.backup(into)

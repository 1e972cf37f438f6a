"""The file of the book: opened safely, and every fault of the database told in plain words."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import ConnectionPoolEntry

from evalkit.errors import BookError

FILE = "book.sqlite"
PHOTOS = "photos"
BUSY_MS = 5_000
"""How long a writer waits for another before it gives up."""

IDENTITY = "identity of the file"

WORDS = {
    "SQLITE_BUSY": ("another program is writing in the book.", "Try again when it is done."),
    "SQLITE_LOCKED": ("another program is writing in the book.", "Try again when it is done."),
    "SQLITE_READONLY": (
        "the book may not be written; nothing was changed.",
        "Make the folder and its files writable, or copy the folder.",
    ),
    "SQLITE_FULL": ("the disk is full; nothing was changed.", "Make room and try again."),
    "SQLITE_CANTOPEN": ("the book cannot be opened.", "See that the folder and its files may be read and written."),
    "SQLITE_PERM": ("the book cannot be opened.", "See that the folder and its files may be read and written."),
    "SQLITE_NOTADB": ("this is not a book.", "Name the folder of a book, or put back your last good copy."),
    "SQLITE_CORRUPT": ("the book is damaged.", "Put back your last good copy of the folder."),
    "SQLITE_IOERR_SHMSIZE": ("the disk is full; nothing was changed.", "Make room and try again."),
    "SQLITE_IOERR": ("the disk does not answer; nothing was changed.", "Look at the disk, then try again."),
}


def engine_for(
    path: Path,
    *,
    with_foreign_keys: bool = True,
    held: Callable[[], sqlite3.Connection] | None = None,
    refusal: BookError | None = None,
) -> Engine:
    """An engine on the file at `path`; nothing is opened before the first connection.

    Foreign keys are off only while tables are being changed: SQLite rebuilds a table by dropping it. With a `refusal`
    the book is only read, from what `held` gives: whoever would write in it is told that.
    """
    url = URL.create("sqlite", database=str(path))
    engine = create_engine(url) if held is None else create_engine(url, creator=held)

    @event.listens_for(engine, "connect")
    def set_up(connection: DBAPIConnection, record: ConnectionPoolEntry) -> None:
        record.info[IDENTITY] = _identity(path)
        # The driver would begin transactions by itself, and none at all around a change of tables.
        connection.isolation_level = None
        cursor = connection.cursor()
        for pragma in (
            f"busy_timeout={BUSY_MS}",
            f"foreign_keys={'ON' if with_foreign_keys else 'OFF'}",
            "synchronous=FULL",
            "secure_delete=ON",
        ):
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A writer takes the lock at once: what it read before it writes is then still true when it writes.
        is_writing = connection.get_execution_options().get("is_writing", False)
        if is_writing and refusal is not None:
            raise refusal
        connection.exec_driver_sql("BEGIN IMMEDIATE" if is_writing else "BEGIN")
        if is_writing and connection.info[IDENTITY] != _identity(path):
            raise BookError(
                "another book was put in the place of this one; nothing was changed.",
                mend="Give the command again.",
                where=str(path),
            )

    return engine


def _identity(path: Path) -> tuple[int, int] | None:
    """Which file bears the name now: a book that was set aside is still open to whoever had it open."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A connection that sees one state of the book from first to last."""
    with plain_errors(engine), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A connection in one transaction: all of it is kept when the block ends well, none of it otherwise."""
    with (
        plain_errors(engine),
        engine.connect().execution_options(is_writing=True) as connection,
        connection.begin(),
    ):
        yield connection


@contextmanager
def plain_errors(engine: Engine) -> Iterator[None]:
    """Faults of the database as BookError: what, where, how to mend it."""
    where = engine.url.database
    try:
        yield
    except DBAPIError as error:
        raise _told(error.orig, where) from error
    except sqlite3.Error as error:
        raise _told(error, where) from error
    except SQLAlchemyError as error:
        raise BookError(f"the book cannot be read ({error}).", mend="Run 'evalkit book check'.", where=where) from error
    except ValueError as error:  # a row that no longer makes a value of the domain; input was checked before
        first = str(error).splitlines()[0]
        raise BookError(
            f"a row is not what was stored ({first}).",
            mend="Run 'evalkit book check', then put back your last good copy of the folder.",
            where=where,
        ) from error


def _told(error: BaseException | None, where: str | None) -> BookError:
    name = getattr(error, "sqlite_errorname", "")
    for prefix, (what, mend) in WORDS.items():
        if name.startswith(prefix):
            return BookError(what, mend=mend, where=where)
    if name.startswith("SQLITE_CONSTRAINT"):
        return BookError(
            f"the book would contradict itself ({error}); nothing was changed.",
            mend="Run 'evalkit book check'; if it finds nothing, report this as a fault of evalkit.",
            where=where,
        )
    return BookError(f"the book cannot be used ({error}).", mend="Run 'evalkit book check'.", where=where)

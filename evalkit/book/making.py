"""A book made, opened, and brought to the number that this program writes."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Engine, text
from sqlalchemy.exc import DBAPIError

from evalkit.book.connect import FILE, PHOTOS, engine_for, plain_errors, reading
from evalkit.book.reading_only import engine_in_memory, find_refusal
from evalkit.book.schema import VERSIONS
from evalkit.disk import sync_folder, umask
from evalkit.errors import AlreadyError, BookError

MIGRATIONS = Path(__file__).parent / "migrations"


def make_book(folder: Path) -> None:
    """An empty book in `folder`: whole, or not there at all. Raises AlreadyError when the folder holds anything."""
    with being_made(folder):
        pass


@contextmanager
def being_made(folder: Path) -> Iterator[Path]:
    """An empty book beside `folder`, to be filled in the block: it becomes `folder` when that ends well.

    Otherwise nothing is left. Raises AlreadyError when the folder holds anything, BookError when the disk refuses.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        noun = "a book" if (folder / FILE).exists() else "something"
        raise AlreadyError(f"there is {noun} already.", mend="Name a new or an empty folder.", where=str(folder))
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        half_made = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    except OSError as error:
        raise _cannot_make(folder, error) from error
    try:
        half_made.chmod(0o755 & ~umask())
        _fill(half_made)
        yield half_made
        _give_name(half_made, folder)
    except BookError as error:
        where = (error.where or "").replace(str(half_made), str(folder))
        raise BookError(error.what, mend=error.mend, where=where) from error
    except OSError as error:
        raise _cannot_make(folder, error) from error
    finally:
        shutil.rmtree(half_made, ignore_errors=True)


def _give_name(half_made: Path, folder: Path) -> None:
    if folder.exists():
        folder.rmdir()
    half_made.rename(folder)
    sync_folder(folder.parent)


def open_engine(folder: Path) -> Engine:
    """The engine of the book in `folder`, its number checked.

    An older book is brought up to date. Raises BookError when there is none, when what is there is not a book, or when
    it is newer than this program.
    """
    path = folder / FILE
    if not path.is_file():
        raise BookError("there is no book here.", mend=f"Make one: evalkit book new {folder}", where=str(folder))
    engine = engine_for(path)
    try:
        if _known_version(engine) != VERSIONS[-1]:
            migrate(path)
        _set_log(engine)
    except BookError as error:
        engine.dispose()
        refusal = find_refusal(error)
        if refusal is None:
            raise
        return _engine_to_read(path, error, refusal)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _set_log(engine: Engine) -> None:
    """Not through a transaction, where SQLite would refuse it. A copy of a book may have lost the setting."""
    with plain_errors(engine), engine.connect() as connection:
        connection.connection.cursor().execute("PRAGMA journal_mode=WAL")


def _engine_to_read(path: Path, error: BookError, refusal: BookError) -> Engine:
    """What stands in a book that cannot be written. Raises `error` where it cannot be read either."""
    try:
        engine = engine_in_memory(path, refusal)
        if _known_version(engine) == VERSIONS[-1]:
            return engine
    except (OSError, sqlite3.Error):
        raise error from error.__cause__
    engine.dispose()
    raise BookError(
        f"the book is of an older evalkit and has to be brought up to date: {refusal.what}",
        mend=refusal.mend,
        where=str(path),
    )


def _known_version(engine: Engine) -> str:
    version = read_version(engine)
    if version not in VERSIONS:
        raise BookError(
            f"the book has number {version}, this program knows {VERSIONS[-1]} at most.",
            mend="Open it with a newer evalkit.",
            where=engine.url.database,
        )
    return version


def read_version(engine: Engine) -> str:
    """The number of a book, by one plain read. Raises BookError when this is no book."""
    try:
        with plain_errors(engine), engine.connect() as connection:
            found = connection.execute(text("SELECT version_num FROM alembic_version")).scalars().all()
    except BookError as error:
        if not _lacks_table(error):
            raise
        found = []
    if len(found) != 1:
        raise BookError(
            "this is a database, but not a book.",
            mend="Name the folder of a book, or put back your last good copy.",
            where=engine.url.database,
        )
    return str(found[0])


def _lacks_table(error: BookError) -> bool:
    cause = error.__cause__
    return isinstance(cause, DBAPIError) and getattr(cause.orig, "sqlite_errorname", "") == "SQLITE_ERROR"


def migrate(path: Path, *, to: str = VERSIONS[-1], steps: Path = MIGRATIONS) -> None:
    """Bring the tables at `path` to number `to`, each step in one transaction with the record that it ran."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(steps).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    engine = engine_for(path, with_foreign_keys=False)
    try:
        with plain_errors(engine), engine.connect().execution_options(is_writing=True) as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, to)
        with reading(engine) as connection:
            if connection.execute(text("PRAGMA foreign_key_check")).first():
                raise BookError(
                    f"the step to number {to} left a row that points nowhere.",
                    mend="Put back your last good copy of the folder and report this as a fault of evalkit.",
                    where=str(path),
                )
    finally:
        engine.dispose()


def _fill(folder: Path) -> None:
    (folder / PHOTOS).mkdir()
    path = folder / FILE
    engine = engine_for(path)
    try:
        _set_log(engine)
    finally:
        engine.dispose()
    migrate(path)
    sync_folder(folder)


def _cannot_make(folder: Path, error: OSError) -> BookError:
    reason = (error.strerror or "the disk refuses").lower()
    what = f"the book cannot be made ({reason})."
    return BookError(what, mend="Name a folder that may be written.", where=str(folder))

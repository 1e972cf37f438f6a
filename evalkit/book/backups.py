"""The whole book with its photos in one file, made while the book is in use."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import sqlite3
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

from sqlalchemy import Engine

from evalkit.book.connect import FILE, PHOTOS, engine_for, plain_errors, reading
from evalkit.book.making import read_version
from evalkit.book.photos import photo_names
from evalkit.book.schema import moment_text
from evalkit.disk import take_name
from evalkit.errors import AlreadyError, BookError, InputError

FORMAT = 1
"""Number of the backup's format. 1: first."""

HEAD = "backup.json"
MANIFEST = "manifest-sha256.txt"
CHUNK_BYTES = 1 << 20
FIXED_DATE = (1980, 1, 1, 0, 0, 0)
"""The zip's own dates say nothing; the head does."""


@dataclass(frozen=True, slots=True)
class BackedUp:
    """What a backup holds. `lacking` are pictures that the book knows and that were missing or changed on disk."""

    path: Path
    n_photos: int
    n_bytes: int
    lacking: tuple[str, ...] = ()


def make_backup(engine: Engine, out: Path, at: datetime, *, despite_lack: bool = False) -> BackedUp:
    """Write the book of `engine` with every photo to `out`: whole and on disk, or not there at all.

    Others may go on writing; the backup holds one state. Every picture is read against its name on the way. Raises
    AlreadyError when `out` is there; BookError when a picture is missing or changed, unless `despite_lack`.
    """
    if out.exists():
        raise _there_already(out)
    photos = Path(str(engine.url.database)).parent / PHOTOS
    with _beside(out) as (half_made, snapshot):
        _copy_database(engine, snapshot)
        version, names = _known_of(snapshot)
        with zipfile.ZipFile(half_made, "w", allowZip64=True) as box:
            sums = {FILE: _put(box, FILE, snapshot)}
            lacking = tuple(name for name in names if not _put_photo(box, photos, name, sums))
            if lacking and not despite_lack:
                raise _lack(photos, lacking)
            head = {
                "format": FORMAT,
                "kind": "backup",
                "made_at": moment_text(at),
                "book": version,
                "photos": len(names) - len(lacking),
                "lacking": lacking,
            }
            sums[HEAD] = _put_text(box, HEAD, json.dumps(head, indent=1) + "\n")
            _put_text(box, MANIFEST, "".join(f"{digest}  {name}\n" for name, digest in sorted(sums.items())))
        _sync_file(half_made)
        half_made.chmod(0o600)
        try:
            take_name(half_made, out)
        except FileExistsError:
            raise _there_already(out) from None
    return BackedUp(out, len(names) - len(lacking), out.stat().st_size, lacking)


def _there_already(out: Path) -> AlreadyError:
    return AlreadyError("there is a file of that name.", mend="Name a new file.", where=str(out))


@contextmanager
def _beside(out: Path) -> Iterator[tuple[Path, Path]]:
    """Names for the file being made and for the copy of the database, on the disk where `out` will lie."""
    try:
        with tempfile.TemporaryDirectory(prefix=f".{out.name}-", dir=out.parent) as folder:
            yield Path(folder) / "half-made", Path(folder) / FILE
    except OSError as error:
        reason = (error.strerror or "the disk refuses").lower()
        raise InputError(
            f"the backup cannot be written ({reason}).", mend="Name a place with room.", where=str(out)
        ) from None


def _copy_database(engine: Engine, to: Path) -> None:
    """One state of the database, whoever writes meanwhile."""
    with plain_errors(engine), engine.connect() as connection, closing(sqlite3.connect(to)) as copy:
        source = connection.connection.driver_connection
        if not isinstance(source, sqlite3.Connection):
            raise InputError(
                "a book on a database server is not backed up by evalkit.", mend="Use the server's own means."
            )
        try:
            source.backup(copy)
        except sqlite3.OperationalError as error:
            if getattr(error, "sqlite_errorname", "") != "SQLITE_FULL":
                raise
            # It is the disk of the backup that is full, not that of the book.
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) from error


def _known_of(snapshot: Path) -> tuple[str, tuple[str, ...]]:
    engine = engine_for(snapshot)
    try:
        version = read_version(engine)
        with reading(engine) as connection:
            return version, photo_names(connection)
    finally:
        engine.dispose()


def _put(box: zipfile.ZipFile, name: str, path: Path) -> str:
    """Copy a file in, uncompressed; answers its SHA-256."""
    with path.open("rb") as source, box.open(_entry(name, path.stat().st_size), "w") as target:
        return _copied(source, target.write)


def _copied(source: BinaryIO, write: Callable[[bytes], object]) -> str:
    digest = hashlib.sha256()
    while chunk := source.read(CHUNK_BYTES):
        digest.update(chunk)
        write(chunk)
    return digest.hexdigest()


def _put_photo(box: zipfile.ZipFile, photos: Path, sha256: str, sums: dict[str, str]) -> bool:
    """A picture is small enough to be held whole, so that a changed one never gets in. False when it is not there."""
    relative = f"{sha256[:2]}/{sha256}.jpg"
    try:
        data = (photos / relative).read_bytes()
    except FileNotFoundError:
        return False
    if hashlib.sha256(data).hexdigest() != sha256:
        return False
    name = f"{PHOTOS}/{relative}"
    box.writestr(_entry(name, len(data)), data)
    sums[name] = sha256
    return True


def _put_text(box: zipfile.ZipFile, name: str, text: str) -> str:
    data = text.encode()
    box.writestr(_entry(name, len(data)), data)
    return hashlib.sha256(data).hexdigest()


def _entry(name: str, n_bytes: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, FIXED_DATE)
    entry.external_attr = 0o644 << 16
    entry.file_size = n_bytes
    return entry


def _lack(photos: Path, lacking: tuple[str, ...]) -> BookError:
    n = len(lacking)
    words = f"{n} pictures are" if n > 1 else "a picture is"
    return BookError(
        f"{words} missing or changed on disk ({', '.join(name[:12] for name in lacking[:5])}); no backup was made.",
        mend="Put the pictures back from an older backup, or say --despite-lack to back up all the rest.",
        where=str(photos),
    )


def _sync_file(path: Path) -> None:
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

"""A backup put back: every byte checked first, and never over a newer book unasked."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, select

from evalkit.book.backups import CHUNK_BYTES, FORMAT, HEAD, MANIFEST
from evalkit.book.checking import check
from evalkit.book.connect import BUSY_MS, FILE, PHOTOS, reading
from evalkit.book.making import open_engine
from evalkit.book.schema import acts
from evalkit.disk import sync_all
from evalkit.errors import AlreadyError, BookError, InputError

_PHOTO = re.compile(rf"{PHOTOS}/([0-9a-f]{{2}})/(\1[0-9a-f]{{62}})\.jpg")
_SUM = re.compile(r"([0-9a-f]{64})  ([\x21-\x7e]+)")
MAX_TEXT_BYTES = 64 << 20

Acts = dict[int, str]
"""The digest of every act by its number: the chain, without its words."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back. `aside` is where the book that lay there is now; None when there was none."""

    folder: Path
    made_at: str
    n_acts: int
    n_photos: int
    lacking: tuple[str, ...]
    aside: Path | None


def restore(backup: Path, folder: Path, at: datetime, *, is_over: bool = False) -> Restored:
    """Put the book of `backup` into `folder`; the book that lies there is set aside, never removed.

    Raises BookError when anything in the backup is not what was written; AlreadyError when `folder` holds a book with
    acts that the backup lacks (unless `is_over`), or something that is no book.
    """
    with _unpacked(backup, folder) as (half_made, head):
        found = _acts_of_copy(half_made, backup)
        aside = _put(half_made, folder, found, at, is_over=is_over)
    lacking = head.get("lacking")
    return Restored(
        folder,
        str(head.get("made_at", "")),
        len(found),
        sum(1 for _ in (folder / PHOTOS).glob("*/*.jpg")),
        tuple(str(one) for one in lacking) if isinstance(lacking, list) else (),
        aside,
    )


@contextmanager
def _unpacked(backup: Path, folder: Path) -> Iterator[tuple[Path, dict[str, object]]]:
    """The backup unpacked beside `folder`, every file against its sum; gone again unless it was moved away."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        half_made = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    except OSError as error:
        raise _cannot_write(folder, error) from None
    try:
        with zipfile.ZipFile(backup) as box:
            sums = _sums_of(box, backup)
            (half_made / PHOTOS).mkdir()
            for name, digest in sums.items():
                _unpack(box, name, digest, half_made, backup)
        yield half_made, _head_of(half_made, backup)
    except FileNotFoundError:
        raise InputError("there is no such file.", mend="Name the backup.", where=str(backup)) from None
    except (zipfile.BadZipFile, EOFError, ValueError, NotImplementedError) as error:
        raise _damaged(backup, f"it cannot be read ({error})") from error
    except OSError as error:
        raise _cannot_write(folder, error) from None
    finally:
        shutil.rmtree(half_made, ignore_errors=True)


def _sums_of(box: zipfile.ZipFile, backup: Path) -> dict[str, str]:
    """The SHA-256 of each file by its name, from the manifest. Every name is one that a backup has."""
    names = [entry.filename for entry in box.infolist()]
    if MANIFEST not in names or HEAD not in names or FILE not in names:
        raise BookError(
            "this is no backup of a book.", mend="Name a file that 'evalkit book backup' made.", where=str(backup)
        )
    if box.getinfo(MANIFEST).file_size > MAX_TEXT_BYTES:
        raise _damaged(backup, "its list of files is too long")
    lines = [_SUM.fullmatch(line) for line in box.read(MANIFEST).decode("ascii").splitlines()]
    sums = {line[2]: line[1] for line in lines if line}
    if None in lines or len(sums) < len(lines) or sorted([*sums, MANIFEST]) != sorted(names):
        raise _damaged(backup, "its list of files is not the list of what it holds")
    for name, digest in sums.items():
        photo = _PHOTO.fullmatch(name)
        if name not in (HEAD, FILE) and (photo is None or photo[2] != digest):
            raise _damaged(backup, f"it holds '{name[:80]}', which no backup does")
    return sums


def _unpack(box: zipfile.ZipFile, name: str, digest: str, half_made: Path, backup: Path) -> None:
    target = half_made / name
    target.parent.mkdir(exist_ok=True)
    computed = hashlib.sha256()
    with box.open(name) as source, target.open("xb") as file:
        while chunk := source.read(CHUNK_BYTES):
            computed.update(chunk)
            file.write(chunk)
    if computed.hexdigest() != digest:
        raise _damaged(backup, f"'{name}' is not what was written")


def _head_of(half_made: Path, backup: Path) -> dict[str, object]:
    path = half_made / HEAD
    head = json.loads(path.read_text(encoding="utf-8"))
    if not isinstance(head, dict) or head.get("kind") != "backup":
        raise _damaged(backup, f"its {HEAD} is not the head of a backup")
    number = head.get("format")
    if not isinstance(number, int) or number > FORMAT:
        raise BookError("the backup was made by a newer evalkit.", mend="Restore it with that one.", where=str(backup))
    path.unlink()
    return head


def _acts_of_copy(half_made: Path, backup: Path) -> Acts:
    """The chain of the unpacked book, after the book was wholly checked (and brought up to date, if it is older)."""
    engine = open_engine(half_made)
    try:
        faults = check(engine)
        if faults:
            raise _damaged(backup, "; ".join(faults[:3]))
        with reading(engine) as connection:
            return _chain(connection)
    finally:
        engine.dispose()


def _chain(connection: Connection) -> Acts:
    return {row.seq: row.digest for row in connection.execute(select(acts.c.seq, acts.c.digest))}


def _is_occupied(folder: Path) -> bool:
    return folder.exists() and (not folder.is_dir() or any(folder.iterdir()))


def _put(half_made: Path, folder: Path, found: Acts, at: datetime, *, is_over: bool) -> Path | None:
    """The new book in its place; answers where the old one is now, if there was one."""
    if not _is_occupied(folder):
        return _exchange(half_made, folder, at)
    if not (folder / FILE).is_file():
        raise AlreadyError("there is something here that is no book.", mend="Name a new folder.", where=str(folder))
    with _alone(folder) as standing:
        if not is_over:
            _check_may_replace(folder, standing, found)
        if os.name != "posix":
            standing.close()  # an open file keeps its folder's name there
        return _exchange(half_made, folder, at)


@contextmanager
def _alone(folder: Path) -> Iterator[sqlite3.Connection]:
    """The book that is to give way, with nobody else in it while the block runs.

    Whoever has it open would go on writing in the book set aside and, closing it, take away the log of the new one. A
    book that SQLite does not read is in nobody's hands.
    """
    connection = sqlite3.connect(folder / FILE, timeout=BUSY_MS / 1_000, isolation_level=None)
    try:
        try:
            connection.execute("PRAGMA locking_mode=EXCLUSIVE")
            connection.execute("PRAGMA journal_mode=DELETE").fetchall()
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.Error as error:
            if getattr(error, "sqlite_errorname", "").startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
                raise BookError(
                    "another program has the book open; nothing was changed.",
                    mend="Close it ('evalkit serve', perhaps), then try again.",
                    where=str(folder),
                ) from error
        yield connection
    finally:
        connection.close()


def _check_may_replace(folder: Path, standing: sqlite3.Connection, found: Acts) -> None:
    try:
        digests = dict(standing.execute("SELECT seq, digest FROM acts").fetchall())
    except sqlite3.Error as error:
        raise AlreadyError(
            f"the book here cannot be read ({error}), so nobody knows whether it is newer.",
            mend="Say --over to set it aside all the same, or restore into a new folder with --book FOLDER.",
            where=str(folder),
        ) from error
    lost = [seq for seq, digest in digests.items() if found.get(seq) != digest]
    if lost:
        raise AlreadyError(
            f"the book here holds {len(lost)} act{'s' if len(lost) > 1 else ''} that the backup lacks.",
            mend="Say --over to set the book aside all the same, or restore into a new folder with --book FOLDER.",
            where=str(folder),
        )


def _exchange(half_made: Path, folder: Path, at: datetime) -> Path | None:
    """The new in place of the old, by two renamings; the old keeps its content under another name."""
    aside = None
    sync_all()
    half_made.chmod(folder.stat().st_mode & 0o777 if folder.is_dir() else 0o755)
    if _is_occupied(folder):
        aside = folder.with_name(f"{folder.name}-set-aside-{at:%Y%m%d-%H%M%S}")
        folder.rename(aside)
    elif folder.is_dir():
        folder.rmdir()
    try:
        half_made.rename(folder)
    except OSError:
        if aside is not None:
            aside.rename(folder)
        raise
    sync_all()
    return aside


def _damaged(backup: Path, what: str) -> BookError:
    return BookError(
        f"the backup is damaged: {what}. Nothing was changed.", mend="Use an older backup.", where=str(backup)
    )


def _cannot_write(folder: Path, error: OSError) -> InputError:
    reason = (error.strerror or "the disk refuses").lower()
    return InputError(
        f"the book cannot be put back ({reason}); what was there is as it was.",
        mend="Name a folder that may be written, on a disk with room.",
        where=str(folder),
    )

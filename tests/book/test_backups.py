"""A backup is whole or absent, comes back as it was, and never takes the place of a newer book unasked."""

from __future__ import annotations

import hashlib
import random
import shutil
import sqlite3
import subprocess
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from evalkit.book.book import Book
from evalkit.book.connect import FILE
from evalkit.book.people import add_person
from evalkit.book.restoring import restore
from evalkit.domain.round import Person
from evalkit.errors import AlreadyError, BookError, EvalkitError, InputError
from tests.book.values import START, TickingClock

Content = dict[str, list[tuple[object, ...]]]
PICTURE = b"\xff\xd8\xff stands for a picture " * 40
NAME = hashlib.sha256(PICTURE).hexdigest()


@pytest.fixture
def pictured(folder: Path) -> Path:
    """A book that knows one picture, which lies beside it."""
    with Book.open(folder, TickingClock()) as book:
        book.add_person("mentor", Person(key="oda", name="Oda Brink"), "oda")
        book.add_photo_row(NAME, "image/jpeg", len(PICTURE), 640, 480, "oda")
    path = folder / "photos" / NAME[:2] / f"{NAME}.jpg"
    path.parent.mkdir(parents=True)
    path.write_bytes(PICTURE)
    return folder


@pytest.fixture
def backup(pictured: Path, tmp_path: Path) -> Path:
    with Book.open(pictured, TickingClock()) as book:
        return book.back_up(tmp_path / "kept.zip").path


def add_somebody(folder: Path, key: str) -> None:
    with Book.open(folder, TickingClock()) as book:
        book.add_person("trainee", Person(key=key, name=key.capitalize()), "oda")


def test_a_full_book_comes_back_row_for_row(
    full_copy: Path, tmp_path: Path, content_of: Callable[[Path], Content]
) -> None:
    # its three pictures are rows without a file
    with Book.open(full_copy, TickingClock()) as book:
        made = book.back_up(tmp_path / "kept.zip", despite_lack=True)
    back = restore(made.path, tmp_path / "elsewhere" / "book", START)
    assert content_of(tmp_path / "elsewhere" / "book") == content_of(full_copy)
    assert (made.n_photos, len(made.lacking), back.lacking) == (0, 3, made.lacking)


def test_pictures_come_back_byte_for_byte(backup: Path, tmp_path: Path) -> None:
    restored = restore(backup, tmp_path / "new", START)
    assert (tmp_path / "new/photos" / NAME[:2] / f"{NAME}.jpg").read_bytes() == PICTURE
    assert (restored.n_photos, restored.n_acts, restored.aside) == (1, 2, None)
    assert not [one.name for one in (tmp_path / "new").iterdir() if not one.name.startswith((FILE, "photos"))]


def test_the_sums_in_a_backup_are_those_that_sha256sum_computes(backup: Path, tmp_path: Path) -> None:
    """GNU coreutils reads the manifest: an outside program agrees with every sum."""
    if shutil.which("sha256sum") is None:
        pytest.skip("sha256sum (GNU coreutils) is not on this machine")
    with zipfile.ZipFile(backup) as box:
        box.extractall(tmp_path / "unpacked")
    told = subprocess.run(
        ["sha256sum", "--strict", "-c", "manifest-sha256.txt"],
        cwd=tmp_path / "unpacked",
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stdout + told.stderr
    assert told.stdout.count(": OK") == 3


def test_the_copy_of_the_database_is_sound_by_sqlites_own_checks(backup: Path, tmp_path: Path) -> None:
    """SQLite's integrity_check and foreign_key_check (sqlite.org/pragma.html) on the copy inside the backup."""
    with zipfile.ZipFile(backup) as box:
        box.extract(FILE, tmp_path)
    connection = sqlite3.connect(tmp_path / FILE)
    assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    connection.close()


def test_a_backup_made_while_somebody_writes_holds_one_state(
    pictured: Path, tmp_path: Path, content_of: Callable[[Path], Content]
) -> None:
    before = content_of(pictured)
    with (
        Book.open(pictured, TickingClock()) as writer,
        Book.open(pictured, TickingClock()) as reader,
        writer.act("oda", "add trainee", "person lin") as doing,
    ):
        add_person(doing, "trainee", Person(key="lin", name="Lin"))
        made = reader.back_up(tmp_path / "kept.zip")
    restore(made.path, tmp_path / "new", START)
    assert content_of(tmp_path / "new") == before
    assert len(content_of(pictured)["people"]) == len(before["people"]) + 1


@pytest.mark.parametrize("is_changed", [False, True])
def test_a_picture_missing_or_changed_stops_the_backup(pictured: Path, tmp_path: Path, is_changed: bool) -> None:
    path = pictured / "photos" / NAME[:2] / f"{NAME}.jpg"
    path.write_bytes(b"another") if is_changed else path.unlink()
    out = tmp_path / "kept.zip"
    with Book.open(pictured, TickingClock()) as book:
        with pytest.raises(BookError, match="missing or changed on disk"):
            book.back_up(out)
        assert not out.exists()
        assert book.back_up(out, despite_lack=True).lacking == (NAME,)
    assert restore(out, tmp_path / "new", START).lacking == (NAME,)


def test_a_backup_never_overwrites_a_file(pictured: Path, tmp_path: Path) -> None:
    out = tmp_path / "kept.zip"
    out.write_bytes(b"mine")
    with Book.open(pictured, TickingClock()) as book, pytest.raises(AlreadyError, match="there is a file"):
        book.back_up(out)
    assert out.read_bytes() == b"mine"


def test_a_backup_into_nowhere_says_so_and_leaves_nothing(pictured: Path, tmp_path: Path) -> None:
    with Book.open(pictured, TickingClock()) as book, pytest.raises(InputError, match="cannot be written"):
        book.back_up(tmp_path / "no such folder" / "kept.zip")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["book"]


def test_a_newer_book_is_not_replaced_unasked(
    backup: Path, pictured: Path, content_of: Callable[[Path], Content]
) -> None:
    add_somebody(pictured, "lin")
    newer = content_of(pictured)
    with pytest.raises(AlreadyError, match="1 act that the backup lacks"):
        restore(backup, pictured, START)
    assert content_of(pictured) == newer
    restored = restore(backup, pictured, START, is_over=True)
    assert restored.aside is not None
    assert content_of(restored.aside) == newer
    assert len(content_of(pictured)["people"]) == len(newer["people"]) - 1


def test_an_older_book_is_replaced_and_set_aside(pictured: Path, tmp_path: Path) -> None:
    older = Path(shutil.copytree(pictured, tmp_path / "older"))
    add_somebody(pictured, "lin")
    with Book.open(pictured, TickingClock()) as book:
        made = book.back_up(tmp_path / "kept.zip")
    assert restore(made.path, older, START).aside is not None
    with Book.open(older, TickingClock()) as book:
        assert [person.key for person in book.list_people("trainee")] == ["lin"]


def test_two_books_that_went_their_own_ways_are_not_mixed_up(backup: Path, pictured: Path, tmp_path: Path) -> None:
    twin = restore(backup, tmp_path / "twin", START).folder
    add_somebody(pictured, "lin")
    add_somebody(twin, "teo")
    with Book.open(twin, TickingClock()) as book:
        made = book.back_up(tmp_path / "twin.zip")
    with pytest.raises(AlreadyError, match="lacks"):
        restore(made.path, pictured, START)


def test_a_damaged_book_is_not_replaced_unasked(backup: Path, pictured: Path) -> None:
    (pictured / FILE).write_bytes(b"nothing that SQLite knows" * 100)
    with pytest.raises(AlreadyError, match="nobody knows whether it is newer"):
        restore(backup, pictured, START)
    assert restore(backup, pictured, START, is_over=True).aside is not None


def test_a_folder_of_something_else_is_left_alone(backup: Path, tmp_path: Path) -> None:
    other = tmp_path / "photos of the sea"
    other.mkdir()
    (other / "one.jpg").write_bytes(b"sea")
    with pytest.raises(AlreadyError, match="no book"):
        restore(backup, other, START, is_over=True)
    assert [one.name for one in other.iterdir()] == ["one.jpg"]


def test_no_changed_byte_comes_back(backup: Path, tmp_path: Path) -> None:
    """300 changed bits all over the file: each is refused, or lay where the zip keeps nothing of the book."""
    whole = backup.read_bytes()
    dice = random.Random(7)
    with zipfile.ZipFile(backup) as box:
        kept = {entry.filename: box.read(entry) for entry in box.infolist()}
    refused = 0
    for _ in range(300):
        spoilt = bytearray(whole)
        spoilt[dice.randrange(len(spoilt))] ^= 1 << dice.randrange(8)
        path = tmp_path / "spoilt.zip"
        path.write_bytes(spoilt)
        target = tmp_path / "target"
        try:
            restore(path, target, START)
        except EvalkitError:
            refused += 1
            assert not target.exists()
        else:
            with zipfile.ZipFile(path) as box:
                assert {entry.filename: box.read(entry) for entry in box.infolist()} == kept
            shutil.rmtree(target)
    assert refused > 250
    assert not [one for one in tmp_path.iterdir() if one.name.startswith(".")]


@pytest.mark.parametrize(
    "name", ["../evil.txt", "/evil.txt", "photos/../../evil.jpg", "extra.txt", "photos/ab/short.jpg", "book.sqlite "]
)
def test_a_backup_with_a_name_that_no_backup_has_is_refused(backup: Path, tmp_path: Path, name: str) -> None:
    path = tmp_path / "hostile.zip"
    with zipfile.ZipFile(backup) as source, zipfile.ZipFile(path, "w") as target:
        for entry in source.infolist():
            data = source.read(entry)
            if entry.filename == "manifest-sha256.txt":
                data += f"{hashlib.sha256(b'evil').hexdigest()}  {name}\n".encode()
            target.writestr(entry, data)
        target.writestr(name, b"evil")
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(BookError, match="damaged"):
        restore(path, tmp_path / "new", START)
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("data", [b"", b"no zip", b"PK\x03\x04 cut short"])
def test_what_is_no_backup_is_told_so(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "letter.zip"
    path.write_bytes(data)
    with pytest.raises(BookError):
        restore(path, tmp_path / "new", START)
    with pytest.raises(InputError, match="no such file"):
        restore(tmp_path / "missing.zip", tmp_path / "new", START)
    assert [one.name for one in tmp_path.iterdir()] == ["letter.zip"]


def test_a_backup_by_a_newer_program_is_told_so(backup: Path, tmp_path: Path) -> None:
    path = tmp_path / "newer.zip"
    with zipfile.ZipFile(backup) as source, zipfile.ZipFile(path, "w") as target:
        entries = {entry.filename: source.read(entry) for entry in source.infolist()}
        old = hashlib.sha256(entries["backup.json"]).hexdigest()
        entries["backup.json"] = entries["backup.json"].replace(b'"format": 1', b'"format": 2')
        new = hashlib.sha256(entries["backup.json"]).hexdigest()
        entries["manifest-sha256.txt"] = entries["manifest-sha256.txt"].replace(old.encode(), new.encode())
        for name, data in entries.items():
            target.writestr(name, data)
    with pytest.raises(BookError, match="newer evalkit"):
        restore(path, tmp_path / "new", START)

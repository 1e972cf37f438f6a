"""Books to test with: an empty one made once and copied, and one in which a whole round has happened."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from evalkit.book.book import Book
from evalkit.book.connect import FILE
from tests.book.values import (
    JOURNEY,
    NIA,
    ODA,
    PAIRS,
    PHOTO,
    RUBRIC,
    SECOND,
    TickingClock,
    assessment_of,
    marked,
    marking_of,
    round_of,
    sign_off_of,
)

MEANINGLESS = {("readings", "id"), ("pair_photos", "id"), ("openings", "id")}
"""Numbers that nothing points to."""

Content = dict[str, list[tuple[object, ...]]]


@pytest.fixture(scope="session")
def empty_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("books") / "empty"
    Book.create(folder, TickingClock()).close()
    return folder


@pytest.fixture(scope="session")
def full_folder(empty_folder: Path) -> Path:
    """A round there and back: assessed, amended, opened, marked, amended, and a second mentor at work."""
    folder = empty_folder.parent / "full"
    shutil.copytree(empty_folder, folder)
    with Book.open(folder, TickingClock()) as book:
        start(book)
        round_ = round_of()
        book.add_round(round_, "oda")
        for leg in JOURNEY:
            book.add_leg(round_.key, leg, "oda")
        book.add_photo_row(*PHOTO, "oda")
        book.seal_assessment(assessment_of(round_), "nia")
        book.seal_assessment(assessment_of(round_, letter="I forgot"), "nia", "forgot the letter")
        book.save_marked_pair(round_.key, "oda", marked(1), RUBRIC.digest, "oda")
        book.record_opening(round_.key, 2, "oda")
        book.record_opening(round_.key, None, "berit")
        book.save_marked_pair(round_.key, "oda", marked(2), RUBRIC.digest, "oda")
        book.save_marked_pair(round_.key, "oda", marked(1, level=1), RUBRIC.digest, "oda")
        book.finish_marking(round_.key, "oda", "oda", letter="read this")
        book.take_in_marking(marking_of(round_), "oda", "third pair found")
        book.save_marked_pair(round_.key, "berit", marked(3, level=0), RUBRIC.digest, "berit")
        book.change_pair(PAIRS[0].model_copy(update={"difficulty": 4}), "oda")
        book.record_sign_off(sign_off_of("bevel"), "oda")
        book.record_second_marking(marking_of(round_, level=1), "oda")
    return folder


def start(book: Book) -> None:
    """People, stock and rubric."""
    book.add_person("mentor", ODA, "oda")
    book.add_person("mentor", SECOND, "oda")
    book.add_person("trainee", NIA, "oda")
    book.add_pairs(PAIRS, "oda")
    book.freeze_rubric(RUBRIC, "oda")


@pytest.fixture
def folder(empty_folder: Path, tmp_path: Path) -> Path:
    """An empty book of the test's own."""
    return Path(shutil.copytree(empty_folder, tmp_path / "book"))


@pytest.fixture
def book(folder: Path) -> Iterator[Book]:
    """People, stock and rubric are in it, no round."""
    with Book.open(folder, TickingClock()) as book:
        start(book)
        yield book


@pytest.fixture
def full_copy(full_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(full_folder, tmp_path / "full"))


@pytest.fixture
def full_book(full_copy: Path) -> Iterator[Book]:
    with Book.open(full_copy, TickingClock()) as book:
        yield book


@pytest.fixture(scope="session")
def content_of() -> Callable[[Path], Content]:
    """Every row of every table, as SQLite itself reads it."""

    def read(folder: Path) -> Content:
        connection = sqlite3.connect(folder / FILE)
        try:
            tables = [name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
            return {table: rows_of(connection, table) for table in tables}
        finally:
            connection.close()

    return read


def rows_of(connection: sqlite3.Connection, table: str) -> list[tuple[object, ...]]:
    columns = [name for _, name, *_ in connection.execute(f"PRAGMA table_info({table})")]
    wanted = ", ".join(f'"{name}"' for name in columns if (table, name) not in MEANINGLESS)
    return sorted(connection.execute(f"SELECT {wanted} FROM {table}"), key=repr)  # noqa: S608

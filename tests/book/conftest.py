"""Books to test with: an empty one made once and copied, and one in which a whole round has happened."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from evalkit.book.book import Book
from evalkit.book.connect import FILE
from evalkit.book.kept import PacketHead, PhotoRow
from evalkit.domain.assessment import Photo
from tests.book.values import (
    JOURNEY,
    LAID_OUT,
    NIA,
    ODA,
    PAIRS,
    PHOTO,
    RUBRIC,
    SECOND,
    SHELF,
    TickingClock,
    assessment_of,
    intake_of,
    marked,
    marking_of,
    round_of,
    sign_off_of,
)
from tests.progress.learnt import VALUES

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
        book.take_in_intake(intake_of(round_), "oda", photos=[PhotoRow(*LAID_OUT)])
        book.take_in_intake(intake_of(round_, notes="seen again"), "oda", "looked twice")
        for leg in JOURNEY:
            book.add_leg(round_.key, leg, "oda")
        book.add_photo_row(*PHOTO, "oda")
        book.add_stock_photos("S-102", [Photo(file=SHELF[0], caption="teeth, after nia-1")], "oda", [PhotoRow(*SHELF)])
        book.retire_pair("S-102", date(2026, 4, 1), "teeth worn", "oda")
        book.bring_back_pair("S-102", date(2026, 4, 2), "still good", "oda")
        book.retire_pair("S-103", date(2026, 4, 3), "spent hollow, by Nia Solheim in nia-1", "oda")
        book.seal_assessment(assessment_of(round_), "nia")
        book.seal_assessment(assessment_of(round_, letter="I forgot"), "nia", "forgot the letter")
        packet = PacketHead("ef" * 32, "assessment", round_.key, 3)
        book.take_in_assessment_packet(packet, assessment_of(round_, letter="and this"), "oda", "one word more")
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
        book.pick_second_pairs(round_.key, "oda", {1, 2}, "oda")
        book.save_second_pair(round_.key, "oda", marked(2), RUBRIC.digest, "oda")
        book.save_second_pair(round_.key, "oda", marked(2, level=1), RUBRIC.digest, "oda")
        book.record_school_values(VALUES, "oda")
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


def take_away(connection: sqlite3.Connection, *tables: str) -> None:
    """Leave a book as it was before these tables came, and all that came with number 0005 and later."""
    for table in (*tables, "second_drafts", "intake_photos", "intakes", "stock_photos", "retirements"):
        connection.execute(f"DROP TABLE {table}")
    connection.execute("ALTER TABLE pairs DROP COLUMN weight_g")


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

"""A mentor's book with a box at its trainee's, and the trainee's own, each made once and copied for each test."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from evalkit.actions.packets import PacketTakenIn, take_in_packet
from evalkit.book.book import Book
from evalkit.book.connect import FILE, PHOTOS
from evalkit.domain.assessment import AssessedPair, Assessment
from evalkit.domain.reading import Stage
from evalkit.domain.round import Person, Round
from evalkit.domain.verdict import Verdict
from evalkit.files.photos import PhotoStore
from tests.book.values import JOURNEY, ODA, PAIRS, RUBRIC, TickingClock, readings_of, round_of

TEO = Person(key="teo", name="Teo Marsk")
LIN = Person(key="lin", name="Lin Aubrel")
TODAY = date(2026, 5, 1)


def box(key: str = "teo-1", trainee: Person = TEO) -> Round:
    return round_of(key).model_copy(update={"trainee": trainee})


def seen(round_: Round, *, level: int = 2) -> Assessment:
    """Every pair of the box, all places of every criterion at one level."""
    pairs = tuple(
        AssessedPair(
            number=number,
            readings=readings_of(number, Stage.AS_FINISHED, tuple(RUBRIC.by_key), level=level),
            verdict=Verdict.ACCEPTED,
            notes="by the lamp",
        )
        for number in round_.numbers
    )
    return Assessment(
        round_key=round_.key,
        trainee_key=round_.trainee.key,
        rubric_digest=round_.rubric_digest,
        written_on=date(2026, 4, 30),
        pairs=pairs,
    )


@dataclass
class Shelf:
    """A book in its folder with the pictures beside it, and who acts."""

    folder: Path
    book: Book
    who: str

    @property
    def store(self) -> PhotoStore:
        return PhotoStore(self.folder / PHOTOS)

    def take_in(self, path: Path, *, today: date = TODAY, reason: str = "") -> PacketTakenIn:
        return take_in_packet(self.book, self.store, path, who=self.who, today=today, reason=reason)

    def state(self) -> tuple[list[str], dict[str, str]]:
        """Every row of every table, and every file and folder beside the book."""
        connection = sqlite3.connect(self.folder / FILE)
        rows = list(connection.iterdump())
        connection.close()
        photos = self.folder / PHOTOS
        return rows, {
            str(path.relative_to(photos)): hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
            for path in photos.rglob("*")
        }

    def faults(self) -> list[str]:
        return [*self.book.check(), *self.store.check(self.book.photo_names())]


@pytest.fixture(scope="session")
def mentors_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two boxes are with their trainees, a third is not sent yet."""
    folder = tmp_path_factory.mktemp("shelves") / "mentors"
    with Book.create(folder, TickingClock()) as book:
        book.add_person("mentor", ODA, "oda")
        for trainee in (TEO, LIN):
            book.add_person("trainee", trainee, "oda")
        book.add_pairs(PAIRS, "oda")
        book.freeze_rubric(RUBRIC, "oda")
        for round_ in (box(), box("lin-1", LIN), box("teo-2")):
            book.add_round(round_, "oda")
        for key in ("teo-1", "lin-1"):
            for leg in JOURNEY[:2]:
                book.add_leg(key, leg, "oda")
    return folder


@pytest.fixture(scope="session")
def own_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shelves") / "own"
    with Book.create(folder, TickingClock()) as book:
        book.add_person("trainee", TEO, "teo")
    return folder


@pytest.fixture
def mentors(mentors_folder: Path, tmp_path: Path) -> Iterator[Shelf]:
    folder = Path(shutil.copytree(mentors_folder, tmp_path / "mentors"))
    with Book.open(folder, TickingClock()) as book:
        yield Shelf(folder, book, "oda")


@pytest.fixture
def own(own_folder: Path, tmp_path: Path) -> Iterator[Shelf]:
    folder = Path(shutil.copytree(own_folder, tmp_path / "own"))
    with Book.open(folder, TickingClock()) as book:
        yield Shelf(folder, book, "teo")

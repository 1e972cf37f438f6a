"""Books at each step of a round, made once and copied for each test."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from evalkit.book.book import Book
from evalkit.domain.round import LegKind, Person
from evalkit.files.photos import PhotoStore, clean_photo
from tests.reports.values import ODA, PAIRS, RUBRIC, TEO, assessment_of, marking_of, round_of
from tests.web.site import NOW, Site


def picture(grey: int = 120) -> bytes:
    """A small grey picture, as a telephone would save it."""
    out = io.BytesIO()
    Image.new("RGB", (120, 80), (grey, grey, grey)).save(out, "JPEG")
    return out.getvalue()


def _book(folder: Path, *, legs: int) -> Book:
    round_ = round_of()
    book = Book.create(folder, lambda: NOW)
    book.add_person("mentor", ODA, "oda")
    book.add_person("trainee", TEO, "oda")
    book.add_pairs(PAIRS, "oda")
    book.freeze_rubric(RUBRIC, "oda")
    book.add_round(round_.model_copy(update={"legs": ()}), "oda")
    for leg in round_.legs[:legs]:
        book.add_leg(round_.key, leg, "oda")
    return book


@pytest.fixture(scope="session")
def on_its_way_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The box is on its way back, the assessment sealed."""
    folder = tmp_path_factory.mktemp("pages") / "on-its-way"
    round_ = round_of()
    kinds = [leg.kind for leg in round_.legs]
    with _book(folder, legs=kinds.index(LegKind.RECEIVED_BACK)) as book:
        clean = clean_photo(picture())
        PhotoStore(folder / "photos").put(clean)
        book.add_photo_row(clean.sha256, clean.media_type, len(clean.data), clean.width, clean.height, "oda")
        sealed = assessment_of(round_)
        pairs = tuple(
            pair.model_copy(update={"photos": tuple(p.model_copy(update={"file": clean.sha256}) for p in pair.photos)})
            for pair in sealed.pairs
        )
        book.seal_assessment(sealed.model_copy(update={"pairs": pairs}), "oda")
    return folder


@pytest.fixture(scope="session")
def back_folder(on_its_way_folder: Path) -> Path:
    """The box is back; nothing is marked."""
    folder = Path(shutil.copytree(on_its_way_folder, on_its_way_folder.parent / "back"))
    leg = next(leg for leg in round_of().legs if leg.kind is LegKind.RECEIVED_BACK)
    with Book.open(folder, lambda: NOW) as book:
        book.add_leg("teo-1", leg, "oda")
    return folder


@pytest.fixture(scope="session")
def marked_folder(back_folder: Path) -> Path:
    """The marking is finished, version 1, and the report was read."""
    folder = Path(shutil.copytree(back_folder, back_folder.parent / "marked"))
    with Book.open(folder, lambda: NOW) as book:
        marking = marking_of(round_of())
        pairs = tuple(pair.model_copy(update={"photos": ()}) for pair in marking.pairs)
        book.take_in_marking(marking.model_copy(update={"pairs": pairs}), "oda")
        book.record_opening("teo-1", None, "oda")
    return folder


@pytest.fixture
def open_site(tmp_path: Path) -> Iterator[Callable[..., Site]]:
    """Opens the pages over a copy of a book."""
    opened: list[Site] = []

    def open_(folder: Path, **more: object) -> Site:
        site = Site(Path(shutil.copytree(folder, tmp_path / f"book-{len(opened)}")), **more)  # type: ignore[arg-type]
        opened.append(site)
        return site

    yield open_
    for site in opened:
        site.close()


@pytest.fixture
def on_its_way(open_site, on_its_way_folder: Path) -> Site:
    return open_site(on_its_way_folder)


@pytest.fixture
def back(open_site, back_folder: Path) -> Site:
    return open_site(back_folder)


@pytest.fixture
def marked(open_site, marked_folder: Path) -> Site:
    return open_site(marked_folder)


@pytest.fixture
def two_mentors(open_site, back_folder: Path) -> Site:
    """A school: another mentor knows the same book."""
    site = open_site(back_folder)
    site.book.add_person("mentor", Person(key="berit", name="Berit Holm"), "oda")
    return site

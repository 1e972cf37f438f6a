"""Picks settings, book, rubrics, photos and clock once, and hands every face one Workbench."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from evalkit.errors import EvalkitError
from evalkit.settings import Settings, checked, read_settings

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.causes import CauseMap
    from evalkit.domain.round import Round
    from evalkit.domain.rubric import Rubric
    from evalkit.files.photos import PhotoStore

Clock = Callable[[], datetime]


def wall_clock() -> datetime:
    """The machine's clock, in UTC."""
    return datetime.now(UTC)


@dataclass(frozen=True)
class Workbench:
    """What a face works with. Nothing is opened or read until it is asked for."""

    settings: Settings
    clock: Clock = field(default=wall_clock)

    @property
    def today(self) -> date:
        return self.settings.today or self.clock().astimezone().date()

    def at(self, **changed: object) -> Workbench:
        """This workbench with some settings given on the command line; None leaves a setting as it is.

        Raises InputError for a value that a setting cannot take.
        """
        given = {name: value for name, value in changed.items() if value is not None}
        return replace(self, settings=checked({**self.settings.model_dump(), **given}))

    def now(self) -> datetime:
        """The moment of an act: the clock's, or noon (UTC) of the day set as today."""
        return datetime.combine(self.settings.today, time(12), UTC) if self.settings.today else self.clock()

    def open_book(self) -> Book:
        """The book of the settings. Raises BookError when it is missing, damaged or of another version."""
        from evalkit.book.book import Book

        return Book.open(self.settings.book, self.now)

    @contextmanager
    def new_book(self, folder: Path) -> Iterator[Book]:
        """A new book, which is in `folder` when the block ends well. Raises AlreadyError when something is there."""
        from evalkit.book.book import Book
        from evalkit.book.making import being_made

        with being_made(folder) as half_made, Book.open(half_made, self.now) as book:
            yield book

    def photos(self) -> PhotoStore:
        """The pictures beside the book."""
        from evalkit.files.photos import PhotoStore

        return PhotoStore(self.settings.book / "photos")

    def find_rubric(self, name: str) -> Rubric:
        """A rubric by its file, or by its key in your own folder or among the shipped ones."""
        from evalkit.files.rubrics import find_rubric

        return find_rubric(name, self.settings.rubrics)

    def causes(self) -> CauseMap:
        """The cause map: your own if the rubrics folder has one, else the shipped one."""
        from evalkit.files.places import rubrics_dir
        from evalkit.files.rubrics import load_causes

        own = self.settings.rubrics / "causes.toml" if self.settings.rubrics else None
        return load_causes(own if own and own.is_file() else rubrics_dir() / "causes.toml")

    def find_causes(self) -> CauseMap | None:
        """As `causes`; None when your own file has faults."""
        try:
            return self.causes()
        except EvalkitError:
            return None


@dataclass(frozen=True, slots=True)
class BenchPage:
    """The page, and what went into it. The round holds only what its trainee may know."""

    round: Round
    practise: tuple[str, ...]
    html: str


def bench_page(book: Book, round_key: str) -> BenchPage:
    """The bench book as it would be sent now. Raises NotFoundError when there is no such round."""
    from evalkit.actions.sending import find_last_report, shown_to_trainee
    from evalkit.reports.practise import practise_lines
    from evalkit.reports.to_bench_book import bench_book

    round_ = book.get_round(round_key)
    last = find_last_report(book, round_)
    practise = practise_lines(last) if last else ()
    shown = shown_to_trainee(round_)
    return BenchPage(shown, practise, bench_book(shown, book.get_rubric_by_digest(round_.rubric_digest), practise))


def set_up(environment: Mapping[str, str]) -> Workbench:
    """The one place where real parts are chosen."""
    return Workbench(read_settings(environment))

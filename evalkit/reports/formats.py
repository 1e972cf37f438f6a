"""The list of report formats: a name, a file ending, and what makes the bytes. A written file is whole or absent."""

from __future__ import annotations

import base64
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from evalkit.disk import write_whole
from evalkit.errors import InputError
from evalkit.reports.editions import check_may_give_way
from evalkit.reports.to_pdf import to_pdf
from evalkit.settings import Paper

if TYPE_CHECKING:
    from evalkit.progress.results import RoundResult
    from evalkit.reports.rows import PictureOf, ReportRow


class Format(StrEnum):
    """Formats of a report."""

    HTML = "html"
    PDF = "pdf"
    MD = "md"
    JSON = "json"


class PageJob(Protocol):
    """What a report of any kind can be asked for: its file's name without the ending, and its three texts."""

    @property
    def stem(self) -> str: ...
    @property
    def page(self) -> str: ...
    @property
    def text(self) -> str: ...
    @property
    def data(self) -> str: ...


@dataclass(frozen=True)
class Job:
    """One round's report to make in any format; rows and page are made once and only when a format asks.

    So is what they take: a progress report, written by way of the same list, loads nothing of it.
    """

    result: RoundResult
    made_on: date
    paper: Paper
    picture_of: PictureOf
    versions: tuple[str, ...] = ()
    with_causes: bool = False

    @cached_property
    def row(self) -> ReportRow:
        from evalkit.reports.round_rows import report_row

        return report_row(
            self.result,
            made_on=self.made_on,
            picture_of=self.picture_of,
            versions=self.versions,
            with_causes=self.with_causes,
        )

    @property
    def stem(self) -> str:
        """A copy with causes has a name of its own, so that it is not posted to the trainee by mistake."""
        return self.result.round.key + ("-for-the-mentor" if self.with_causes else "")

    @cached_property
    def page(self) -> str:
        from evalkit.reports.to_html import to_html

        return to_html(self.row, self.paper)

    @cached_property
    def text(self) -> str:
        from evalkit.reports.to_markdown import to_markdown

        return to_markdown(self.row)

    @cached_property
    def data(self) -> str:
        from evalkit.reports.document import round_document
        from evalkit.reports.to_json import to_json

        return to_json(round_document(self.result, made_on=self.made_on))


MAKERS: dict[Format, Callable[[PageJob], bytes]] = {
    Format.HTML: lambda job: job.page.encode(),
    Format.PDF: lambda job: to_pdf(job.page),
    Format.MD: lambda job: job.text.encode(),
    Format.JSON: lambda job: job.data.encode(),
}


def parse_formats(text: str) -> tuple[Format, ...]:
    """'html,pdf' to formats. Raises InputError for another word."""
    formats = []
    for word in filter(None, (part.strip().lower() for part in text.split(","))):
        try:
            formats.append(Format(word))
        except ValueError:
            raise InputError(f"'{word}' is no format.", mend=f"It is one of: {', '.join(Format)}.") from None
    if not formats:
        raise InputError("no format was named.", mend=f"Name one or more of: {', '.join(Format)}.")
    return tuple(dict.fromkeys(formats))


def data_address(data: bytes, media_type: str = "image/jpeg") -> str:
    """A picture as an address that needs no other file."""
    return f"data:{media_type};base64,{base64.b64encode(data).decode()}"


@dataclass(frozen=True, slots=True)
class Written:
    """A file that was written. `is_replaced`: something else stood there before."""

    path: Path
    is_replaced: bool

    @property
    def words(self) -> str:
        return f"{self.path} (replaced)" if self.is_replaced else str(self.path)


def write_reports(
    job: PageJob, formats: Sequence[Format], folder: Path, *more: PageJob, is_over: bool = False
) -> list[Written]:
    """Write each format of each job to `folder` as STEM.ENDING; all are made before any is written.

    An earlier edition of the same report gives way, another file only with `is_over`. Raises AlreadyError, InputError.
    """
    made = [(folder / f"{each.stem}.{one}", MAKERS[one](each)) for each in (job, *more) for one in formats]
    try:
        gives_way = [check_may_give_way(path, data, is_over=is_over) for path, data in made]
        folder.mkdir(parents=True, exist_ok=True)
        for path, data in made:
            write_whole(path, data, mode=0o644)
    except OSError as error:
        raise InputError(
            "the report cannot be written.",
            mend=f"({error.strerror}) Name another folder with --out.",
            where=str(folder),
        ) from None
    return [Written(path, is_replaced) for (path, _), is_replaced in zip(made, gives_way, strict=True)]

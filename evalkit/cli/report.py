"""The command that writes the graded report of a round."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import AsJson, OpenEarly, bench_of, say
from evalkit.cli.reporting import Over
from evalkit.cli.waiting import patience

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.causes import CauseMap
    from evalkit.reports.formats import Job
    from evalkit.workbench import Workbench


def report(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of the round, like teo-3.")],
    out: Annotated[Path, typer.Option("--out", help="Folder to write to.")] = Path("reports"),
    formats: Annotated[str, typer.Option("--format", help="html, pdf, md, json; several with commas.")] = "html",
    paper: Annotated[str | None, typer.Option("--paper", help="A4 or Letter; else EVALKIT_PAPER, else A4.")] = None,
    with_causes: Annotated[
        bool, typer.Option("--with-causes", help="A copy for the mentor's eyes that offers likely causes per pair.")
    ] = False,
    open_early: OpenEarly = False,
    over: Over = False,
    as_json: AsJson = False,
) -> None:
    """Write the graded report of a round: both views, what to be proud of, what to practise.

    It takes the place of an earlier report of the round, and says so. It shows the assessment, so that is recorded:
    what is marked or changed afterwards is not blind.
    """
    from evalkit.reports.formats import parse_formats, write_reports

    bench = bench_of(context)
    workbench = bench.workbench.at(paper=paper)
    wanted = parse_formats(formats)
    with bench.book() as (book, who):
        job = open_report(
            workbench, book, key, who, is_early=open_early, causes=workbench.causes(), with_causes=with_causes
        )
    if as_json:
        typer.echo(job.data, nl=False)
        return
    with patience("Writing the report"):
        files = write_reports(job, wanted, out, is_over=over)
    say(*(file.words for file in files))


PHOTO_PX = 900


def open_report(
    workbench: Workbench,
    book: Book,
    key: str,
    who: str,
    *,
    is_early: bool = False,
    causes: CauseMap | None = None,
    with_causes: bool = False,
) -> Job:
    """The report, ready to be made in any format; that the assessment was read for it is recorded."""
    from evalkit.actions.answers import check_may_be_read, get_answer
    from evalkit.actions.rounds import check_day
    from evalkit.reports.formats import Job, data_address

    check_may_be_read(book, key, who, is_early=is_early)
    check_day(book.get_round(key), workbench.today)
    answer = get_answer(book, key, causes)
    if answer.result.assessment is not None:
        book.record_opening(key, None, who)
    store = workbench.photos()
    return Job(
        result=answer.result,
        made_on=workbench.today,
        paper=workbench.settings.paper,
        picture_of=lambda name: data_address(store.thumbnail(name, PHOTO_PX)),
        versions=answer.versions,
        with_causes=with_causes,
    )

"""The command that writes the graded report of a round."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evalkit.cli.frame import AsJson, OpenEarly, bench_of, say
from evalkit.cli.waiting import patience


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
    as_json: AsJson = False,
) -> None:
    """Write the graded report of a round: both views, what to be proud of, what to practise.

    It shows the assessment, so that is recorded: what is marked or changed afterwards is not blind.
    """
    from evalkit.actions.answers import check_may_be_read, get_result, get_versions
    from evalkit.actions.rounds import check_day
    from evalkit.reports.document import round_document
    from evalkit.reports.formats import Job, data_address, parse_formats, write_reports
    from evalkit.reports.to_json import to_json

    bench = bench_of(context)
    workbench = bench.workbench.at(paper=paper)
    wanted = parse_formats(formats)
    with bench.book() as (book, who):
        check_may_be_read(book, key, who, is_early=open_early)
        check_day(book.get_round(key), bench.today)
        result = get_result(book, key, workbench.causes())
        versions = get_versions(book, key)
        if result.assessment is not None:
            book.record_opening(key, None, who)
    if as_json:
        typer.echo(to_json(round_document(result, made_on=workbench.today)), nl=False)
        return
    store = workbench.photos()
    job = Job(
        result=result,
        made_on=workbench.today,
        paper=workbench.settings.paper,
        picture_of=lambda name: data_address(store.thumbnail(name, PHOTO_PX)),
        versions=versions,
        with_causes=with_causes,
    )
    with patience("Writing the report"):
        paths = write_reports(job, wanted, out)
    say(*map(str, paths))


PHOTO_PX = 900

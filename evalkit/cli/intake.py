"""Commands on what the mentor reads of a box before it goes, to see later what the trainee found in it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evalkit.cli.frame import bench_of, plain_app, say
from evalkit.cli.round import write_out
from evalkit.domain.amounts import amount_words
from evalkit.domain.round import LegKind

app = plain_app(
    "Read the pairs of a box before it is posted, to see what is found. The trainee learns nothing before the report."
)


@app.command("sheet")
def sheet(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of the round.")],
    out: Annotated[Path | None, typer.Option("--out", help="File to write; else it goes to stdout.")] = None,
) -> None:
    """Write an intake sheet (Markdown): the latest readings, or an empty one. Keep it out of the box."""
    from evalkit.domain.intake import check_before_trainee
    from evalkit.files.sheets import write_intake_sheet

    with bench_of(context).book() as (book, who):
        round_ = book.get_round(key).model_copy(update={"mentor": book.get_person("mentor", who)})
        check_before_trainee(round_)
        kept = book.find_intake(key)
        rubric = book.get_rubric_by_digest(round_.rubric_digest)
        text = write_intake_sheet(round_, rubric, kept.intake if kept else None)
    write_out(text, out)


@app.command("take-in")
def take_in(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="SHEET", help="The filled intake sheet.")],
    reason: Annotated[str, typer.Option(help="Why readings that are kept are amended; makes a new version.")] = "",
) -> None:
    """Read a filled intake sheet and keep it, before the box reaches the trainee. With a fault, nothing is kept."""
    from evalkit.actions.sheets import take_in_intake

    bench = bench_of(context)
    with bench.book() as (book, who):
        taken = take_in_intake(book, bench.workbench.photos(), file, who=who, today=bench.today, reason=reason)
    key = taken.round.key
    if not taken.is_new:
        say(f"{key}: these very readings are kept already (version {taken.version}); nothing changed.")
        return
    say(
        f"Kept for {key}, version {taken.version}: {amount_words(taken.n_pairs, 'pair')}, "
        f"{amount_words(taken.n_readings, 'reading')}. The report will say which of the faults were found."
    )
    if taken.round.leg_on(LegKind.SENT) is None:
        say(f"Next: evalkit round send {key}")

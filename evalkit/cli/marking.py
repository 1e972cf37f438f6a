"""Commands on the mentor's marking by sheet; `evalkit mark` does it pair by pair."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evalkit.cli.frame import bench_of, plain_app, say
from evalkit.cli.round import write_out
from evalkit.domain.amounts import amount_words

app = plain_app("Mark a round by sheet, for those who would rather write.")


@app.command("sheet")
def sheet(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of the round.")],
    out: Annotated[Path | None, typer.Option("--out", help="File to write; else it goes to stdout.")] = None,
    with_questions: Annotated[
        bool, typer.Option("--with-questions", help="Print the trainee's questions to answer.")
    ] = False,
) -> None:
    """Write a marking sheet (Markdown): what is being marked, else the latest marking, else an empty one.

    It shows nothing the trainee judged.
    """
    from evalkit.files.sheets import write_marking_sheet

    with bench_of(context).book() as (book, who):
        round_ = book.get_round(key).model_copy(update={"mentor": book.get_person("mentor", who)})
        rubric = book.get_rubric_by_digest(round_.rubric_digest)
        finished = book.find_marking(key, who)
        latest = book.find_draft(key, who) or (finished.marking if finished else None)
        sealed = book.find_assessment(key) if with_questions else None
        questions = {pair.number: pair.questions for pair in sealed.assessment.pairs} if sealed else None
        text = write_marking_sheet(round_, rubric, latest, questions)
    write_out(text, out)


@app.command("take-in")
def take_in(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="SHEET", help="The filled marking sheet.")],
    reason: Annotated[str, typer.Option(help="Why a finished marking is amended; makes a new version.")] = "",
) -> None:
    """Read a filled marking sheet and keep it as finished. With a fault, nothing is kept."""
    from evalkit.actions.sheets import take_in_marking

    bench = bench_of(context)
    with bench.book() as (book, who):
        taken = take_in_marking(book, bench.workbench.photos(), file, who=who, today=bench.today, reason=reason)
    if not taken.is_new:
        say(f"{taken.round.key}: this very marking is kept already (version {taken.version}); nothing changed.")
        return
    say(
        f"Marked {taken.round.key}, version {taken.version}: {amount_words(taken.n_pairs, 'pair')}, "
        f"{amount_words(taken.n_readings, 'reading')}.",
        f"Next: evalkit report {taken.round.key}",
    )


@app.command("put-away")
def put_away(context: typer.Context, key: Annotated[str, typer.Argument(help="Key of the round.")]) -> None:
    """Put away a marking that is being worked on; the history keeps it. Finished versions are not touched."""
    with bench_of(context).book() as (book, who):
        book.discard_draft(key, who, who)
    say(f"{key}: what was being worked on is put away.")

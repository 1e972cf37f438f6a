"""Commands on the trainee's assessment."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evalkit.cli.frame import AsJson, OpenEarly, bench_of, plain_app, say, say_json
from evalkit.domain.amounts import amount_words
from evalkit.errors import InputError

app = plain_app("Take in a trainee's assessment and seal it.")


@app.command("take-in")
def take_in(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The filled round sheet, or the packet.")],
    reason: Annotated[str, typer.Option(help="Why a sealed assessment is amended; makes a new version.")] = "",
    transcribed: Annotated[
        bool, typer.Option("--transcribed", help="You wrote it down from the trainee's letter.")
    ] = False,
) -> None:
    """Read a filled sheet or a packet, check all of it, seal it. With a fault, nothing is kept."""
    from evalkit.actions.sheets import take_in_assessment
    from evalkit.cli.packet import take_in_assessment_packet
    from evalkit.files.packets import is_packet, seal_code

    bench = bench_of(context)
    if is_packet(file):
        if transcribed:
            raise InputError(
                "a packet is sealed by its trainee; only a sheet can be transcribed.",
                mend="Leave --transcribed out.",
                where=str(file),
            )
        take_in_assessment_packet(bench, file, reason)
        return
    with bench.book() as (book, who):
        taken = take_in_assessment(
            book, bench.workbench.photos(), file, who=who, today=bench.today, reason=reason, is_transcribed=transcribed
        )
        seal = book.get_assessment(taken.round.key).seal
        is_marked = book.find_marking(taken.round.key) is not None
    if not taken.is_new:
        say(f"{taken.round.key}: this very assessment is sealed already (version {taken.version}); nothing changed.")
        return
    say(
        f"Sealed {taken.round.key}, version {taken.version}: {amount_words(taken.n_pairs, 'pair')}, "
        f"{amount_words(taken.n_readings, 'reading')}, {amount_words(taken.n_photos, 'photo')}.",
        f"Seal code: {seal_code(seal)}",
        *(() if is_marked else ("Mark the box before you read it.",)),
    )


@app.command("show")
def show(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of the round.")],
    version: Annotated[int | None, typer.Option(help="An earlier version; else the latest.")] = None,
    open_early: OpenEarly = False,
    as_json: AsJson = False,
) -> None:
    """Show the assessment as a sheet. This is recorded: what is marked or changed afterwards is not blind."""
    from evalkit.actions.answers import check_may_be_read
    from evalkit.files.sheets import write_assessment_sheet

    with bench_of(context).book() as (book, who):
        sealed = book.get_assessment(key, version)
        check_may_be_read(book, key, who, is_early=open_early)
        round_ = book.get_round(key)
        rubric = book.get_rubric_by_digest(round_.rubric_digest)
        book.record_opening(key, None, who)
    if as_json:
        say_json(
            {"format": 1, "version": sealed.version, "seal": sealed.seal, **sealed.assessment.model_dump(mode="json")}
        )
    else:
        typer.echo(write_assessment_sheet(round_, rubric, sealed.assessment), nl=False)

"""Commands on the mentor's own steadiness: a blind second marking, and how it agrees with the first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import AsJson, bench_of, plain_app, say, say_json, say_table
from evalkit.cli.waiting import waiting
from evalkit.domain.amounts import amount_words

if TYPE_CHECKING:
    from evalkit.progress.severity import SeverityAnswer
    from evalkit.progress.steadiness import Steadiness

app = plain_app("Mark some pairs a second time, blind, to see how steady the marking is.")


@app.command("pick")
def pick(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of a marked round whose pairs still lie on the bench.")],
    n: Annotated[int, typer.Option("--pairs", min=1, max=60, help="How many pairs.")] = 5,
    seed: Annotated[int, typer.Option("--seed", help="The same number draws the same pairs.")] = 1,
    out: Annotated[Path | None, typer.Option("--out", help="File for the marking sheet; else none is written.")] = None,
) -> None:
    """Draw pairs over all levels and, with --out, write a marking sheet for them. It shows no first marking."""
    from evalkit.actions.answers import get_result
    from evalkit.cli.round import write_out
    from evalkit.files.sheets import write_marking_sheet
    from evalkit.progress.steadiness import pick_for_second_marking

    with bench_of(context).book() as (book, _):
        result = get_result(book, key)
        done = {(one.round_key, pair.number) for one in book.list_second_markings(key) for pair in one.pairs}
    picks = pick_for_second_marking([result], n=n, seed=seed, done=done)
    if out is not None:
        numbers = {one.number for one in picks}
        kept = tuple(one for one in result.round.pairs if one.number in numbers)
        text = write_marking_sheet(result.round.model_copy(update={"pairs": kept}), result.rubric, None, None)
        write_out(text, out)
    say("Lay these aside, wait some days, and mark them without looking at the first marking:")
    say(*(f"  {one.number}  {one.tag}  {one.pair}" for one in picks))
    if out is None:
        again = f"evalkit steadiness pick {key} --pairs {n} --seed {seed} --out {key}-second.md"
        say(f"No sheet was written. The same draw with its sheet: {again}")
        return
    say(f"Then: evalkit steadiness take-in {out}")


@app.command("take-in")
def take_in(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="SHEET", help="The filled sheet of the second marking.")],
) -> None:
    """Read a second marking and keep it beside the first; no report and no verdict changes."""
    from evalkit.actions.progressing import take_in_second_marking
    from evalkit.files.sheets import read_marking_sheet, read_sheet_file, sheet_header

    with bench_of(context).book() as (book, who):
        text = read_sheet_file(file)
        round_ = book.get_round(sheet_header(text, str(file)).round_key)
        rubric = book.get_rubric_by_digest(round_.rubric_digest)
        marking = read_marking_sheet(text, str(file), round_, rubric, is_part=True)
        kept = take_in_second_marking(book, marking, who=who)
    if kept is not None:
        say(f"Kept the second marking of {amount_words(len(kept.pairs), 'pair')} of {round_.key}.")
        say("Next: evalkit steadiness show")
    else:
        say(f"{round_.key}: this very second marking is kept already; nothing changed.")


@app.command("show")
def show(context: typer.Context, as_json: AsJson = False) -> None:
    """Say how often two markings of the same pair agree and, with several mentors, who marks more strictly."""
    from evalkit.actions.progressing import lines_of, repeats_in
    from evalkit.progress.severity import severity_of
    from evalkit.progress.steadiness import steadiness_of

    with bench_of(context).book() as (book, _), waiting("Reckoning") as on_step:
        found = steadiness_of(repeats_in(book))
        severity = severity_of(lines_of(book), on_pass=lambda n: on_step(n, max(n, 60)))
    if as_json:
        from evalkit.reports.steadiness_words import steadiness_document

        say_json(steadiness_document(found, severity))
        return
    _say(found, severity)


def _say(found: tuple[Steadiness, ...], severity: SeverityAnswer) -> None:
    from evalkit.reports.steadiness_words import severity_words, steadiness_words

    if not found:
        say("No pair was marked twice so far. Start with: evalkit steadiness pick ROUND --out sheet.md")
    for one in found:
        say(*steadiness_words(one))
        say_table(
            ("criterion", "same level", "second minus first"),
            [(row.name, f"{row.same.k} of {row.same.n}", f"{row.mean_by:+.2f}") for row in one.criteria],
        )
    say(*severity_words(severity))

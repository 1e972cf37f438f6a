"""The root list of commands, and the one place where an error becomes a line on stderr and an exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from evalkit import __version__
from evalkit.cli import assessment, book, demo, mark, marking, pair, report, rubric, trainee
from evalkit.cli import round as round_noun
from evalkit.cli.frame import Bench, plain_app
from evalkit.errors import EvalkitError
from evalkit.workbench import set_up

ABOUT = """Teach the sharpening of hairdressing shears at a distance.

A box of numbered practice pairs goes out with a rubric; the trainee tests, sharpens, tests again and judges; the
mentor marks without having read that; evalkit sets both side by side in a graded report.

The usual order: book new, trainee add, pair add, round plan, round send, round received, assessment take-in,
round returned, round check-in, mark, report.
"""

app = plain_app(ABOUT)
app.add_typer(book.app, name="book")
app.add_typer(rubric.app, name="rubric")
app.add_typer(trainee.app, name="trainee")
app.add_typer(pair.app, name="pair")
app.add_typer(round_noun.app, name="round")
app.add_typer(assessment.app, name="assessment")
app.add_typer(marking.app, name="marking")
app.command("mark")(mark.mark)
app.command("report")(report.report)
app.command("demo")(demo.demo)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"evalkit {__version__}")
        raise typer.Exit


@app.callback()
def root(
    context: typer.Context,
    book_folder: Annotated[
        Path | None, typer.Option("--book", help="Folder of the book. Else EVALKIT_BOOK, else ./evalkit-book.")
    ] = None,
    who: Annotated[str | None, typer.Option("--as", help="Key of the person who acts; else the book's mentor.")] = None,
    today: Annotated[
        str | None, typer.Option("--today", metavar="YYYY-MM-DD", help="Take this day as today; else the clock's.")
    ] = None,
    _: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version.")] = False,
) -> None:
    """Options before the command hold for all commands."""
    given = {"BOOK": str(book_folder) if book_folder else None, "WHO": who, "TODAY": today}
    environment = {**os.environ, **{f"EVALKIT_{name}": text for name, text in given.items() if text is not None}}
    context.obj = Bench(set_up(environment), run)


root.__doc__ = ABOUT


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run one command and leave with its exit code: 0 done, 1 to 4 as `evalkit.errors` says, 2 for a wrong call."""
    try:
        app(args=list(arguments) if arguments is not None else None, prog_name="evalkit")
    except EvalkitError as error:
        print(f"evalkit: {error}" if "\n" not in str(error) else str(error), file=sys.stderr)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        print("evalkit: stopped; what was said to be kept is kept.", file=sys.stderr)
        sys.exit(130)
    sys.exit(0)


def run(arguments: Sequence[str]) -> int:
    """Run one command inside this process and answer its exit code."""
    try:
        main(arguments)
    except SystemExit as left:
        return left.code if isinstance(left.code, int) else 1

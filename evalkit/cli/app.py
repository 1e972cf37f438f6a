"""The root list of commands, and the one place where an error becomes a line on stderr and an exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from evalkit import __version__
from evalkit.cli.frame import Bench, Listed, listing, plain_app
from evalkit.errors import EvalkitError, FileFaultsError, disk_error

ABOUT = """Teach the sharpening of hairdressing shears at a distance.

A box of numbered practice pairs goes out with a rubric; the trainee tests, sharpens, tests again and judges; the
mentor marks without having read that; evalkit sets both side by side in a graded report.

The usual order: book new, trainee add, pair add, round plan, round send, round received, assessment take-in,
round returned, round check-in, mark, report.
"""

COMMANDS = {
    "book": Listed("evalkit.cli.book:app", "Make a book, check it, back it up, read its history."),
    "rubric": Listed("evalkit.cli.rubric:app", "List, check and show rubrics."),
    "trainee": Listed("evalkit.cli.trainee:app", "Add trainees, list them, hand out or erase what is kept of one."),
    "pair": Listed("evalkit.cli.pair:app", "Keep the stock of practice pairs."),
    "round": Listed("evalkit.cli.round:app", "Plan a box of numbered pairs and follow it there and back."),
    "intake": Listed("evalkit.cli.intake:app", "Read the pairs of a box before it is posted, to see what is found."),
    "assessment": Listed("evalkit.cli.assessment:app", "Take in a trainee's assessment and seal it."),
    "packet": Listed(
        "evalkit.cli.packet:app", "Make, check and take in packets: the one file between mentor and trainee."
    ),
    "mark": Listed("evalkit.cli.mark:mark", "Mark a round pair by pair."),
    "serve": Listed(
        "evalkit.cli.serve:serve",
        "Open the marking pages in a browser: check boxes in, mark pair by pair, compare, report.",
    ),
    "marking": Listed("evalkit.cli.marking:app", "Mark a round by sheet, for those who would rather write."),
    "report": Listed("evalkit.cli.report:report", "Write the graded report of a round."),
    "progress": Listed("evalkit.cli.progress:progress", "Say where a trainee stands and write the progress report."),
    "school": Listed(
        "evalkit.cli.progress:school", "Show every trainee on one page: where each stands, and who needs a box next."
    ),
    "sign-off": Listed("evalkit.cli.progress:sign_off", "Record that customers' shears may come, or take that back."),
    "steadiness": Listed("evalkit.cli.steadiness:app", "Mark some pairs a second time, blind."),
    "demo": Listed("evalkit.cli.demo:demo", "Run the main job on an invented mentor, two trainees and twelve boxes."),
}
"""Every command by its name. A module is loaded only when one of its commands is called."""

app = plain_app(ABOUT, listing(COMMANDS))


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
    from evalkit.workbench import set_up

    given = {"BOOK": str(book_folder) if book_folder else None, "WHO": who, "TODAY": today}
    environment = {**os.environ, **{f"EVALKIT_{name}": text for name, text in given.items() if text is not None}}
    context.obj = Bench(set_up(environment), run)


root.__doc__ = ABOUT


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run one command and leave with its exit code: 0 done, 1 to 4 as `evalkit.errors` says, 2 for a wrong call."""
    try:
        app(args=list(arguments) if arguments is not None else None, prog_name="evalkit")
        sys.stdout.flush()
    except EvalkitError as error:
        print(_told(error), file=sys.stderr)
        sys.exit(error.exit_code)
    except BrokenPipeError:  # whoever read what is said has closed it
        _let_go_of_stdout()
        sys.exit(1)
    except OSError as error:
        refused = disk_error(error, None if error.filename else "standard output")
        _let_go_of_stdout()
        print(f"evalkit: {refused}", file=sys.stderr)
        sys.exit(refused.exit_code)
    except KeyboardInterrupt:
        print("evalkit: stopped; what was said to be kept is kept.", file=sys.stderr)
        sys.exit(130)
    sys.exit(0)


def _let_go_of_stdout() -> None:
    """What cannot be said is dropped, or Python would try once more when it ends, and say so at length."""
    try:
        sys.stdout.flush()
    except OSError:
        with suppress(OSError), Path(os.devnull).open("w", encoding="utf-8") as nowhere:
            os.dup2(nowhere.fileno(), sys.stdout.fileno())


def _told(error: EvalkitError) -> str:
    """One line; for several faults of files a line that counts them, then each on its own with its place."""
    if not isinstance(error, FileFaultsError) or len(error.faults) == 1:
        return f"evalkit: {error}"
    paths = list(dict.fromkeys(fault.path for fault in error.faults))
    where = paths[0] if len(paths) == 1 else f"{len(paths)} files"
    return f"evalkit: {where}: {error.what} {error.mend}\n{error}"


def run(arguments: Sequence[str]) -> int:
    """Run one command inside this process and answer its exit code."""
    try:
        main(arguments)
    except SystemExit as left:
        return left.code if isinstance(left.code, int) else 1

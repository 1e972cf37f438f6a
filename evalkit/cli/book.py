"""Commands on the book: make it, check it, read its history."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import AsJson, bench_of, made, plain_app, say, say_json, say_table
from evalkit.domain.amounts import amount_words
from evalkit.errors import BookError, InputError, NotFoundError

if TYPE_CHECKING:
    from evalkit.book.book import Book

app = plain_app("Make a book, check it, back it up, read its history.")


@app.command("new")
def new(
    context: typer.Context,
    folder: Annotated[Path | None, typer.Argument(help="Folder to make; else --book, else ./evalkit-book.")] = None,
    mentor: Annotated[str | None, typer.Option("--mentor", help="Short key of the mentor, like 'oda'.")] = None,
    name: Annotated[str, typer.Option("--name", help="The name as it stands on reports.")] = "",
    trainee: Annotated[
        str | None,
        typer.Option("--trainee", help="For a trainee's own book: the key by which your mentor names you, like 'teo'."),
    ] = None,
) -> None:
    """Make an empty book: a folder with the record and the photos."""
    from evalkit.domain.round import Person

    if mentor and trainee:
        raise InputError("a book is kept by a mentor or by a trainee, not by both.", mend="Name one of them.")
    workbench = bench_of(context).workbench
    path = folder or workbench.settings.book
    key = trainee or mentor or "mentor"
    person = made(Person, {"key": key, "name": name or key.capitalize()}, where="trainee" if trainee else "mentor")
    with workbench.new_book(path) as book:
        book.add_person("trainee" if trainee else "mentor", person, person.key)
    say(f"Made a book in {path} for {person.name}.")
    if path != workbench.settings.book:
        say(f"Say --book {path} before each command, or set EVALKIT_BOOK={path}.")
    if trainee:
        say("Next: evalkit packet take-in FILE, with a packet that your mentor sent.")


@app.command("check")
def check(context: typer.Context, as_json: AsJson = False) -> None:
    """Reread everything: structure, references, the chain of acts, every seal, every photo."""
    from evalkit.actions.pictures import clear_half_kept

    bench = bench_of(context)
    store = bench.workbench.photos()
    with bench.book() as (book, _):
        faults = [*book.check(), *store.check(book.photo_names())]
        n_cleared = 0 if faults else clear_half_kept(book, store)
    if as_json:
        say_json({"format": 1, "is_sound": not faults, "faults": faults})
    elif not faults:
        say("The book is sound: structure, references, history, seals and photos were all reread.")
        if n_cleared:
            say(f"Cleared away {amount_words(n_cleared, 'photo')} that a broken-off command had left behind.")
    if faults:
        raise BookError(
            f"{amount_words(len(faults), 'fault')}: " + "; ".join(faults),
            mend="Put back your last good copy of the folder; change nothing in this one.",
            where=str(bench.workbench.settings.book),
        )


@app.command("history")
def history(
    context: typer.Context,
    subject: Annotated[str | None, typer.Argument(help="Only acts on this round, pair or person.")] = None,
    as_json: AsJson = False,
) -> None:
    """Who did what, when. Nothing in a book is overwritten."""
    with bench_of(context).book() as (book, _):
        acts = book.list_acts(subject)
        if subject is not None and not acts:
            _check_known(book, subject)
    if as_json:
        say_json({"format": 1, "acts": [act.as_dict() for act in acts]})
    else:
        say_table(("when", "who", "act", "on"), [(f"{a.at:%Y-%m-%d %H:%M}", a.who, a.act, a.subject) for a in acts])


@app.command("backup")
def backup(
    context: typer.Context,
    out: Annotated[Path | None, typer.Argument(help="File to write; else BOOK-DAY.zip in this folder.")] = None,
    despite_lack: Annotated[
        bool, typer.Option("--despite-lack", help="Back up all the rest when a photo is missing or changed.")
    ] = False,
) -> None:
    """Write the whole book with its photos into one file. The book may be in use meanwhile."""
    bench = bench_of(context)
    path = out or Path(f"{bench.workbench.settings.book.resolve().name}-{bench.today}.zip")
    with bench.book() as (book, _):
        made = book.back_up(path, despite_lack=despite_lack)
    say(f"Wrote {made.path}: the record and {amount_words(made.n_photos, 'photo')}, {made.n_bytes / 1e6:.1f} MB.")
    if made.lacking:
        say(f"It lacks {amount_words(len(made.lacking), 'photo')} that the book knows: see 'evalkit book check'.")
    say("Keep it on another disk; it holds names and notes of your trainees.")


@app.command("restore")
def restore(
    context: typer.Context,
    backup_file: Annotated[Path, typer.Argument(metavar="BACKUP", help="A file that 'book backup' made.")],
    is_over: Annotated[
        bool, typer.Option("--over", help="Set the book that is here aside though it holds what the backup lacks.")
    ] = False,
) -> None:
    """Put a backup back into the place of the book. Every byte is checked first; nothing is ever removed."""
    from evalkit.book.restoring import restore as put_back

    workbench = bench_of(context).workbench
    restored = put_back(backup_file, workbench.settings.book, workbench.now(), is_over=is_over)
    held = f"{amount_words(restored.n_acts, 'act')} and {amount_words(restored.n_photos, 'photo')}"
    say(f"Put back {restored.folder}: {held}, as of {restored.made_at[:10]}.")
    if restored.lacking:
        say(f"The backup lacks {amount_words(len(restored.lacking), 'photo')}; 'evalkit book check' names them.")
    if restored.aside:
        say(f"The book that was here is now {restored.aside}.")


def _check_known(book: Book, subject: str) -> None:
    """Raises NotFoundError for a subject that is no round, pair or person."""
    from difflib import get_close_matches

    keys = [
        *(one.key for one in book.list_rounds()),
        *(one.tag for one in book.list_pairs()),
        *(one.key for one in book.list_people()),
    ]
    key = subject.rpartition(" ")[2]
    if key not in keys:
        near = get_close_matches(key, keys, n=1)
        raise NotFoundError(
            f"there is no round, pair or person '{subject}'.",
            mend=f"Did you mean '{near[0]}'?" if near else "See: evalkit book history.",
        )

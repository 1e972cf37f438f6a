"""Commands on trainees."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evalkit.cli.frame import AsJson, bench_of, made, plain_app, say, say_json, say_table
from evalkit.domain.amounts import amount_words
from evalkit.errors import InputError

app = plain_app("Add trainees, list them, hand out or erase what is kept of one.")


@app.command("add")
def add(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Short key, like 'teo'; it names the trainee in files and commands.")],
    name: Annotated[str, typer.Argument(help="Name as it stands on paper.")],
) -> None:
    """Add a trainee to the book."""
    from evalkit.domain.round import Person

    person = made(Person, {"key": key, "name": name}, where="trainee")
    with bench_of(context).book() as (book, who):
        book.add_person("trainee", person, who)
    say(f"Added {person.name} as '{person.key}'.")


@app.command("list")
def list_all(context: typer.Context, as_json: AsJson = False) -> None:
    """List the trainees and their boxes."""
    with bench_of(context).book() as (book, _):
        rows = [(person, book.list_rounds(person.key)) for person in book.list_people("trainee")]
    if as_json:
        say_json({
            "format": 1,
            "trainees": [
                {"key": person.key, "name": person.name, "rounds": [round_.key for round_ in rounds]}
                for person, rounds in rows
            ],
        })  # fmt: skip
    else:
        say_table(
            ("key", "name", "rounds", "latest"),
            [
                (p.key, p.name, len(rounds), f"{rounds[-1].key}, {rounds[-1].state}" if rounds else "-")
                for p, rounds in rows
            ],
        )


@app.command("export")
def export(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of the trainee.")],
    out: Annotated[Path | None, typer.Option("--out", help="File to write; else KEY-DAY.zip in this folder.")] = None,
) -> None:
    """Write everything that the book holds about one trainee into one file, to hand out on request."""
    from evalkit.actions.personal import export_person

    bench = bench_of(context)
    path = out or Path(f"{key}-{bench.today}.zip")
    with bench.book() as (book, _):
        handed = export_person(book, bench.workbench.photos(), key, path, today=bench.today)
    say(f"Wrote {path}: {amount_words(handed.n_rounds, 'round')}, {amount_words(handed.n_photos, 'photo')}.")


@app.command("erase")
def erase(
    context: typer.Context,
    key: Annotated[str, typer.Argument(help="Key of the trainee.")],
    is_meant: Annotated[bool, typer.Option("--yes", help="Do it. There is no way back.")] = False,
) -> None:
    """Erase one trainee for good: name, words, photos, sign-offs. The bare levels stay, under no name."""
    from evalkit.actions.personal import erase_person

    bench = bench_of(context)
    with bench.book() as (book, who):
        person = book.get_person("trainee", key)
        if not is_meant:
            n_rounds = amount_words(len(book.list_rounds(key)), "round")
            raise InputError(
                f"this erases {person.name} for good: name, words, photos and sign-offs of {n_rounds}.",
                mend="Say --yes if it is meant. Perhaps hand out a copy first: evalkit trainee export " + key,
                where=f"trainee {key}",
            )
        erased = erase_person(book, bench.workbench.photos(), key, who=who)
    say(
        f"Erased {person.name}. Of {amount_words(erased.n_rounds, 'round')} the bare levels stay, under '{erased.key}'."
    )
    say("Not reached: backups, reports, sheets and packets that lie elsewhere. Remove those by hand.")

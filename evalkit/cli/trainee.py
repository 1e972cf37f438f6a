"""Commands on trainees."""

from __future__ import annotations

from typing import Annotated

import typer

from evalkit.cli.frame import AsJson, bench_of, made, plain_app, say, say_json, say_table

app = plain_app("Add trainees and list them.")


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

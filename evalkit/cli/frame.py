"""What all commands share: how an app is made, how the workbench reaches a command, how answers are shown."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple, TypeVar

import typer
from typer.core import TyperGroup

from evalkit.errors import InputError, NotFoundError

if TYPE_CHECKING:
    from enum import StrEnum

    from evalkit.book.book import Book
    from evalkit.domain.round import Person
    from evalkit.domain.value import Value
    from evalkit.workbench import Workbench

    Choice = TypeVar("Choice", bound=StrEnum)
    Model = TypeVar("Model", bound=Value)

AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON, for other programs.")]
OpenEarly = Annotated[
    bool, typer.Option("--open-early", help="Read the assessment before marking: recorded, and no longer blind.")
]


def plain_app(about: str, group: type[TyperGroup] = TyperGroup) -> typer.Typer:
    """A list of commands whose help reads like a page."""
    return typer.Typer(
        cls=group,
        help=about,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        no_args_is_help=True,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )


class Listed(NamedTuple):
    """A command or a noun of the root list: where it is, as 'module:name', and what it is for, in one sentence."""

    where: str
    about: str


def listing(lines: Mapping[str, Listed]) -> type[TyperGroup]:
    """A root that loads a command only when it is called, so that telling the list costs next to nothing."""

    class Listing(TyperGroup):
        def __init__(self, **named: Any) -> None:  # noqa: ANN401 - whatever the library hands over
            super().__init__(**named)
            self.commands = dict.fromkeys(lines)  # type: ignore[assignment]  # names only; they make the hint at a slip

        def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ANN401, ARG002 - the library hides its types
            return _loaded(cmd_name, lines[cmd_name].where) if cmd_name in lines else None

        def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ANN401, ARG002
            with formatter.section("Commands"):
                formatter.write_dl([(name, line.about) for name, line in lines.items()])

    return Listing


def _loaded(name: str, where: str) -> object:
    """The command of one function, or the group of a noun's app, under its name."""
    from importlib import import_module

    from typer.main import get_command, get_group

    module, _, attribute = where.partition(":")
    found = getattr(import_module(module), attribute)
    if isinstance(found, typer.Typer):
        group = get_group(found)
        group.name = name
        return group
    alone = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
    alone.command(name)(found)
    return get_command(alone)


class Bench:
    """The workbench, and the book once it is opened, for one command."""

    def __init__(self, workbench: Workbench, run: Callable[[Sequence[str]], int]) -> None:
        self.workbench = workbench
        self.run = run
        """Runs another command of evalkit inside this process and answers its exit code."""

    @contextmanager
    def book(self) -> Iterator[tuple[Book, str]]:
        """The book, and the key of who acts. Closed again afterwards."""
        with self.workbench.open_book() as book:
            yield book, _known(book, self.workbench.settings.who) or get_keeper(book).key

    @property
    def today(self) -> date:
        return self.workbench.today


def bench_of(context: typer.Context) -> Bench:
    """The workbench that the root put into the context."""
    bench: Bench = context.obj
    return bench


def _known(book: Book, who: str) -> str:
    """The key of the one who acts, if the book knows it; '' when nobody was named."""
    keys = [person.key for person in book.list_people()]
    if who and who not in keys:
        raise NotFoundError(f"the book knows nobody as '{who}'.", mend=f"Say who acts: one of {', '.join(keys)}.")
    return who


def get_keeper(book: Book) -> Person:
    """Who acts when nobody is named: the trainee whose own book it is, else the mentor."""
    return book.find_own_trainee() or get_mentor(book)


def get_mentor(book: Book) -> Person:
    """The book's mentor; where there are several, the one who acts must be named."""
    mentors = book.list_people("mentor")
    if len(mentors) == 1:
        return mentors[0]
    keys = ", ".join(person.key for person in mentors)
    raise InputError(
        f"this book has {len(mentors)} mentors.", mend=f"Say who acts: evalkit --as KEY ..., one of {keys}."
    )


def day(text: str | None, today: date, *, of: str) -> date:
    """A day written YYYY-MM-DD; today when it was left out."""
    if not text:
        return today
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"'{text}' is not a day.", mend=f"Write the day of {of} like 2026-03-09.") from None


def choice(kind: type[Choice], text: str, *, of: str) -> Choice:
    """One of a closed list of words, with a hint when it is none of them."""
    from difflib import get_close_matches

    words = [member.value for member in kind]
    if text in words:
        return kind(text)
    near = get_close_matches(text.lower(), words, n=1)
    hint = f"Did you mean '{near[0]}'? " if near else ""
    raise NotFoundError(f"'{text}' is no {of}.", mend=f"{hint}It is one of: {', '.join(words)}.")


def made(model: type[Model], fields: dict[str, Any], *, where: str) -> Model:
    """A value from what was typed; the first fault as one clear error."""
    from evalkit.files.field_words import made_of

    return made_of(model, fields, where=where)


def say(*lines: str) -> None:
    """Plain lines on stdout."""
    for line in lines:
        typer.echo(line)


def say_json(answer: object) -> None:
    """One JSON document on stdout."""
    typer.echo(json.dumps(answer, ensure_ascii=False, indent=2, default=str))


def say_table(heads: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    """Columns, wide enough and no wider; a list without a row says so."""
    if not rows:
        say("Nothing yet.")
        return
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="bold")
    for head in heads:
        table.add_column(head, overflow="fold")
    for row in rows:
        table.add_row(*(Text(str(cell)) for cell in row))
    Console(highlight=False, soft_wrap=False).print(table)

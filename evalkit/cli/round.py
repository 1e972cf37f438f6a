"""Commands on rounds: plan a box, follow it, write its sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli import journey
from evalkit.cli.frame import AsJson, bench_of, choice, day, plain_app, say, say_json, say_table
from evalkit.cli.journey import Key, On
from evalkit.cli.papers import papers
from evalkit.cli.proposing import propose, say_planned
from evalkit.disk import write_new
from evalkit.domain.amounts import amount_words
from evalkit.domain.round import Round
from evalkit.domain.triage import Decision
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book

app = plain_app("Plan a box of numbered pairs and follow it there and back.")


@app.command("plan")
def plan(
    context: typer.Context,
    trainee: Annotated[str, typer.Argument(help="Key of the trainee.")],
    rubric: Annotated[str, typer.Option("--rubric", help="Key of a rubric, or a file.")],
    pairs: Annotated[str, typer.Option("--pairs", help="Tags in the order of their numbers: S-101,S-102,...")],
    key: Annotated[str | None, typer.Option("--key", help="Key of the round; else the trainee's next.")] = None,
    called_for: Annotated[
        str,
        typer.Option(
            "--called-for", help="What you think a pair needs: 3=leave,5='adjust only'. The trainee never sees it."
        ),
    ] = "",
    on: On = None,
) -> None:
    """Plan a round: who, by which rubric, which pairs under which numbers."""
    from evalkit.actions.rounds import check_past, plan_round

    bench = bench_of(context)
    planned_on = day(on, bench.today, of="planning")
    check_past(planned_on, bench.today)
    with bench.book() as (book, who):
        round_ = plan_round(
            book,
            trainee=book.get_person("trainee", trainee),
            mentor=book.get_person("mentor", who),
            rubric=bench.workbench.find_rubric(rubric),
            tags=[tag.strip() for tag in pairs.split(",") if tag.strip()],
            planned_on=planned_on,
            key=key,
            called_for=_calls(called_for),
        )
    say_planned(round_)


@app.command("unplan")
def unplan(context: typer.Context, key: Annotated[str, typer.Argument(help="Key of the round.")]) -> None:
    """Take back the plan of a box that has not left; its pairs are free again."""
    with bench_of(context).book() as (book, who):
        round_ = book.remove_plan(key, who)
    say(f"The plan of {round_.key} is taken back; its {amount_words(len(round_.pairs), 'pair')} may go in another box.")


app.command("propose")(propose)
app.command("papers")(papers)
app.command("send")(journey.send)
app.command("received")(journey.received)
app.command("returned")(journey.returned)
app.command("check-in")(journey.check_in)
app.command("lost")(journey.lost)


def _calls(text: str) -> dict[int, Decision]:
    calls = {}
    for part in filter(None, (part.strip() for part in text.split(","))):
        number, sign, word = part.partition("=")
        if not sign or not number.strip().isdecimal():
            raise InputError(f"'{part}' is not NUMBER=DECISION.", mend="Write it like 3=leave,5='adjust only'.")
        calls[int(number)] = choice(Decision, word.strip().strip("'\""), of="decision")
    return calls


@app.command("sheet")
def sheet(
    context: typer.Context,
    key: Key,
    out: Annotated[Path | None, typer.Option("--out", help="File to write; else it goes to stdout.")] = None,
) -> None:
    """Write the trainee's round sheet (Markdown), ready to fill in."""
    from evalkit.files.sheets import write_assessment_sheet

    with bench_of(context).book() as (book, _):
        round_ = book.get_round(key)
        text = write_assessment_sheet(round_, book.get_rubric_by_digest(round_.rubric_digest))
    write_out(text, out)


@app.command("bench-book")
def bench_book(
    context: typer.Context,
    key: Key,
    out: Annotated[Path, typer.Option("--out", help="File to write, like teo-3.html.")],
) -> None:
    """Write the trainee's bench book: one page that is filled in on a phone or laptop, without any network."""
    from evalkit.workbench import bench_page

    with bench_of(context).book() as (book, _):
        page = bench_page(book, key)
    write_out(page.html, out)
    say(f"It goes to {page.round.trainee.name}; to be opened with a browser, not in a preview.")


def write_out(text: str, out: Path | None) -> None:
    """A new file, or stdout. A file that is there already is never overwritten: it may be filled in."""
    if out is None:
        typer.echo(text, nl=False)
        return
    try:
        write_new(out, text.encode())
    except FileExistsError:
        raise InputError(
            "there is a file of that name, perhaps one that is filled in.", mend="Name another file.", where=str(out)
        ) from None
    except OSError as error:
        raise InputError(
            "the file cannot be written.", mend=f"({error.strerror}) Name another.", where=str(out)
        ) from None
    say(f"Wrote {out}.")


@app.command("list")
def list_all(
    context: typer.Context,
    trainee: Annotated[str | None, typer.Option("--trainee", help="Only this trainee's.")] = None,
    as_json: AsJson = False,
) -> None:
    """List the rounds, where each box is, and which are overdue."""
    from evalkit.reports.custody_words import overdue_words

    bench = bench_of(context)
    limit = bench.workbench.settings.overdue_days
    with bench.book() as (book, _):
        rows = [
            (one, book.find_assessment(one.key) is not None, _marking_state(book, one))
            for one in book.list_rounds(trainee)
        ]
    if as_json:
        rounds = [
            {"key": r.key, "trainee": r.trainee.key, "state": r.state, "pairs": len(r.pairs)}
            | {"days_overdue": r.days_overdue(bench.today, limit)}
            | {"is_assessed": assessed, "is_marked": marking == "finished", "is_begun": marking == "begun"}
            for r, assessed, marking in rows
        ]
        say_json({"format": 1, "rounds": rounds})
    else:
        say_table(
            ("round", "trainee", "pairs", "box", "since", "assessment", "marking"),
            [
                (
                    r.key, r.trainee.name, len(r.pairs),
                    ", ".join(filter(None, (r.state, overdue_words(r, bench.today, limit)))),
                    r.legs[-1].happened_on if r.legs else r.planned_on,
                    "sealed" if a else "-", m,
                )
                for r, a, m in rows
            ],
        )  # fmt: skip


def _marking_state(book: Book, round_: Round) -> str:
    if book.find_marking(round_.key) is not None:
        return "finished"
    mentors = (one.key for one in book.list_people("mentor"))
    return "begun" if any(book.find_draft(round_.key, key) is not None for key in mentors) else "-"


@app.command("show")
def show(context: typer.Context, key: Key, as_json: AsJson = False) -> None:
    """Show one round: its pairs and its journey. Nothing of the assessment is shown."""
    with bench_of(context).book() as (book, _):
        round_ = book.get_round(key)
    if as_json:
        from evalkit.reports.custody_words import ways_document

        say_json({"format": 1, **round_.model_dump(mode="json"), **ways_document(round_)})
        return
    _show(round_)


def _show(round_: Round) -> None:
    from evalkit.reports.custody_words import ways_of

    say(f"Round {round_.key}: {round_.trainee.name}, by {round_.rubric_key} version {round_.rubric_version}.", "")
    say_table(
        ("no", "tag", "pair", "difficulty"),
        [(n.number, n.pair.tag, n.pair.words, n.pair.difficulty) for n in round_.pairs],
    )
    say("", f"Planned on {round_.planned_on}.")
    for leg in round_.legs:
        ref = f" ({leg.carrier_ref})" if leg.carrier_ref else ""
        condition = f": {leg.condition}" if leg.condition else ""
        say(f"{leg.kind.capitalize()} on {leg.happened_on}{ref}{condition}")
    say(*(way.words for way in ways_of(round_)))

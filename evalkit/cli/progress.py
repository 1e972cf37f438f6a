"""Commands on months: a trainee's progress, the school on one page, sign-off."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import AsJson, bench_of, choice, day, say, say_json, say_table
from evalkit.cli.reporting import Over
from evalkit.cli.waiting import patience, waiting
from evalkit.domain.pair import EdgeType
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.reports.progress_rows import ProgressRow

Trainee = Annotated[str, typer.Argument(help="Key of the trainee, like teo.")]
Edges = Annotated[list[str] | None, typer.Option("--edge", help="Edge type, like convex; give it again for another.")]
Out = Annotated[Path, typer.Option("--out", help="Folder to write to.")]
Formats = Annotated[str, typer.Option("--format", help="html, pdf, md, json; several with commas.")]
PASSES = 80
"""How many passes over the school learning takes, about: where the bar ends unless it takes more."""
PaperName = Annotated[str | None, typer.Option("--paper", help="A4 or Letter; else EVALKIT_PAPER, else A4.")]


def progress(
    context: typer.Context,
    trainee: Trainee,
    out: Out = Path("reports"),
    formats: Formats = "html",
    edge: Edges = None,
    paper: PaperName = None,
    over: Over = False,
    as_json: AsJson = False,
) -> None:
    """Say where a trainee stands and write the progress report: skill, judgement, readiness over the months."""
    with patience("Starting"):
        from evalkit.actions.progressing import history_from
        from evalkit.reports.formats import parse_formats, write_reports
        from evalkit.reports.progress_page import ProgressJob

    workbench = bench_of(context).workbench.at(paper=paper)
    wanted, kinds = parse_formats(formats), _edge_types(edge)
    with workbench.open_book() as book, waiting("Reckoning") as on_step:
        history = history_from(book, trainee, edge_types=kinds, on_step=on_step)
    job = ProgressJob(history, workbench.today, workbench.settings.paper)
    if as_json:
        typer.echo(job.data, nl=False)
        return
    _say_progress(job.row)
    with patience("Writing the report"):
        files = write_reports(job, wanted, out, is_over=over)
    say(*(file.words for file in files))


def school(
    context: typer.Context,
    out: Out = Path("reports"),
    formats: Formats = "html",
    paper: PaperName = None,
    learn: Annotated[
        bool, typer.Option("--learn", help="Learn from all trainees what a step of difficulty or a fault costs.")
    ] = False,
    forget: Annotated[bool, typer.Option("--forget", help="Forget what was learnt: back to the defaults.")] = False,
    over: Over = False,
    as_json: AsJson = False,
) -> None:
    """Show every trainee on one page: where each stands, and who needs a box next."""
    if learn and forget:
        raise InputError("--learn and --forget gainsay each other.", mend="Give one of them.")
    if learn:
        return _learn(context, as_json=as_json)
    if forget:
        return _forget(context)
    return _overview(context, out, formats, paper, is_over=over, as_json=as_json)


def _overview(
    context: typer.Context, out: Path, formats: str, paper: str | None, *, is_over: bool, as_json: bool
) -> None:
    with patience("Starting"):
        from evalkit.actions.progressing import history_from
        from evalkit.progress.school import school_of
        from evalkit.reports.formats import parse_formats, write_reports
        from evalkit.reports.school_page import SchoolJob

    workbench = bench_of(context).workbench.at(paper=paper)
    wanted = parse_formats(formats)
    histories = []
    with workbench.open_book() as book, waiting("Trainees") as on_step:
        people = book.list_people("trainee")
        for done, person in enumerate(people, 1):
            histories.append(history_from(book, person.key, is_brief=True))
            on_step(done, len(people))
    after = workbench.settings.overdue_days
    job = SchoolJob(school_of(histories, on=workbench.today, overdue_after=after), workbench.settings.paper)
    if as_json:
        typer.echo(job.data, nl=False)
        return
    say_table(
        ("trainee", "the figures say", "pairs", "next pair passes", "box"),
        [(row.name, row.answer, row.pairs, row.chance, row.box) for row in job.row.trainees],
    )
    say(*(f"{one.name}: {one.remark}." for one in job.row.trainees if one.remark))
    for at, row in enumerate(job.row.next_boxes, 1):
        say(f"{at}. {row.name}: {row.why}")
    with patience("Writing the report"):
        files = write_reports(job, wanted, out, is_over=is_over)
    say(*(file.words for file in files))


def _learn(context: typer.Context, *, as_json: bool) -> None:
    """From then on progress and the overview reckon with it."""
    with patience("Starting"):
        from evalkit.actions.school import learn_from_school
        from evalkit.progress.severity import severity_in
        from evalkit.reports.learnt_words import learnt_rows, rests_on_words, school_values_document
        from evalkit.reports.steadiness_words import severity_words

    bench = bench_of(context)
    with bench.book() as (book, who), waiting("Learning from the school") as on_step:
        values = learn_from_school(book, who=who, on=bench.today, on_pass=lambda n: on_step(n, max(n, PASSES)))
    if as_json:
        say_json(school_values_document(values))
        return
    say(f"Learnt from {rests_on_words(values)}.")
    say_table(("on the skill scale", "learnt", "default"), learnt_rows(values))
    say(*severity_words(severity_in(values)), "From now on progress and school reckon with it.")
    say("Learn again when more rounds are marked; back to the defaults: evalkit school --forget")


def _forget(context: typer.Context) -> None:
    with bench_of(context).book() as (book, who):
        values = book.forget_school_values(who)
    say(f"Forgotten: what was learnt on {values.learnt_on}. The defaults stand again.")


def sign_off(
    context: typer.Context,
    trainee: Trainee,
    edge: Edges = None,
    note: Annotated[str, typer.Option("--note", help="Your reason; asked for when the figures do not say ready.")] = "",
    withdraw: Annotated[bool, typer.Option("--withdraw", help="Take a sign-off back.")] = False,
    reason: Annotated[str, typer.Option("--reason", help="Why it is taken back.")] = "",
    on: Annotated[str | None, typer.Option("--on", metavar="YYYY-MM-DD", help="The day; else today.")] = None,
) -> None:
    """Record that customers' shears may come, or take that back: by edge type, with the evidence as it stands."""
    from evalkit.actions import progressing

    bench = bench_of(context)
    when, kinds = day(on, bench.today, of="the sign-off"), _edge_types(edge)
    if withdraw:
        with bench.book() as (book, who):
            taken = progressing.withdraw(book, trainee, kinds, reason=reason, who=who, on=when)
        for one in taken:
            say(f"Withdrawn: {', '.join(one.edge_types)} of {trainee}, signed off on {one.signed_on}.")
        return
    if not kinds:
        raise InputError("a sign-off names its edge types.", mend="Add --edge, like --edge bevel.")
    from evalkit.reports.progress_document import evidence_json
    from evalkit.reports.progress_words import DECISION, HEADLINES

    with bench.book() as (book, who), waiting("Reckoning") as on_step:
        histories = {
            kind: progressing.history_from(book, trainee, edge_types=(kind,), on_step=on_step) for kind in kinds
        }
        progressing.sign_off(
            book, trainee, histories, evidence=evidence_json(histories, made_on=when), who=who, on=when, note=note
        )
    for kind, history in histories.items():
        say(f"Signed off: {history.trainee.name}, {kind}. {HEADLINES[history.readiness.answer]}.")
    say(DECISION, f"An alarm watches over it from now on: evalkit progress {trainee}.")


def _edge_types(words: list[str] | None) -> tuple[EdgeType, ...]:
    return tuple(dict.fromkeys(choice(EdgeType, word, of="edge type") for word in words or ()))


def _say_progress(row: ProgressRow) -> None:
    say(f"{row.trainee}: {row.span}", "", f"{row.question} {row.headline}.", *row.evidence, *row.notable, row.decision)
    if row.rounds:
        say("")
        say_table(
            ("round", "pairs", "accepted", "every must-pass", "would have gone out", "caught", "skill"),
            [
                (one.key, one.n_pairs, one.accepted, one.passed, one.gone_out, one.caught, one.skill)
                for one in row.rounds
            ],
        )
        say(*(f"{one.key}: {one.n_pairs} pairs; {one.aside}." for one in row.rounds if one.aside))
    say("", *(f"- {words}" for words in (*row.counted, *row.needs)), "")

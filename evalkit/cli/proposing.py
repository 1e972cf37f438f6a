"""The command that proposes a trainee's next box."""

from __future__ import annotations

import shlex
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import AsJson, bench_of, choice, say, say_json, say_table
from evalkit.cli.waiting import patience
from evalkit.domain.amounts import amount_words
from evalkit.domain.pair import EdgeType
from evalkit.domain.round import Round
from evalkit.errors import InputError, NotFoundError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.rubric import Rubric
    from evalkit.progress.box_answer import Proposal
    from evalkit.workbench import Workbench

Tags = Annotated[list[str] | None, typer.Option("--with", help="Tags that must be in it: S-101,S-102.")]
NotTags = Annotated[list[str] | None, typer.Option("--without", help="Tags that must not be in it.")]
Swaps = Annotated[
    list[str] | None, typer.Option("--swap", metavar="OUT=IN", help="Then swap one pair, the rest stays: S-104=S-101.")
]
Edges = Annotated[
    list[str] | None,
    typer.Option("--edge", help="Only this edge type, or at least so many: bevel, bevel=4; give it again for another."),
]


def propose(
    context: typer.Context,
    trainee: Annotated[str, typer.Argument(help="Key of the trainee.")],
    pairs: Annotated[int, typer.Option("--pairs", help="How many pairs the box holds.")] = 12,
    rubric: Annotated[
        str | None, typer.Option("--rubric", help="Key of a rubric, or a file; else that of the last round.")
    ] = None,
    value: Annotated[str | None, typer.Option("--value", help="Declared value of the box at most, like 300.")] = None,
    currency: Annotated[str | None, typer.Option("--currency", help="Currency of --value, ISO 4217, like EUR.")] = None,
    weight: Annotated[
        str | None, typer.Option("--weight", metavar="G", help="Weight of its pairs at most, in grams, like 900.")
    ] = None,
    ordinary: Annotated[
        int | None, typer.Option("--ordinary", help="At least so many ordinary pairs; else what readiness still lacks.")
    ] = None,
    edge: Edges = None,
    with_tags: Tags = None,
    without_tags: NotTags = None,
    swap: Swaps = None,
    plan: Annotated[bool, typer.Option("--plan", help="Plan the round at once.")] = False,
    as_json: AsJson = False,
) -> None:
    """Propose the next box: the pairs that teach and tell most, each with its why.

    No pair the trainee has had, none that is in a box and none that is retired.
    """
    with patience("Choosing"):
        from evalkit.actions.choosing import propose_round
        from evalkit.progress.box_candidates import Wish

    bench = bench_of(context)
    wish = Wish(
        n_pairs=_count(pairs, "--pairs", 1),
        n_ordinary=None if ordinary is None else _count(ordinary, "--ordinary", 0),
        edge_types=_edges(edge),
        value_at_most=_amount(value, currency),
        currency=currency,
        weight_at_most_g=_weight(weight),
        with_tags=_tags(with_tags),
        without_tags=_tags(without_tags),
        swaps=tuple(_swap(text) for text in swap or ()),
    )
    with bench.book() as (book, who), patience("Choosing"):
        named, found_rubric = _rubric(bench.workbench, book, trainee, rubric)
        found = propose_round(book, trainee, rubric=found_rubric, wish=wish, today=bench.today)
        round_ = _planned(book, found, found_rubric, who, bench.workbench) if plan else None
    command = ["evalkit", "round", "plan", trainee, "--rubric", named, "--pairs", ",".join(found.tags)]
    _tell(found, command, round_, as_json=as_json)


def say_planned(round_: Round) -> None:
    """What was planned, and what comes next."""
    n_pairs = amount_words(len(round_.pairs), "pair")
    say(f"Planned {round_.key}: {n_pairs} for {round_.trainee.name}, by {round_.rubric_key}.")
    say(f"Next: evalkit round sheet {round_.key} --out {round_.key}.md, and evalkit round send {round_.key}.")
    say(f"Before it goes: evalkit intake sheet {round_.key} --out {round_.key}-intake.md, to see later what was found.")


def _planned(book: Book, found: Proposal, rubric: Rubric, who: str, workbench: Workbench) -> Round:
    from evalkit.actions.rounds import plan_round

    mentor = book.get_person("mentor", who)
    return plan_round(
        book, trainee=found.trainee, mentor=mentor, rubric=rubric, tags=found.tags, planned_on=workbench.today
    )


def _tell(found: Proposal, command: list[str], round_: Round | None, *, as_json: bool) -> None:
    from evalkit.reports.box_words import DIFFICULTIES, basis_words, box_lines, proposal_document, why_all

    if as_json:
        say_json({**proposal_document(found, command), "planned": None if round_ is None else round_.key})
        return
    say(f"Proposed for {found.trainee.name}, by {found.rubric_key}:", "")
    say_table(
        ("no", "tag", "pair", "why"),
        [
            (
                number,
                one.pair.tag,
                f"{one.pair.words}; {DIFFICULTIES[one.pair.difficulty]}",
                why,
            )
            for number, (one, why) in enumerate(zip(found.chosen, why_all(found), strict=True), 1)
        ],
    )
    say("", *basis_words(found), *box_lines(found), "")
    if round_ is not None:
        say_planned(round_)
        return
    say("To change it, add --with TAG, --without TAG or --swap OUT=IN. To plan it, add --plan, or:")
    say(shlex.join(command))


def _rubric(workbench: Workbench, book: Book, trainee: str, given: str | None) -> tuple[str, Rubric]:
    """The rubric and the name to call it by; that of the last round when none was named."""
    if given is not None:
        return given, workbench.find_rubric(given)
    from evalkit.actions.choosing import rubric_of_last_round

    key = rubric_of_last_round(book, trainee)
    try:
        return key, workbench.find_rubric(key)
    except NotFoundError:
        raise InputError(
            f"the rubric of the last round, '{key}', is neither in your folder nor among the shipped ones.",
            mend="Name its file with --rubric.",
        ) from None


def _count(n: int, option: str, least: int) -> int:
    if n < least:
        raise InputError(f"{option} {n} is too few.", mend=f"Give {least} or more.")
    return n


def _tags(given: list[str] | None) -> tuple[str, ...]:
    return tuple(dict.fromkeys(tag.strip() for text in given or () for tag in text.split(",") if tag.strip()))


def _swap(text: str) -> tuple[str, str]:
    old, sign, new = (part.strip() for part in text.partition("="))
    if not sign or not old or not new:
        raise InputError(f"'{text}' is not OUT=IN.", mend="Write it like --swap S-104=S-101.")
    return old, new


def _edges(given: list[str] | None) -> dict[EdgeType, int]:
    found = {}
    for text in given or ():
        word, sign, least = (part.strip() for part in text.partition("="))
        if sign and not least.isdecimal():
            raise InputError(f"'{text}' is not EDGE=NUMBER.", mend="Write it like --edge bevel=4, or --edge bevel.")
        found[choice(EdgeType, word, of="edge type")] = int(least) if sign else 0
    return found


def _weight(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        grams = float(text.strip().replace(",", "."))
    except ValueError:
        grams = -1.0
    if not 0 < grams < 100_000:
        raise InputError(f"'{text}' is no weight in grams.", mend="Write it like --weight 900.")
    return grams


def _amount(value: str | None, currency: str | None) -> Decimal | None:
    if value is None:
        if currency is not None:
            raise InputError("a currency without a value limits nothing.", mend="Add --value, like --value 300.")
        return None
    try:
        amount = Decimal(value.strip().replace(",", "."))
    except InvalidOperation:
        amount = Decimal(-1)
    if not amount.is_finite() or amount <= 0:
        raise InputError(f"'{value}' is no value.", mend="Write it like --value 300 or --value 249.50.")
    return amount

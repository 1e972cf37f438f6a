"""Commands on the journey of a box: there, back, opened against its list, or lost."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from evalkit.cli.frame import bench_of, day, made, say
from evalkit.domain.round import Leg, LegKind, Round
from evalkit.errors import InputError

if TYPE_CHECKING:
    from datetime import date

    from evalkit.actions.checking_in import Unpacking

Key = Annotated[str, typer.Argument(help="Key of the round, like teo-3.")]
On = Annotated[str | None, typer.Option("--on", metavar="YYYY-MM-DD", help="The day; else today.")]
Ref = Annotated[str, typer.Option("--ref", help="The carrier's reference.")]
Condition = Annotated[str, typer.Option("--condition", help="How the box and the pairs looked.")]
Missing = Annotated[list[str] | None, typer.Option("--missing", help="Numbers that were not in the box: 3,5.")]
Damaged = Annotated[
    list[str] | None, typer.Option("--damaged", help='Damaged on the way: "7: tip chipped"; again for another.')
]
Extra = Annotated[str, typer.Option("--extra", help="What lay in the box and is not on the list.")]

Correct = Annotated[
    bool,
    typer.Option(
        "--correct",
        help="Say the check-in anew, until the round is marked: a pair not named came back whole; day, reference and "
        "condition stay where they are not given.",
    ),
]

PACKING = (
    "Close each pair, guard the tips, band the rings, one pair per pocket; nothing loose. Declare the true value.",
    "What may be posted and how is for the carrier and customs to say.",
)


def _move(context: typer.Context, key: str, kind: LegKind, on: str | None, ref: str, condition: str) -> None:
    from evalkit.actions.rounds import move_box

    bench = bench_of(context)
    leg = {
        "kind": kind,
        "happened_on": day(on, bench.today, of="the journey"),
        "carrier_ref": ref,
        "condition": condition,
    }
    with bench.book() as (book, who):
        round_ = move_box(book, key, made(Leg, leg, where=f"round {key}"), today=bench.today, who=who)
    say(f"{round_.key}: {kind} on {round_.legs[-1].happened_on}; the box is {round_.state}.")


def send(context: typer.Context, key: Key, on: On = None, ref: Ref = "", condition: Condition = "") -> None:
    """The box has left for the trainee."""
    _move(context, key, LegKind.SENT, on, ref, condition)
    say(*PACKING)


def received(
    context: typer.Context,
    key: Key,
    on: On = None,
    ref: Ref = "",
    condition: Condition = "",
    missing: Missing = None,
    damaged: Damaged = None,
    extra: Extra = "",
) -> None:
    """The box has reached the trainee; with what was missing or damaged, as far as the trainee says."""
    from evalkit.actions.checking_in import receive

    bench = bench_of(context)
    found = _unpacked(day(on, bench.today, of="the journey"), ref, condition, missing, damaged, extra)
    with bench.book() as (book, who):
        round_ = receive(book, key, found, today=bench.today, who=who)
    _say_opened(round_)
    if any(one.is_damaged for one in found.arrivals):
        say("What the way out spoiled is held against nobody: name it as damaged in transit when you mark.")


def returned(context: typer.Context, key: Key, on: On = None, ref: Ref = "", condition: Condition = "") -> None:
    """The trainee has posted the box back."""
    _move(context, key, LegKind.RETURNED, on, ref, condition)


def check_in(
    context: typer.Context,
    key: Key,
    on: On = None,
    ref: Ref = "",
    condition: Condition = "",
    missing: Missing = None,
    damaged: Damaged = None,
    extra: Extra = "",
    is_correction: Correct = False,
) -> None:
    """The box is back with the mentor. A missing pair is marked 'could not'; damage is noted on its pair."""
    from evalkit.actions.checking_in import check_in as take_back
    from evalkit.actions.checking_in import correct_check_in, said_before

    bench = bench_of(context)
    found = _unpacked(day(on, bench.today, of="the journey"), ref, condition, missing, damaged, extra)
    with bench.book() as (book, who):
        if is_correction:
            stood = said_before(book.get_round(key))
            found = replace(
                found,
                happened_on=found.happened_on if on else stood.happened_on,
                carrier_ref=ref or stood.carrier_ref,
                condition=condition if condition or extra else stood.condition,
            )
        act = correct_check_in if is_correction else take_back
        round_ = act(book, bench.workbench.photos(), key, found, today=bench.today, who=who)
    _say_opened(round_)
    say(f"Next: evalkit mark {key}, before reading the assessment.")


def _unpacked(
    happened_on: date, ref: str, condition: str, missing: list[str] | None, damaged: list[str] | None, extra: str
) -> Unpacking:
    """What was found when a box was opened, from what was typed; a pair is said to be missing or damaged once."""
    from evalkit.actions.checking_in import Arrival, Unpacking

    gone = [word.strip() for text in missing or () for word in text.split(",") if word.strip()]
    hurt = [tuple(part.strip() for part in text.partition(":")[::2]) for text in damaged or ()]
    arrivals = [Arrival(_number(word), is_missing=True) for word in gone]
    arrivals += [Arrival(_number(word), damage=words or "damaged in transit") for word, words in hurt]
    numbers = [one.number for one in arrivals]
    twice = next((number for number in numbers if numbers.count(number) > 1), None)
    if twice is not None:
        raise InputError(f"pair {twice} is named twice.", mend="Say once whether it is missing or damaged.")
    return Unpacking(tuple(arrivals), happened_on, extra, condition, ref)


def _number(word: str) -> int:
    if not word.isdecimal() or len(word) > 3:
        raise InputError(
            f"'{word}' is no number of a pair.", mend='Write numbers, like --missing 3,5 or --damaged "7: tip chipped".'
        )
    return int(word)


def _say_opened(round_: Round) -> None:
    from evalkit.reports.custody_words import ways_of

    leg = round_.legs[-1]
    say(f"{round_.key}: {leg.kind} on {leg.happened_on}; the box is {round_.state}.", ways_of(round_)[-1].words)


def lost(context: typer.Context, key: Key, on: On = None, condition: Condition = "") -> None:
    """The box is lost, and the round closed; what was assessed is kept."""
    _move(context, key, LegKind.LOST, on, "", condition)
    with bench_of(context).book() as (book, _):
        is_sealed = book.find_assessment(key) is not None
    if is_sealed:
        say(f"The sealed assessment is kept: evalkit report {key} says what is known. Nothing of it counts as marked.")

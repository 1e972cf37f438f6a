"""Planning a box and following it there and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from pydantic import ValidationError

from evalkit.domain.round import Leg, NumberedPair, Person, Round, RoundState, span_words
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision
from evalkit.errors import InputError
from evalkit.progress.box_candidates import LeftOut

if TYPE_CHECKING:
    from evalkit.book.book import Book


def plan_round(
    book: Book,
    *,
    trainee: Person,
    mentor: Person,
    rubric: Rubric,
    tags: Sequence[str],
    planned_on: date,
    key: str | None = None,
    called_for: Mapping[int, Decision] | None = None,
) -> Round:
    """Number the pairs 1..n in the order given and freeze the rubric as it stands.

    Raises InputError when a pair is in another box that has not come back, or the rubric does not serve its edge type.
    """
    calls = dict(called_for or {})
    strange = sorted(set(calls) - set(range(1, len(tags) + 1)))
    if strange:
        raise InputError(
            f"'called for' names pair {span_words(tuple(strange))}, but the box holds 1 to {len(tags)}.",
            mend="Name numbers of this box.",
        )
    pairs = []
    for number, tag in enumerate(tags, start=1):
        pair = book.get_pair(tag)
        if pair.edge_type not in rubric.edge_types:
            raise InputError(
                f"rubric '{rubric.key}' does not serve {pair.edge_type} pairs.",
                mend="Take another rubric, or leave the pair out.",
                where=f"pair {tag}",
            )
        _check_free(book, tag)
        pairs.append(NumberedPair(number=number, pair=pair, called_for=calls.get(number)))
    if not pairs:
        raise InputError("a box needs at least one pair.", mend="Name the tags of the pairs, like S-101,S-102.")
    round_ = _round({
        "key": key or _next_key(book, trainee.key),
        "trainee": trainee,
        "mentor": mentor,
        "rubric_key": rubric.key,
        "rubric_version": 1,
        "rubric_digest": rubric.digest,
        "planned_on": planned_on,
        "pairs": tuple(pairs),
    })  # fmt: skip
    book.check_new_key(round_.key)
    # Only now is anything written, so that a plan that is refused leaves no frozen rubric behind.
    version = book.freeze_rubric(rubric, mentor.key)
    round_ = round_.model_copy(update={"rubric_version": version})
    book.add_round(round_, mentor.key)
    return round_


def _check_free(book: Book, tag: str) -> None:
    """Raises InputError when the pair is retired, missing, in a box not back, was lost, or is back and not marked."""
    if (retired := book.retired_pairs().get(tag)) is not None:
        raise InputError(
            f"the pair was retired on {retired.retired_on}: {retired.reason}",
            mend=f"Leave it out, or bring it back first: evalkit pair bring-back {tag}.",
            where=f"pair {tag}",
        )
    if (key := book.find_missing(tag)) is not None:
        raise InputError(
            f"the pair was not in the box of round {key} when it came back.",
            mend=f"Leave it out; if it was found: evalkit pair bring-back {tag}.",
            where=f"pair {tag}",
        )
    for other in book.rounds_holding(tag):
        match hold_of(book, other):
            case None:
                continue
            case LeftOut.LOST:
                what, mend = f"the pair was lost with round {other.key}.", "Leave it out."
            case LeftOut.UNMARKED:
                what = f"the pair came back with round {other.key}, which is not marked yet."
                mend = (
                    f"Mark that first (evalkit mark {other.key}), or leave the pair out: the work on it would be gone."
                )
            case _:
                what = f"the pair is in round {other.key}, which is {other.state}."
                mend = "Check that box in first, or leave the pair out."
        raise InputError(what, mend=mend, where=f"pair {tag}")


def hold_of(book: Book, round_: Round) -> LeftOut | None:
    """Why the pairs of a round are in no free hand; None when they are."""
    match round_.state:
        case RoundState.LOST:
            return LeftOut.LOST
        case RoundState.BACK:
            return None if book.marking_versions(round_.key) else LeftOut.UNMARKED
        case _:
            return LeftOut.ELSEWHERE


def _round(fields: dict[str, object]) -> Round:
    from evalkit.files.field_words import faults_in_words

    try:
        return Round.model_validate(fields)
    except ValidationError as error:
        what, mend = faults_in_words(error)[0]
        raise InputError(what, mend=mend, where=f"round {fields['key']}") from None


def _next_key(book: Book, trainee_key: str) -> str:
    there = {round_.key for round_ in book.list_rounds(trainee_key)}
    taken = there | book.unplanned_keys()
    n = len(there) + 1
    while f"{trainee_key}-{n}" in taken:
        n += 1
    return f"{trainee_key}-{n}"


def check_day(round_: Round, today: date) -> None:
    """Raises InputError when `today` lies before something that has happened to the box already."""
    latest = round_.legs[-1].happened_on if round_.legs else round_.planned_on
    if today < latest:
        raise InputError(
            f"today is taken as {today}, but the box moved last on {latest}.",
            mend=f"Take {latest} or later as today.",
            where=f"round {round_.key}",
        )


def move_box(book: Book, round_key: str, leg: Leg, *, today: date, who: str) -> Round:
    """Write down the next leg of the journey. Raises InputError for a day still to come or a leg out of turn."""
    check_past(leg.happened_on, today, where=f"round {round_key}")
    return book.add_leg(round_key, leg, who)


def check_past(happened_on: date, today: date, *, where: str | None = None) -> None:
    """Raises InputError for a day still to come."""
    if happened_on > today:
        raise InputError(
            f"{happened_on} is still to come (today is {today}).",
            mend="Give the day on which it happened.",
            where=where,
        )

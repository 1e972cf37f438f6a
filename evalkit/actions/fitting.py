"""Whether an assessment or a marking from outside fits its round; the same for sheets and for packets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from evalkit.actions.gradable import level_on_pair
from evalkit.domain.assessment import Assessment
from evalkit.domain.criterion import Use
from evalkit.domain.intake import Intake
from evalkit.domain.levels import fault_of
from evalkit.domain.marking import Marking
from evalkit.domain.reading import Reading
from evalkit.domain.round import LegKind, NumberedPair, Round, RoundState
from evalkit.domain.rubric import Rubric
from evalkit.errors import Fault, FileFaultsError, InputError

if TYPE_CHECKING:
    from evalkit.book.kept import Kept


Document = Assessment | Marking | Intake


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What came of a sheet or packet. `is_new` is False when the book held the same content already."""

    round: Round
    version: int
    is_new: bool
    n_pairs: int
    n_readings: int
    n_photos: int


def taken_in(round_: Round, kept: Kept, document: Document, n_photos: int) -> TakenIn:
    """What came of it, counted."""
    return TakenIn(
        round=round_,
        version=kept.version,
        is_new=kept.is_new,
        n_pairs=len(document.pairs),
        n_readings=sum(len(pair.readings) for pair in document.pairs),
        n_photos=n_photos,
    )


def check_reached(round_: Round) -> None:
    """Raises InputError while the box has not reached the trainee, or when it was lost before it did."""
    if round_.leg_on(LegKind.RECEIVED) is None:
        if round_.state is RoundState.LOST:
            raise InputError(
                "the box was lost before it reached the trainee; nothing in it can have been assessed.",
                mend="Plan another round.",
                where=f"round {round_.key}",
            )
        raise InputError(
            f"the box is {round_.state}; nothing in it can have been assessed yet.",
            mend=f"Write down its arrival first: evalkit round received {round_.key} --on DATE.",
            where=f"round {round_.key}",
        )


def check_filled(document: Document, where: str) -> None:
    """Raises InputError when nothing at all is filled in; `where` is the file, here and below."""
    if all(pair == type(pair)(number=pair.number) for pair in document.pairs):
        raise InputError(
            "nothing is filled in: not one reading, word or decision.", mend="Take in the filled one.", where=where
        )


def check_day(
    day: date | None, first: date | None, today: date, where: str, *, of: str = "", is_from_afar: bool = False
) -> None:
    """Raises InputError for a day still to come, or before `first`; `of` is the name of the field, like 'Written on'.

    From afar it may be tomorrow already: the sender's clock runs in another part of the world.
    """
    last = today + timedelta(days=1) if is_from_afar else today
    if day is not None and (day > last or (first is not None and day < first)):
        named = f"{of}: " if of else ""
        raise InputError(f"{named}the day {day} is not possible.", mend=_day_words(first, today), where=where)


def _day_words(first: date | None, last: date) -> str:
    if first is None:
        return f"It has to be {last} or before."
    return f"It has to be {last}." if first == last else f"It has to lie between {first} and {last}."


def check_readings(document: Document, round_: Round, rubric: Rubric, where: str) -> None:
    """Raises FileFaultsError with every reading that the rubric does not ask for, or that no level could come from.

    Once sealed, such a reading would keep the round from ever being answered.
    """
    faults = [
        Fault(where, 0, f"pair {pair.number}, {what}", mend)
        for pair in document.pairs
        for what, mend in _reading_faults(pair.readings, round_.get_pair(pair.number), rubric)
    ]
    if faults:
        raise FileFaultsError(faults)


def _reading_faults(readings: tuple[Reading, ...], numbered: NumberedPair, rubric: Rubric) -> Iterator[tuple[str, str]]:
    """(what, how to mend it)."""
    kind = numbered.pair.edge_type
    asked = {on.key: on for on in rubric.on(kind) if on.use is not Use.NOT_APPLICABLE}
    for reading in readings:
        on = asked.get(reading.criterion)
        if on is None:
            yield f"'{reading.criterion}' is not asked on a {kind} pair.", "Leave it out; it can stand in the notes."
        elif (fault := fault_of(on, reading, rubric)) is not None:
            yield fault
        else:
            try:
                level_on_pair(on, reading, rubric, numbered.pair)
            except InputError as error:
                yield f"'{on.name}' at {reading.place}: {error.what}", error.mend

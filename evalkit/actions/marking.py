"""Marking a round pair by pair: what the terminal and the pages share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from evalkit.actions.gradable import level_on_pair
from evalkit.domain.criterion import CriterionOn, Use
from evalkit.domain.levels import fault_of
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import Pair
from evalkit.domain.reading import WHOLE_PAIR, NotSeen, Place, Reading, Seen, Stage, Unseen
from evalkit.domain.round import NumberedPair, Round, RoundState
from evalkit.domain.rubric import Rubric
from evalkit.errors import AlreadyError, InputError
from evalkit.progress.results import RoundResult, answer_round

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.assessment import Assessment
    from evalkit.domain.causes import CauseMap
    from evalkit.domain.intake import Intake

Readings = dict[str, tuple[Reading, ...]]
"""Readings of one pair under the keys of their criteria."""


def check_back(round_: Round) -> None:
    """Raises InputError while the box is not back, or when it never will be."""
    if round_.state is RoundState.LOST:
        raise InputError(
            "the box is lost; nothing of it can be marked.",
            mend=f"What is known of it stands in its report: evalkit report {round_.key}",
            where=f"round {round_.key}",
        )
    if round_.state is not RoundState.BACK:
        raise InputError(
            f"the box is {round_.state}; it cannot be marked yet.",
            mend=f"Check it in first: evalkit round check-in {round_.key} --on DATE.",
            where=f"round {round_.key}",
        )


def lines_on(rubric: Rubric, pair: Pair) -> list[CriterionOn]:
    """The criteria that are asked of this pair, in the rubric's order."""
    return [on for on in rubric.on(pair.edge_type) if on.use is not Use.NOT_APPLICABLE]


def by_criterion(readings: Iterable[Reading]) -> Readings:
    """Readings under the criterion they belong to, in order."""
    found: Readings = {}
    for reading in readings:
        found[reading.criterion] = (*found.get(reading.criterion, ()), reading)
    return found


def reading_at(
    on: CriterionOn, place: Place, seen: Seen, note: str, *, numbered: NumberedPair, rubric: Rubric
) -> Reading:
    """What the mentor saw at one place, fit to be graded. Raises InputError where it is not."""
    reading = Reading(
        number=numbered.number,
        stage=Stage.AS_RETURNED,
        criterion=on.key,
        blade=place.blade,
        station=place.station,
        seen=seen,
        note=note,
    )
    if (fault := fault_of(on, reading, rubric)) is not None:
        raise InputError(fault[0], mend=fault[1])
    level_on_pair(on, reading, rubric, numbered.pair)  # raises where it cannot be converted
    return reading


def untested_places(on: CriterionOn, readings: Sequence[Reading]) -> tuple[Place, ...]:
    """The places of a criterion at which nobody looked yet, in the rubric's order."""
    seen = {reading.place for reading in readings}
    return () if WHOLE_PAIR in seen else tuple(place for place in on.places if place not in seen)


def untested_names(lines: Sequence[CriterionOn], readings: Readings) -> list[str]:
    """'Tips', 'Hair swatch (heel, tip)': what nobody looked at yet, criterion by criterion."""
    words = []
    for on in lines:
        missing = [str(place) for place in untested_places(on, readings.get(on.key, ()))]
        if missing:
            words.append(on.name if len(missing) == len(on.places) else f"{on.name} ({', '.join(missing)})")
    return words


def n_could_not(lines: Sequence[CriterionOn], readings: Readings) -> int:
    """Criteria of which something is written down as 'could not': nothing is left to do there, and nothing was seen."""
    return sum(any(_could_not(reading.seen) for reading in readings.get(on.key, ())) for on in lines)


def _could_not(seen: Seen) -> bool:
    return isinstance(seen, NotSeen) and seen.why is Unseen.COULD_NOT


def marked_numbers(pairs: Mapping[int, MarkedPair], *, is_amended: bool) -> set[int]:
    """Numbers that count as marked: with a reading, or as they stand in the finished version that is amended."""
    return {number for number, pair in pairs.items() if is_amended or pair.readings}


def answer_alone(
    round_: Round,
    rubric: Rubric,
    number: int,
    *,
    assessment: Assessment | None,
    marked: MarkedPair | None,
    who: str,
    causes: CauseMap | None = None,
    intake: Intake | None = None,
) -> RoundResult:
    """The round with this one pair in it: graded as `who` sees it, and beside the assessment where one is given."""
    alone = round_.model_copy(update={"pairs": (round_.get_pair(number),)})
    pairs = (marked,) if marked else ()
    marking = Marking(round_key=round_.key, mentor_key=who, rubric_digest=round_.rubric_digest, pairs=pairs)
    return answer_round(alone, rubric, assessment, marking, causes, intake=intake)


def begin_amendment(book: Book, round_key: str, who: str, reason: str) -> int:
    """Take a finished marking in hand again; the number its next version will have. Raises where it cannot be."""
    if book.find_marking(round_key, who) is None:
        raise InputError(
            "there is no finished marking to amend.",
            mend="Mark the round first, without --amend.",
            where=f"round {round_key}",
        )
    return book.start_amendment(round_key, who, reason, who)


def check_all_marked(round_: Round, marked: set[int]) -> None:
    """Raises InputError that names the pairs on which nothing was read."""
    left = [str(number) for number in round_.numbers if number not in marked]
    if left:
        raise InputError(
            f"not marked yet: {', '.join(left)}.",
            mend="Mark them, or say 'could not' where nothing could be seen.",
            where=f"round {round_.key}",
        )


def check_touched(pair: MarkedPair | None, where: str) -> MarkedPair:
    """The pair, once something of it was read. Raises AlreadyError otherwise: its assessment stays closed."""
    if pair is None or not pair.readings:
        raise AlreadyError(
            "nothing of this pair is read yet.", mend="Mark it first, or read early on purpose.", where=where
        )
    return pair

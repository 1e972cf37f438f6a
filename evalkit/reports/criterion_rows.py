"""The criteria of one pair in three views, with what was seen at each place behind every level."""

from __future__ import annotations

from collections.abc import Sequence

from evalkit.domain.bands import LimitOf
from evalkit.domain.comparing import CriterionComparison, Sight
from evalkit.domain.criterion import Kind
from evalkit.domain.grading import CriterionGrade, PlaceLevel
from evalkit.domain.harm import Change
from evalkit.domain.measures import Unit
from evalkit.domain.reading import SeenLevel, SeenMeasure, Unseen
from evalkit.domain.rubric import Rubric
from evalkit.progress.doubts import BandDoubt
from evalkit.progress.results import PairResult
from evalkit.reports.blades import shape_of
from evalkit.reports.figures import (
    NOTHING,
    band_words,
    chance_words,
    level_words,
    list_words,
    measure_words,
    number_words,
    plain_words,
    reading_words,
    signed_words,
    with_unit,
)
from evalkit.reports.found_words import posted_words
from evalkit.reports.rows import CriterionRow, ViewCell

NOT_SEEN = "?"
ANGLES = (Unit.DEG_INCLUDED, Unit.DEG_DIAL, Unit.DEG_OPEN)
"""A difference of two angles has no convention: 5° are 5° on the dial as well."""
NEARLY_SURE = 0.95
"""Chances from here on are not told one by one, but by the lowest of them."""


def criterion_rows(pair: PairResult, rubric: Rubric, mentor: str) -> tuple[CriterionRow, ...]:
    """One row a criterion, in the rubric's order."""
    received = {grade.key: grade for grade in pair.received.criteria}
    posted = {one.on.key: posted_words(one, mentor) for one in (pair.found.criteria if pair.found else ())}
    return tuple(
        _criterion(one, received.get(one.on.key), posted.get(one.on.key, ""), pair, rubric)
        for one in pair.comparison.criteria
    )


def _criterion(
    one: CriterionComparison, received: CriterionGrade | None, posted: str, pair: PairResult, rubric: Rubric
) -> CriterionRow:
    on, mentor = one.on, one.mentor
    level = mentor.level if mentor else None
    change = next((found.change for found in pair.changes if found.on.key == on.key), Change.CANNOT_TELL)
    return CriterionRow(
        name=on.name,
        use="" if on.weight else "advisory",
        weight=str(on.weight) if on.weight else NOTHING,
        must_pass=f"must reach {on.must_pass}" if on.must_pass else "",
        received=_view(received),
        posted=posted,
        finished=_view(one.trainee),
        returned=_view(mentor),
        shape=level_shape(mentor, rubric),
        match=_sight_words(one) if pair.is_graded else NOTHING,
        is_apart=pair.is_graded and one.sight in (Sight.MISSED, Sight.NOT_LOOKED, Sight.FALSE_ALARM),
        change=NOTHING if change is Change.CANNOT_TELL else change.value,
        words=on.levels[level] if level is not None else "",
        figures=(*_figures(mentor), *_doubt_words([doubt for doubt in pair.doubts if doubt.on.key == on.key])),
        notes=_notes(received, one.trainee, None if pair.absent else mentor),
        comments=tuple(said.text for said in pair.marked.comments if said.criterion == on.key) if pair.marked else (),
    )


def level_shape(grade: CriterionGrade | None, rubric: Rubric) -> str:
    """The mark of a settled level; of the best still possible when even that falls short; else unseen."""
    if grade is None or grade.seen is None:
        return shape_of(None, fit=rubric.fit, top=rubric.top)
    surely = grade.level if grade.level is not None or grade.hi >= rubric.fit else grade.hi
    return shape_of(surely, fit=rubric.fit, top=rubric.top)


def _sight_words(one: CriterionComparison) -> str:
    difference = None if one.levels is None else one.levels[0] - one.levels[1]
    apart = "" if not difference else f", {signed_words(difference, 0)}"
    match one.sight:
        case Sight.CAUGHT:
            return f"fault caught{apart}"
        case Sight.MISSED:
            return f"fault missed{apart}"
        case Sight.NOT_LOOKED:
            return "fault not looked for"
        case Sight.FALSE_ALARM:
            return f"false alarm{apart}"
        case Sight.BOTH_CLEAN:
            return f"both fit{apart}"
        case Sight.UNKNOWN:
            return NOTHING


def _figures(grade: CriterionGrade | None) -> tuple[str, ...]:
    if grade is None or grade.on.unit is None:
        return ()
    limited = {limit.of for limit in grade.on.limits}
    return tuple(_figure_words(of, figure, grade.on.unit) for of, figure in grade.figures.items() if of in limited)


def _figure_words(of: LimitOf, figure: float, unit: Unit) -> str:
    if of is LimitOf.RATIO:
        return f"{of}: {plain_words(figure, 1)} times"
    words = number_words(round(figure, 2))
    return f"{of}: {words}°" if unit in ANGLES else f"{of}: {with_unit(words, unit)}"


def _view(grade: CriterionGrade | None) -> ViewCell:
    if grade is None or grade.is_transit or not any(one.reading and one.reading.is_seen for one in grade.places):
        return ViewCell(level_words(grade), ())
    if len(grade.places) == 1:
        words = _seen_words(grade.places[0], grade.on.kind)
        return ViewCell(level_words(grade), (words,) if words else ())
    lines: dict[str, list[PlaceLevel]] = {}
    for place in grade.places:
        lines.setdefault(f"{place.place.blade}: " if place.place.blade else "", []).append(place)
    return ViewCell(
        level_words(grade), tuple(blade + _line_words(places, grade.on.kind) for blade, places in lines.items())
    )


def _line_words(places: list[PlaceLevel], kind: Kind) -> str:
    """What was seen along a blade, and its levels where they differ."""
    shared = _shared_measure(places)
    words = shared[0] if shared else [_seen_words(place, kind) or str(place.level) for place in places]
    levels = [NOT_SEEN if place.level is None else str(place.level) for place in places]
    said = f"all {words[0]}" if len(set(words)) == 1 < len(words) else ", ".join(words)
    said += shared[1] if shared else ""
    return said if len(set(levels)) == 1 or words == levels else f"{said} ({' '.join(levels)})"


def _shared_measure(places: list[PlaceLevel]) -> tuple[list[str], str] | None:
    """Numbers along a blade with their unit and doubt said once; None when they do not share them."""
    seen = [place.reading.seen for place in places if place.reading and place.reading.is_seen]
    measures = [one for one in seen if isinstance(one, SeenMeasure)]
    tails = {measure_words(one).removeprefix(number_words(one.number)) for one in measures}
    if len(measures) < len(seen) or len(tails) != 1 or any(place.why is Unseen.COULD_NOT for place in places):
        return None
    numbers = iter(measures)
    words = [
        number_words(next(numbers).number) if place.reading and place.reading.is_seen else NOT_SEEN for place in places
    ]
    return words, tails.pop()


def _seen_words(place: PlaceLevel, kind: Kind) -> str:
    """What was seen at a place; '' when it was a level on a judged criterion and says no more than that."""
    if place.reading is None:
        return NOT_SEEN
    if place.level is None:
        return (
            f"{reading_words(place.reading)}, not comparable" if place.reading.is_seen else reading_words(place.reading)
        )
    says_only_that = isinstance(place.reading.seen, SeenLevel) and kind is Kind.JUDGED
    return "" if says_only_that else reading_words(place.reading)


def _notes(*grades: CriterionGrade | None) -> tuple[str, ...]:
    """Each remark once, with the places it was made at."""
    places: dict[str, list[str]] = {}
    for grade in grades:
        for place in grade.places if grade else ():
            if place.reading and place.reading.note:
                places.setdefault(place.reading.note, []).append(str(place.reading.place))
    return tuple(f"{', '.join(dict.fromkeys(found))}: {note}" for note, found in places.items())


def _doubt_words(doubts: Sequence[BandDoubt]) -> tuple[str, ...]:
    """For one criterion: the chance that each true value lies in the band, and whether a must-pass hangs on it."""
    if not doubts:
        return ()
    first = doubts[0]
    told = [f"{doubt.place.place} {chance_words(doubt.chance)}" for doubt in doubts if doubt.chance < NEARLY_SURE]
    sure = [doubt.chance for doubt in doubts if doubt.chance >= NEARLY_SURE]
    if len(sure) == 1:
        told += [f"{doubt.place.place} {chance_words(doubt.chance)}" for doubt in doubts if doubt.chance in sure]
    elif sure:
        told.append(f"{'elsewhere ' if told else ''}at least {chance_words(min(sure))}")
    chances = ", ".join(told)
    line = f"Chance that the true value lies in {band_words(first.on, first.low, first.high)}: {chances}"
    hanging = [str(doubt.place.place) for doubt in doubts if doubt.hangs and doubt.is_must_pass]
    return (line + (f". The must-pass hangs on the doubt at {list_words(hanging)}" if hanging else ""),)

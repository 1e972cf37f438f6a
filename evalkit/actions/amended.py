"""What an amended marking says otherwise, in words for the report."""

from __future__ import annotations

from collections.abc import Sequence

from evalkit.domain.amending import ReadingChange, WordsChange, changes_between, criterion_name
from evalkit.domain.grading import grade_pair
from evalkit.domain.marking import Marking
from evalkit.domain.reading import Reading, Stage
from evalkit.domain.round import Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.verdict import Verdict
from evalkit.files.sheets.values import value_words

MOST_READINGS = 6
"""More readings than this on one pair are counted, not told one by one."""


def changed_words(before: Marking, after: Marking, round_: Round, rubric: Rubric) -> tuple[str, ...]:
    """One line for each pair that is marked otherwise: 'Pair 3: Tips tip 1, was 2; now rework, was accepted'."""
    by_number: dict[int, list[ReadingChange | WordsChange]] = {}
    for change in changes_between(before, after):
        by_number.setdefault(change.number, []).append(change)
    lines = [_pair_line(number, found, before, after, round_, rubric) for number, found in by_number.items()]
    if before.letter != after.letter:
        lines.append("The letter was changed.")
    return tuple(lines)


def _pair_line(
    number: int,
    changes: Sequence[ReadingChange | WordsChange],
    before: Marking,
    after: Marking,
    round_: Round,
    rubric: Rubric,
) -> str:
    read = [change for change in changes if isinstance(change, ReadingChange)]
    parts = [_reading_words(change, round_, rubric) for change in read]
    if len(parts) > MOST_READINGS:
        parts = [f"{len(parts)} readings"]
    parts += [_named(change.what, rubric) for change in changes if isinstance(change, WordsChange)]
    was, now = (_verdict(one, number, round_, rubric) for one in (before, after))
    verdict = f"; now {now}, was {was}" if was is not now else "; the verdict stays" if read else ""
    return f"Pair {number} was changed: {'; '.join(parts)}{verdict}."


def _named(what: str, rubric: Rubric) -> str:
    start, _, key = what.partition("comment on ")
    return what if start or not key else f"comment on {criterion_name(rubric, key)}"


def _reading_words(change: ReadingChange, round_: Round, rubric: Rubric) -> str:
    name = criterion_name(rubric, change.criterion)
    where = f" at {change.place}" if any(change.place) else ""
    return f"{name}{where} {_seen(change.after, round_, rubric)}, was {_seen(change.before, round_, rubric)}"


def _seen(reading: Reading | None, round_: Round, rubric: Rubric) -> str:
    if reading is None:
        return "not tested"
    on = rubric.by_key[reading.criterion].on(round_.get_pair(reading.number).pair.edge_type)
    return value_words(on, reading.seen)


def _verdict(marking: Marking, number: int, round_: Round, rubric: Rubric) -> Verdict:
    pair = marking.find_pair(number)
    return grade_pair(
        rubric,
        round_.get_pair(number).pair,
        pair.readings if pair else (),
        number=number,
        stage=Stage.AS_RETURNED,
        transit=pair.transit if pair else (),
    ).verdict

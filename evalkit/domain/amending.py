"""What one version of a marking says otherwise than the version before it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.reading import Place, Reading
from evalkit.domain.rubric import Rubric


@dataclass(frozen=True, slots=True)
class ReadingChange:
    """One place read otherwise than before; None where nothing was, or is, seen there."""

    number: int
    criterion: str
    place: Place
    before: Reading | None
    after: Reading | None


@dataclass(frozen=True, slots=True)
class WordsChange:
    """Something beside the readings that is said otherwise: 'comment on tips', 'one thing to keep'."""

    number: int
    what: str


PARTS = {
    "transit": "damaged in transit",
    "transit_note": "what happened in transit",
    "called_for": "what it called for",
    "keep": "one thing to keep",
    "change": "one thing to change",
    "answers": "answers",
    "notes": "notes",
    "photos": "photos",
}


def changes_between(before: Marking, after: Marking) -> tuple[ReadingChange | WordsChange, ...]:
    """Every difference, pair by pair, the readings of a pair before the words."""
    stood = {pair.number: pair for pair in before.pairs}
    stands = {pair.number: pair for pair in after.pairs}
    return tuple(
        change
        for number in sorted({**stood, **stands})
        for change in _of_pair(
            stood.get(number, MarkedPair(number=number)), stands.get(number, MarkedPair(number=number))
        )
    )


def _of_pair(before: MarkedPair, after: MarkedPair) -> Iterator[ReadingChange | WordsChange]:
    stood, stands = _placed(before.readings), _placed(after.readings)
    for key in {**stood, **stands}:
        if stood.get(key) != stands.get(key):
            yield ReadingChange(after.number, *key, stood.get(key), stands.get(key))
    said, says = _comments(before), _comments(after)
    for criterion in {**said, **says}:
        if said.get(criterion) != says.get(criterion):
            yield WordsChange(after.number, f"comment on {criterion}")
    for name, words in PARTS.items():
        if getattr(before, name) != getattr(after, name):
            yield WordsChange(after.number, words)


def _placed(readings: Sequence[Reading]) -> Mapping[tuple[str, Place], Reading]:
    return {(reading.criterion, reading.place): reading for reading in readings}


def _comments(pair: MarkedPair) -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = {}
    for comment in pair.comments:
        found.setdefault(comment.criterion, []).append(comment.text)
    return found


def criterion_name(rubric: Rubric, key: str) -> str:
    """The name of a criterion; its key where the rubric has none of it."""
    criterion = rubric.by_key.get(key)
    return criterion.name if criterion else key

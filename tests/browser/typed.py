"""What a hand types, beside what the record must then hold, and every way in which a stored pair may differ."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from evalkit.domain.assessment import AssessedPair, WorkLog
from evalkit.domain.reading import Place, Reading


@dataclass(frozen=True)
class Typed:
    """One reading: what the record must hold, and the numbers as they are typed for it."""

    reading: Reading
    number: str = ""
    doubt: str = ""
    start: str = ""

    @property
    def at(self) -> tuple[str, Place]:
        return self.reading.criterion, self.reading.place


@dataclass(frozen=True)
class TypedWork:
    """A work log: what the record must hold, and its numbers as they are typed."""

    log: WorkLog
    grits: tuple[str, ...] = ()
    angle: str = ""
    is_in_inches: bool = False
    widths_before: tuple[str, ...] = ()
    widths_after: tuple[str, ...] = ()
    length_before: str = ""
    length_after: str = ""


@dataclass(frozen=True)
class PairStory:
    """All that is typed of one pair. `pair` is what the record must then hold, but for the names of the photos."""

    received: tuple[Typed, ...]
    finished: tuple[Typed, ...]
    work: TypedWork
    pair: AssessedPair


def differences(stored: AssessedPair, told: AssessedPair) -> Iterator[str]:
    """Every way in which a stored pair is not what was typed; the photos' names aside, since content names them."""
    had, meant = _by_place(stored), _by_place(told)
    for at in sorted(had.keys() | meant.keys(), key=str):
        if had.get(at) != meant.get(at):
            yield f"pair {told.number}, {at}: typed {meant.get(at)!r}, stored {had.get(at)!r}"
    for name in AssessedPair.model_fields:
        if name not in {"readings", "photos"} and getattr(stored, name) != getattr(told, name):
            yield f"pair {told.number}, {name}: typed {getattr(told, name)!r}, stored {getattr(stored, name)!r}"
    captions = [photo.caption for photo in told.photos], [photo.caption for photo in stored.photos]
    if captions[0] != captions[1]:
        yield f"pair {told.number}, photos: typed {captions[0]}, stored {captions[1]}"


def _by_place(pair: AssessedPair) -> dict[tuple[str, str, str], Reading]:
    return {(one.stage.value, one.criterion, str(one.place)): one for one in pair.readings}

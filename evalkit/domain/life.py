"""What a pair of the stock has been through, from the work logs of the rounds it was in; what is not known stays so."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from evalkit.domain.assessment import AssessedPair, WorkLog
from evalkit.domain.pair import Station
from evalkit.domain.round import Round
from evalkit.domain.triage import Decision


@dataclass(frozen=True, slots=True)
class Retirement:
    """A pair that is sent no more, since when and why; with `back_on` it was brought back."""

    tag: str
    retired_on: date
    reason: str
    retired_at: datetime
    back_on: date | None = None
    back_reason: str = ""
    back_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """One round that a pair was in, the number it wore there, and what its trainee wrote of it."""

    round: Round
    number: int
    assessed: AssessedPair | None


@dataclass(frozen=True, slots=True)
class Size:
    """A measure over a life, mm: the first that is known and the last. `used` None: measured once only."""

    first: float
    last: float
    n: int

    @property
    def used(self) -> float | None:
        return None if self.n < 2 else max(0.0, self.first - self.last)


@dataclass(frozen=True, slots=True)
class Life:
    """Counts and measures of one pair, over all its rounds, oldest first."""

    stays: tuple[Stay, ...]
    n_ground: int
    """Rounds in which it was sharpened."""
    n_unsaid: int
    """Rounds in which work was written down, but not what was decided."""
    minutes: int
    n_timed: int
    """Rounds whose minutes are known: only those are in `minutes`."""
    parts: tuple[tuple[str, str], ...]
    """(key of the round, part replaced)."""
    widths: dict[Station, Size]
    length: Size | None


def life_of(stays: Iterable[Stay]) -> Life:
    """The life of a pair from its rounds, in the order in which they were planned."""
    ordered = tuple(sorted(stays, key=lambda stay: (stay.round.planned_on, stay.round.key)))
    told = [(stay, stay.assessed) for stay in ordered if stay.assessed is not None]
    logs = [assessed.work for _, assessed in told]
    timed = [log.minutes for log in logs if log.minutes is not None]
    widths = {station: _size(logs, _width_at(station)) for station in Station}
    return Life(
        stays=ordered,
        n_ground=sum(assessed.decision is Decision.SHARPEN for _, assessed in told),
        n_unsaid=sum(assessed.decision is None and assessed.work != WorkLog() for _, assessed in told),
        minutes=sum(timed),
        n_timed=len(timed),
        parts=tuple((stay.round.key, part) for stay, assessed in told for part in assessed.work.parts),
        widths={station: size for station, size in widths.items() if size is not None},
        length=_size(logs, lambda log: (log.length_before_mm, log.length_after_mm)),
    )


def _width_at(station: Station) -> Callable[[WorkLog], tuple[float | None, float | None]]:
    return lambda log: (log.width_before_mm.get(station), log.width_after_mm.get(station))


def _size(logs: Sequence[WorkLog], ends: Callable[[WorkLog], tuple[float | None, float | None]]) -> Size | None:
    """The first and the last known of all measures, each log's before ahead of its after."""
    known = [mm for log in logs for mm in ends(log) if mm is not None]
    return Size(known[0], known[-1], len(known)) if known else None

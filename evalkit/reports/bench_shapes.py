"""The rows that the bench book is made of: what each field is. Filled in by bench_rows.py."""

from __future__ import annotations

from dataclasses import dataclass

FORMAT = 1
"""Number of the form of these rows. 1: first."""


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """Where a reading is made; `x` and `y` are its spot in the drawing of the blades."""

    blade: str | None
    station: str | None
    words: str
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class UnitRow:
    """A unit that a measured value may be given in, its short form, and the highest number it can have."""

    value: str
    short: str
    most: float


@dataclass(frozen=True, slots=True)
class BandRow:
    """The values that earn `level`, highest level first; None is an open end."""

    level: int
    low: float | None
    high: float | None
    words: str


@dataclass(frozen=True, slots=True)
class LimitRow:
    """So many places below fit cap the level: (level, most places) pairs."""

    at_most: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """A criterion as it stands for one edge type. `counts`: it is in the sum, and its cuts decide the intake class."""

    key: str
    name: str
    kind: str
    counts: bool
    is_must_pass: bool
    combine: str
    why: str
    levels: tuple[str, ...]
    places: tuple[PlaceRow, ...]
    unit: str | None
    units: tuple[UnitRow, ...]
    is_drop: bool
    bands: tuple[BandRow, ...]
    media: tuple[str, ...]
    cuts: dict[str, int]
    push_mm: tuple[tuple[int, float], ...]
    limits: tuple[LimitRow, ...]


@dataclass(frozen=True, slots=True)
class AskRow:
    """How a criterion is tested, in the rubric's own CommonMark."""

    key: str
    text: str


@dataclass(frozen=True, slots=True)
class PairRow:
    """A numbered pair as it may be known to whoever holds it."""

    number: int
    tag: str
    edge_type: str
    words: str
    facts: tuple[tuple[str, str], ...]
    blade_length_mm: float | None


@dataclass(frozen=True, slots=True)
class DropRow:
    """The one way the drop test is done."""

    ring: str
    start_deg: float


@dataclass(frozen=True, slots=True)
class RubricRow:
    """The rubric's ladder, and which exact wording it is."""

    name: str
    version: int
    digest: str
    levels: tuple[str, ...]
    fit: int
    top: int
    drop: DropRow | None


@dataclass(frozen=True, slots=True)
class WordsRow:
    """The closed lists of words, as the domain has them."""

    stages: tuple[str, str]
    stations: tuple[str, ...]
    unseen: tuple[str, ...]
    results: tuple[str, ...]
    scales: tuple[str, ...]
    decisions: tuple[str, ...]
    verdicts: tuple[str, ...]
    classes: tuple[tuple[str, str, str], ...]
    """(letter, what it means, what it calls for)"""


@dataclass(frozen=True, slots=True)
class BenchRow:
    """All that the bench book knows."""

    format: int
    tool: str
    key: str
    trainee_key: str
    trainee: str
    mentor: str
    planned_on: str
    rubric: RubricRow
    practise: tuple[str, ...]
    pairs: tuple[PairRow, ...]
    types: dict[str, tuple[CriterionRow, ...]]
    words: WordsRow
    limits: dict[str, int]

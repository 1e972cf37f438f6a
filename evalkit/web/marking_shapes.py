"""The small values that the marking page sees: places, criteria, causes, the pair on the bench."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from evalkit.reports.blades import BladeDrawing
from evalkit.web.fields import FieldFault


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """One place of a criterion: what is kept there, which choice that is ('' for none), the words where it is none."""

    slug: str
    name: str
    chosen: str
    words: str
    said: str
    sign: str
    shape: str
    fault: str


@dataclass(frozen=True, slots=True)
class LineRow:
    """One criterion of the pair."""

    key: str
    name: str
    step: str
    ask: Markup
    kind: str
    unit: str
    asked: str
    must_pass: str
    ladder: tuple[str, ...]
    choices: tuple[str, ...]
    places: tuple[PlaceRow, ...]
    level: str
    shape: str
    n_untested: int
    comment: str
    comment_fault: str
    is_transit: bool


@dataclass(frozen=True, slots=True)
class CauseOffer:
    """A likely cause, with what a mentor would say."""

    observed: str
    causes: str
    say: str
    weight: str
    source: str


@dataclass(frozen=True, slots=True)
class MarkRow:
    """One pair on the bench."""

    lines: tuple[LineRow, ...]
    steps: tuple[tuple[str, tuple[LineRow, ...]], ...]
    drawing: BladeDrawing
    untested: tuple[str, ...]
    untested_words: str
    n_untested: int
    n_places: int
    causes: tuple[CauseOffer, ...]
    keep: str
    change: str
    transit_note: str
    notes: str
    called_for: str
    faults: tuple[FieldFault, ...]

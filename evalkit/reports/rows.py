"""What templates see: small frozen rows of words. No arithmetic is left to a template."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from evalkit.reports.blades import BladeDrawing

PictureOf = Callable[[str], str]
"""From a photo's content name to a data address that stands in the page."""


@dataclass(frozen=True, slots=True)
class Fact:
    """A figure with its name, and a remark that keeps it honest."""

    name: str
    words: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class ScoreStrip:
    """A score drawn on a line from 0 to 100: x positions in a drawing 104 wide; None where there is nothing."""

    lo: float
    hi: float
    seen: float | None
    own: float | None
    mark: float
    words: str


@dataclass(frozen=True, slots=True)
class SummaryRow:
    """One pair on the first page."""

    number: int
    pair: str
    came_as: str
    decided: str
    own_verdict: str
    verdict: str
    verdict_shape: str
    remark: str
    score: str
    score_range: str
    strip: ScoreStrip | None


@dataclass(frozen=True, slots=True)
class ViewCell:
    """One criterion in one view: its level, and what was seen place by place (heel, middle, tip)."""

    level: str
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """One criterion of a pair: the three levels, the difference, what the work did, and every place behind it."""

    name: str
    use: str
    weight: str
    must_pass: str
    received: ViewCell
    posted: str
    """What the mentor saw there before posting, and what became of it; '' where nothing was read."""
    finished: ViewCell
    returned: ViewCell
    shape: str
    match: str
    is_apart: bool
    change: str
    words: str
    figures: tuple[str, ...]
    notes: tuple[str, ...]
    comments: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PhotoRow:
    """A picture in the page."""

    address: str
    caption: str
    whose: str


@dataclass(frozen=True, slots=True)
class CauseRow:
    """A likely cause, offered to the mentor."""

    observed: str
    causes: str
    say: str
    weight: str
    source: str


@dataclass(frozen=True, slots=True)
class PairRow:
    """The section of one pair."""

    summary: SummaryRow
    tag: str
    drawings: tuple[BladeDrawing, ...]
    criteria: tuple[CriterionRow, ...]
    sum_words: str
    why: str
    findings: tuple[str, ...]
    causes: tuple[CauseRow, ...]
    work: tuple[Fact, ...]
    steps: tuple[str, ...]
    keep: str
    change: str
    notes: str
    lessons: str
    mentor_notes: str
    questions: tuple[tuple[str, str], ...]
    photos: tuple[PhotoRow, ...]


@dataclass(frozen=True, slots=True)
class PriorityRow:
    """One thing to practise, with the arithmetic behind it."""

    name: str
    where: str
    say: str
    sum_words: str


@dataclass(frozen=True, slots=True)
class ReportRow:
    """A whole report."""

    title: str
    trainee: str
    mentor: str
    rubric: str
    made_on: str
    is_blind: bool | None
    standing_words: tuple[str, ...]
    journey: tuple[str, ...]
    lead: Fact
    found: str
    """What there was to find as received, and what was found; '' without intake readings."""
    unmarked: str
    """Why there is nothing to be proud of or to practise; '' once the round is marked."""
    facts: tuple[Fact, ...]
    proud: tuple[str, ...]
    priorities: tuple[PriorityRow, ...]
    summary: tuple[SummaryRow, ...]
    classes: str
    """What the letters under 'came as' mean."""
    agreement: tuple[Fact, ...]
    pairs: tuple[PairRow, ...]
    letter: str
    trainee_letter: str
    ladder: tuple[tuple[int, str, str], ...]
    method: tuple[str, ...]
    cautions: tuple[str, ...]

"""The shapes of a report for other programs: what each field is. Filled in by document.py."""

from __future__ import annotations

from datetime import date

from evalkit.domain.value import Value

FORMAT = 1
"""Number of the report format. 1: first; since then only added to (intake readings)."""


class ShareDocument(Value):
    """`n` of `of`; the share and its 95 % Wilson interval are null when there was nothing to count."""

    n: int
    of: int
    share: float | None
    low: float | None
    high: float | None


class ScoreDocument(Value):
    """0 to 100. `seen` is null when nothing was seen; `lo` and `hi` take the unseen at the ends of the ladder."""

    seen: float | None
    lo: float
    hi: float


class LevelDocument(Value):
    """One criterion at one stage. `level` is null while it is not settled."""

    criterion: str
    use: str
    weight: int
    must_pass: int | None
    level: int | None
    seen: int | None
    lo: int
    hi: int
    is_transit: bool


class GradeDocument(Value):
    """One pair at one stage."""

    verdict: str
    score: ScoreDocument
    levels: tuple[LevelDocument, ...]
    missed: tuple[str, ...]
    needed: tuple[str, ...]


class PairDocument(Value):
    """One pair. `posted` is the mentor's grade before posting, `found` what became of it in the trainee's eyes."""

    number: int
    tag: str
    edge_type: str
    classes: tuple[str, ...]
    decision: str | None
    called_for: str | None
    standing: str
    finding: str | None
    own_verdict: str | None
    verdict: str
    would_have_gone_out: bool
    received: GradeDocument
    posted: GradeDocument | None
    finished: GradeDocument
    returned: GradeDocument
    sights: dict[str, str]
    found: dict[str, str]
    changes: dict[str, str]
    is_change_by_mentor: bool
    causes: tuple[str, ...]
    minutes: int | None
    most_removed_mm: float | None
    was_opened: bool | None


class PriorityDocument(Value):
    """One thing to practise."""

    criterion: str
    size: float
    shortfall: float
    n_short: int
    n_seen: int
    numbers: tuple[int, ...]


class AgreementDocument(Value):
    """Agreement of settled levels. `table` counts [trainee][mentor]."""

    n_pairs: int
    n_levels: int
    exact: ShareDocument
    within_one: ShareDocument
    mean_difference: float | None
    kappa: float | None
    kappa_low: float | None
    kappa_high: float | None
    score_bias: float | None
    score_low: float | None
    score_high: float | None
    table: tuple[tuple[int, ...], ...]


class RoundDocument(Value):
    """A graded round."""

    format: int = FORMAT
    round: str
    trainee: str
    mentor: str
    rubric: str
    rubric_version: int
    rubric_digest: str
    made_on: date
    is_assessed: bool
    is_marked: bool
    is_blind: bool | None
    verdicts: dict[str, int]
    mean_score: ScoreDocument | None
    would_have_gone_out: tuple[int, ...]
    catch: ShareDocument
    false_alarm: ShareDocument
    not_looked: int
    has_intake: bool
    found: ShareDocument
    imagined: ShareDocument
    found_not_looked: int
    agreement: AgreementDocument
    priorities: tuple[PriorityDocument, ...]
    pairs: tuple[PairDocument, ...]

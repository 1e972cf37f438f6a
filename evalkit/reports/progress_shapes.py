"""The shapes of progress for other programs: what each field is. Filled in by progress_document.py."""

from __future__ import annotations

from datetime import date

from evalkit.domain.value import Value
from evalkit.reports.model_shapes import ModelDocument

FORMAT = 1
"""Number of the progress format. 1: first; since then only added to (pairs of a box that are not counted)."""


class ShareDocument(Value):
    """`n` of `of`; share and 95 % Wilson interval are null when there was nothing to count."""

    n: int
    of: int
    share: float | None
    low: float | None
    high: float | None


class SpreadDocument(Value):
    """Over the pairs on which it was written down."""

    n: int
    median: float | None
    low: float | None
    high: float | None


class AsideDocument(Value):
    """Pairs of a box that are in no count, by number, for one reason."""

    why: str
    numbers: tuple[int, ...]


class RoundDocument(Value):
    """One round in plain counts: of the `n_in_box` pairs `n_pairs` are counted, the others are `aside`.

    `harmed`: two pairs of eyes; `worse_own_eyes`: the trainee's alone.
    `worse_mentor_eyes`: the mentor's alone; it and `found`, `imagined` count pairs that she read before posting.
    """

    round: str
    on: date
    months: float
    n_pairs: int
    n_in_box: int
    aside: tuple[AsideDocument, ...]
    n_ordinary: int
    n_easier: int
    n_harder: int
    accepted: ShareDocument
    n_rework: int
    n_not_shown: int
    every_must_pass: ShareDocument
    would_have_gone_out: ShareDocument
    n_accepted_unjudged: int
    catch: ShareDocument
    false_alarm: ShareDocument
    n_not_looked: int
    harmed: ShareDocument
    worse_own_eyes: ShareDocument
    worse_mentor_eyes: ShareDocument
    found: ShareDocument
    imagined: ShareDocument
    n_found_not_looked: int
    minutes: SpreadDocument
    removed_mm: SpreadDocument
    is_blind: bool


class NeedDocument(Value):
    """One thing that would change the answer."""

    lack: str
    have: float
    need: float
    criterion: str | None


class ReadinessDocument(Value):
    """The rule's answer and what it rests on; chances are null where there is no modelled figure."""

    answer: str
    n_rounds: int
    n_marked: int
    n_pairs: int
    n_ordinary: int
    target: float
    confidence: float
    joint: float | None
    joint_lo80: float | None
    joint_hi80: float | None
    prob_at_target: float | None
    prior_moved: tuple[float, ...] | None
    settled_against_prior: bool | None
    settled_against_difficulty: bool | None
    round_ends_at_limit: int
    round_ends_in_a_row: int
    lead_in: float | None
    needs: tuple[NeedDocument, ...]
    no_figure: str | None


class LatestDocument(Value):
    """The plain reading of the latest ordinary pairs."""

    latest: ShareDocument
    run: int
    run_bound90: float | None
    n_not_shown: int
    n_passed: int
    n_shown: int
    last_two_rounds: ShareDocument


class SignalDocument(Value):
    """A running score; `signalled_at` names the pair that reached the limit."""

    n_pairs: int
    n_not_shown: int
    score: float
    limit: float
    signalled_at: str | None


class PlaceDocument(Value):
    """Readings below fit at one place."""

    blade: str | None
    station: str | None
    n_below: int
    n_seen: int


class FaultsDocument(Value):
    """Where faults sat over some rounds."""

    rounds: tuple[str, ...]
    n_pairs: int
    places: tuple[PlaceDocument, ...]


class SignOffDocument(Value):
    """A sign-off, and what happened since."""

    edge_types: tuple[str, ...]
    mentor: str
    signed_on: date
    answers: dict[str, str]
    withdrawn_on: date | None
    reason: str
    since: SignalDocument | None


class EdgeDocument(Value):
    """The short answer for one edge type."""

    edge_type: str
    n_pairs: int
    readiness: ReadinessDocument
    counted: LatestDocument


class EdgesTogetherDocument(Value):
    """The answers by edge type weighted by the pairs sent. `is_apart`: outside the 80 % band of the pooled answer."""

    joint: float
    n_pairs: int
    is_apart: bool


class SetAsideDocument(Value):
    """A round that is not part of the history."""

    round: str
    why: str


class LeftOutDocument(Value):
    """Levels on marked pairs that carry no cell of the model, and pairs outside the average."""

    not_seen: int
    in_transit: int
    unsettled: int
    surely_short: int
    n_outside: int


class LearntDocument(Value):
    """What the values learnt from the school rest on; the values themselves stand in the book."""

    learnt_on: date
    n_trainees: int
    n_rounds: int
    n_pairs: int
    n_levels: int


class KnownFaultDocument(Value):
    """A known fault of marked pairs, and the criteria it weighs on; empty where no rubric gives it a weight."""

    tag: str
    n_pairs: int
    criteria: tuple[str, ...]


class ProgressDocument(Value):
    """A trainee's progress."""

    format: int = FORMAT
    trainee: str
    made_on: date
    edge_types: tuple[str, ...]
    readiness: ReadinessDocument
    counted: LatestDocument
    rounds: tuple[RoundDocument, ...]
    by_edge_type: tuple[EdgeDocument, ...]
    edge_types_together: EdgesTogetherDocument | None
    model: ModelDocument | None
    learning: SignalDocument
    faults_then: FaultsDocument | None
    faults_now: FaultsDocument | None
    sign_offs: tuple[SignOffDocument, ...]
    set_aside: tuple[SetAsideDocument, ...]
    left_out: LeftOutDocument
    known_faults: tuple[KnownFaultDocument, ...]
    learnt_from_school: LearntDocument | None

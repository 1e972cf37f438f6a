"""The report for other programs: numbers, not words. Its JSON Schema is published in templates/report.schema.json."""

from __future__ import annotations

from datetime import date

from evalkit.domain.grading import CriterionGrade, PairGrade
from evalkit.domain.value import Value
from evalkit.progress.agreeing import Agreement, Proportion
from evalkit.progress.results import PairResult, RoundResult

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


def round_document(result: RoundResult, *, made_on: date) -> RoundDocument:
    """The document of one round."""
    tally, round_ = result.tally, result.round
    score = tally.score
    return RoundDocument(
        round=round_.key,
        trainee=round_.trainee.key,
        mentor=round_.mentor.key,
        rubric=round_.rubric_key,
        rubric_version=round_.rubric_version,
        rubric_digest=round_.rubric_digest,
        made_on=made_on,
        is_assessed=result.assessment is not None,
        is_marked=result.marking is not None,
        is_blind=result.marking.is_blind if result.marking else None,
        verdicts={verdict.value: n for verdict, n in tally.verdicts.items()},
        mean_score=ScoreDocument(seen=score.seen, lo=score.lo, hi=score.hi) if score else None,
        would_have_gone_out=tuple(pair.number for pair in result.would_have_gone_out),
        catch=_share(result.catch_share),
        false_alarm=_share(result.false_alarm_share),
        not_looked=result.catches.not_looked,
        has_intake=result.intake is not None,
        found=_share(result.found_share),
        imagined=_share(result.imagined_share),
        found_not_looked=result.found.not_looked,
        agreement=_agreement(result.agreement),
        priorities=tuple(
            PriorityDocument(
                criterion=one.on.key,
                size=one.size,
                shortfall=one.shortfall,
                n_short=one.n_short,
                n_seen=one.n_seen,
                numbers=one.numbers,
            )
            for one in tally.priorities
        ),
        pairs=tuple(_pair(pair) for pair in result.pairs),
    )


def _share(share: Proportion) -> ShareDocument:
    low, high = (share.interval.low, share.interval.high) if share.interval else (None, None)
    return ShareDocument(n=share.k, of=share.n, share=share.value, low=low, high=high)


def _agreement(found: Agreement) -> AgreementDocument:
    kappa, limits = found.kappa, found.limits
    return AgreementDocument(
        n_pairs=found.n_pairs,
        n_levels=found.n_levels,
        exact=_share(found.exact),
        within_one=_share(found.within_one),
        mean_difference=found.mean_difference,
        kappa=kappa.value if kappa else None,
        kappa_low=kappa.low if kappa else None,
        kappa_high=kappa.high if kappa else None,
        score_bias=limits.bias if limits else None,
        score_low=limits.low if limits else None,
        score_high=limits.high if limits else None,
        table=found.table,
    )


def _pair(pair: PairResult) -> PairDocument:
    assessed, marked = pair.assessed, pair.marked
    return PairDocument(
        number=pair.number,
        tag=pair.numbered.pair.tag,
        edge_type=pair.numbered.pair.edge_type.value,
        classes=tuple(letter.value for letter in pair.classes),
        decision=assessed.decision if assessed else None,
        called_for=pair.called_for,
        standing=pair.standing.value,
        finding=pair.finding,
        own_verdict=assessed.verdict if assessed else None,
        verdict=pair.returned.verdict.value,
        would_have_gone_out=pair.is_graded and pair.comparison.would_have_gone_out,
        received=_grade(pair.received),
        posted=_grade(pair.posted) if pair.posted else None,
        finished=_grade(pair.finished),
        returned=_grade(pair.returned),
        sights={one.on.key: one.sight.value for one in pair.comparison.criteria},
        found={one.on.key: one.sight.value for one in pair.found.criteria} if pair.found else {},
        changes={one.on.key: one.change.value for one in pair.changes},
        is_change_by_mentor=pair.is_change_by_mentor,
        causes=tuple(one.cause.key for one in pair.causes),
        minutes=assessed.work.minutes if assessed else None,
        most_removed_mm=assessed.work.most_removed_mm if assessed else None,
        was_opened=marked.was_opened if marked else None,
    )


def _grade(grade: PairGrade) -> GradeDocument:
    return GradeDocument(
        verdict=grade.verdict.value,
        score=ScoreDocument(seen=grade.score.seen, lo=grade.score.lo, hi=grade.score.hi),
        levels=tuple(_level(one) for one in grade.criteria),
        missed=tuple(one.key for one in grade.missed),
        needed=tuple(f"{need.on.key} @ {need.place}" for need in grade.needed),
    )


def _level(one: CriterionGrade) -> LevelDocument:
    return LevelDocument(
        criterion=one.key,
        use=one.on.use.value,
        weight=one.on.weight,
        must_pass=one.on.must_pass,
        level=one.level,
        seen=one.seen,
        lo=one.lo,
        hi=one.hi,
        is_transit=one.is_transit,
    )

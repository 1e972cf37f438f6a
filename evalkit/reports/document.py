"""The report for other programs: numbers, not words. Its JSON Schema is published in templates/report.schema.json."""

from __future__ import annotations

from datetime import date

from evalkit.domain.grading import CriterionGrade, PairGrade
from evalkit.progress.agreeing import Agreement, Proportion
from evalkit.progress.results import PairResult, RoundResult
from evalkit.reports.document_shapes import (
    AgreementDocument,
    GradeDocument,
    LevelDocument,
    PairDocument,
    PriorityDocument,
    RoundDocument,
    ScoreDocument,
    ShareDocument,
)


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
        standing=pair.standing_words,
        finding=pair.finding,
        own_verdict=assessed.verdict if assessed else None,
        verdict=pair.returned.verdict.value,
        would_have_gone_out=pair.is_graded and pair.comparison.would_have_gone_out,
        received=_grade(pair.received),
        posted=_grade(pair.posted) if pair.posted else None,
        finished=_grade(pair.finished),
        returned=_grade(pair.returned, can_settle=not pair.absent),
        sights={one.on.key: one.sight.value for one in pair.comparison.criteria},
        found={one.on.key: one.sight.value for one in pair.found.criteria} if pair.found else {},
        changes={one.on.key: one.change.value for one in pair.changes},
        is_change_by_mentor=pair.is_change_by_mentor,
        causes=tuple(one.cause.key for one in pair.causes),
        minutes=assessed.work.minutes if assessed else None,
        most_removed_mm=assessed.work.most_removed_mm if assessed else None,
        was_opened=marked.was_opened if marked else None,
    )


def _grade(grade: PairGrade, *, can_settle: bool = True) -> GradeDocument:
    """A pair that was lost hangs on no test: `needed` is empty, because none can be made."""
    return GradeDocument(
        verdict=grade.verdict.value,
        score=ScoreDocument(seen=grade.score.seen, lo=grade.score.lo, hi=grade.score.hi),
        levels=tuple(_level(one) for one in grade.criteria),
        missed=tuple(one.key for one in grade.missed),
        needed=tuple(f"{need.on.key} @ {need.place}" for need in (grade.needed if can_settle else ())),
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

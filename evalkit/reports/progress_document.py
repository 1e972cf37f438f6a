"""Progress for other programs: numbers, not words. Its JSON Schema is published in templates/progress.schema.json."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date

from evalkit.domain.pair import EdgeType
from evalkit.domain.school_values import SchoolValues
from evalkit.progress.agreeing import Proportion
from evalkit.progress.counting import LatestPairs, RoundCounts, Spread
from evalkit.progress.deciding import ReadinessAnswer
from evalkit.progress.faults import FaultView
from evalkit.progress.history import History
from evalkit.progress.judging import JudgementAnswer
from evalkit.progress.learning import DriftWatch, Signal
from evalkit.progress.modelled import CriterionSkill, Modelled, RoundEndSkill
from evalkit.progress.moves import Step
from evalkit.reports.progress_shapes import (
    FORMAT,
    CriterionDocument,
    EdgeDocument,
    EdgesTogetherDocument,
    EndDocument,
    FaultsDocument,
    JudgementDocument,
    KnownFaultDocument,
    LatestDocument,
    LearntDocument,
    LeftOutDocument,
    ModelDocument,
    NearMissDocument,
    NeedDocument,
    PlaceDocument,
    ProgressDocument,
    ReadinessDocument,
    RoundDocument,
    SetAsideDocument,
    ShareDocument,
    SignalDocument,
    SignOffDocument,
    SpreadDocument,
    StepDocument,
)
from evalkit.reports.round_points import share_ends


def progress_document(history: History, *, made_on: date) -> ProgressDocument:
    """The document of one history."""
    left = history.observed.left_out
    return ProgressDocument(
        trainee=history.trainee.key,
        made_on=made_on,
        edge_types=tuple(kind.value for kind in history.scope or history.observed.edge_types),
        readiness=_readiness(history.readiness),
        counted=_latest(history.latest),
        rounds=tuple(_round(one) for one in history.counts),
        by_edge_type=tuple(
            EdgeDocument(
                edge_type=one.edge_type.value,
                n_pairs=one.n_pairs,
                readiness=_readiness(one.readiness),
                counted=_latest(one.latest),
            )
            for one in history.by_edge_type
        ),
        edge_types_together=_together(history),
        model=_model(history.modelled, history) if history.modelled else None,
        learning=_signal(history.learning),
        faults_then=_faults(history.then) if history.then else None,
        faults_now=_faults(history.now) if history.now else None,
        sign_offs=_sign_offs(history),
        set_aside=tuple(
            SetAsideDocument(round=one.result.round.key, why=one.why.value) for one in history.line.set_aside
        ),
        left_out=LeftOutDocument(
            not_seen=left.not_seen,
            in_transit=left.in_transit,
            unsettled=left.unsettled,
            surely_short=left.surely_short,
            n_outside=history.observed.n_outside,
        ),
        known_faults=tuple(
            KnownFaultDocument(tag=one.tag, n_pairs=one.n_pairs, criteria=one.criteria)
            for one in history.observed.faults
        ),
        learnt_from_school=learnt_document(history.values),
    )


def learnt_document(values: SchoolValues | None) -> LearntDocument | None:
    """What learnt values rest on; None where the defaults stand."""
    if values is None:
        return None
    return LearntDocument(**{name: getattr(values, name) for name in LearntDocument.model_fields})


def progress_json(history: History, *, made_on: date) -> str:
    """One JSON document, keys in a fixed order."""
    return progress_document(history, made_on=made_on).model_dump_json(indent=2) + "\n"


def progress_schema() -> str:
    """The JSON Schema (draft 2020-12) of `progress_json`."""
    schema = ProgressDocument.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def readiness_document(found: ReadinessAnswer) -> ReadinessDocument:
    """The readiness answer alone: what a sign-off keeps of it."""
    return _readiness(found)


def _share(share: Proportion) -> ShareDocument:
    low, high = share_ends(share)
    return ShareDocument(n=share.k, of=share.n, share=share.value, low=low, high=high)


def _spread(spread: Spread) -> SpreadDocument:
    return SpreadDocument(n=spread.n, median=spread.median, low=spread.low, high=spread.high)


def _round(one: RoundCounts) -> RoundDocument:
    return RoundDocument(
        round=one.key,
        on=one.on,
        months=one.months,
        n_pairs=one.n_pairs,
        n_ordinary=one.n_ordinary,
        n_easier=one.n_easier,
        n_harder=one.n_harder,
        accepted=_share(one.accepted),
        n_rework=one.n_rework,
        n_not_shown=one.n_not_shown,
        every_must_pass=_share(one.passed),
        would_have_gone_out=_share(one.gone_out),
        n_accepted_unjudged=one.n_accepted_unjudged,
        catch=_share(one.catch),
        false_alarm=_share(one.false_alarm),
        n_not_looked=one.n_not_looked,
        harmed=_share(one.harmed),
        worse_own_eyes=_share(one.worse_own_eyes),
        worse_mentor_eyes=_share(one.worse_mentor_eyes),
        found=_share(one.found),
        imagined=_share(one.imagined),
        n_found_not_looked=one.n_found_not_looked,
        minutes=_spread(one.minutes),
        removed_mm=_spread(one.removed_mm),
        is_blind=one.is_blind,
    )


def _readiness(found: ReadinessAnswer) -> ReadinessDocument:
    return ReadinessDocument(
        answer=found.answer.value,
        n_rounds=found.n_rounds,
        n_marked=found.n_marked,
        n_pairs=found.n_pairs,
        n_ordinary=found.n_ordinary,
        target=found.target,
        confidence=found.confidence,
        joint=found.joint,
        joint_lo80=found.joint_lo,
        joint_hi80=found.joint_hi,
        prob_at_target=found.prob_at_target,
        prior_moved=found.prior_moved,
        settled_against_prior=found.settled_against_prior,
        settled_against_difficulty=found.settled_against_difficulty,
        round_ends_at_limit=found.ends_at_limit,
        round_ends_in_a_row=found.ends_in_a_row,
        lead_in=found.lead_in,
        needs=tuple(
            NeedDocument(lack=one.lack.value, have=one.have, need=one.need, criterion=one.criterion)
            for one in found.needs
        ),
        no_figure=found.no_figure.value if found.no_figure else None,
    )


def _together(history: History) -> EdgesTogetherDocument | None:
    found = history.edges_together
    if found is None:
        return None
    return EdgesTogetherDocument(joint=found.chance, n_pairs=found.n_pairs, is_apart=found.is_apart)


def _latest(latest: LatestPairs) -> LatestDocument:
    return LatestDocument(
        latest=_share(latest.share),
        run=latest.run,
        run_bound90=latest.run_bound,
        n_not_shown=latest.n_not_shown,
        n_passed=latest.n_passed,
        n_shown=latest.n_shown,
        last_two_rounds=_share(latest.last_rounds),
    )


def _model(found: Modelled, history: History) -> ModelDocument:
    return ModelDocument(
        rounds=tuple(round_.key for round_ in history.observed.rounds),
        criteria=tuple(_criterion(one) for one in found.criteria),
        round_ends=tuple(_end(one) for one in found.ends),
        steps=tuple(_step(one) for one in found.steps),
        each_must_pass_needs=found.each_needs,
        judgement=_judgement(found.judgement) if found.judgement else None,
        levels_never_used=found.levels_never_used,
        never_scored=found.never_scored,
    )


def _criterion(one: CriterionSkill) -> CriterionDocument:
    return CriterionDocument(
        key=one.key,
        name=one.name,
        is_must_pass=one.is_must_pass,
        is_trend=one.is_trend,
        n_seen=one.n_seen,
        n_reached=one.n_reached,
        skill=one.skill,
        skill_sd=one.skill_sd,
        chance=one.chance,
        chance_lo80=one.chance_lo,
        chance_hi80=one.chance_hi,
        next_pair=one.next_pair[0],
        next_pair_lo80=one.next_pair[1],
        next_pair_hi80=one.next_pair[2],
    )


def _end(one: RoundEndSkill) -> EndDocument:
    return EndDocument(
        round=one.key,
        n_pairs=one.n_pairs,
        joint=one.joint,
        joint_lo80=one.joint_lo,
        joint_hi80=one.joint_hi,
        prob_at_target=one.prob_at_target,
    )


def _step(step: Step) -> StepDocument:
    return StepDocument(mean=step.mean, sd=step.sd, move=step.move.value)


def _judgement(found: JudgementAnswer) -> JudgementDocument:
    return JudgementDocument(
        n_both=found.n_both,
        rounds=tuple(
            NearMissDocument(
                round=one.key,
                n_both=one.n_both,
                bias=one.bias,
                bias_sd=one.bias_sd,
                let_through=one.let_through,
                let_through_lo80=one.let_through_lo,
                let_through_hi80=one.let_through_hi,
            )
            for one in found.rounds
        ),
        drift=_step(found.drift) if found.drift else None,
        too_kind=found.too_kind,
        too_strict=found.too_strict,
    )


def _signal(signal: Signal) -> SignalDocument:
    by = signal.signalled_by
    return SignalDocument(
        n_pairs=len(signal.trials),
        n_not_shown=signal.n_not_shown,
        score=signal.score,
        limit=signal.limit,
        signalled_at=f"{by.round_key} {by.number}" if by else None,
    )


def _faults(view: FaultView) -> FaultsDocument:
    return FaultsDocument(
        rounds=view.round_keys,
        n_pairs=view.n_pairs,
        places=tuple(
            PlaceDocument(
                blade=one.place.blade.value if one.place.blade else None,
                station=one.place.station.value if one.place.station else None,
                n_below=one.n_below,
                n_seen=one.n_seen,
            )
            for one in view.places
        ),
    )


def _sign_offs(history: History) -> tuple[SignOffDocument, ...]:
    watches: list[DriftWatch] = list(history.watches)
    return tuple(
        SignOffDocument(
            edge_types=tuple(kind.value for kind in one.edge_types),
            mentor=one.mentor_key,
            signed_on=one.signed_on,
            answers={kind.value: words for kind, words in one.answers.items()},
            withdrawn_on=one.withdrawn_on,
            reason=one.reason,
            since=next((_signal(watch.signal) for watch in watches if watch.sign_off == one), None),
        )
        for one in history.sign_offs
    )


def evidence_json(histories: Mapping[EdgeType, History], *, made_on: date) -> str:
    """What a sign-off keeps: the whole document of each edge type as it stood, in one JSON object."""
    told = {
        kind.value: progress_document(history, made_on=made_on).model_dump(mode="json")
        for kind, history in histories.items()
    }
    return json.dumps({"format": FORMAT, "made_on": made_on.isoformat(), "edge_types": told}, ensure_ascii=False)

"""The modelled figures for other programs."""

from __future__ import annotations

from evalkit.progress.history import History
from evalkit.progress.judging import JudgementAnswer
from evalkit.progress.modelled import CriterionSkill, Modelled, RoundEndSkill
from evalkit.progress.moves import Step
from evalkit.reports.model_shapes import (
    CriterionDocument,
    EndDocument,
    JudgementDocument,
    ModelDocument,
    NearMissDocument,
    StepDocument,
)


def model_document(found: Modelled, history: History) -> ModelDocument:
    """All modelled figures of one history."""
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

"""The shapes of the modelled figures for other programs. Filled in by model_document.py."""

from __future__ import annotations

from evalkit.domain.value import Value


class CriterionDocument(Value):
    """One criterion over the rounds; skill in logits, chances of an ordinary pair. `is_trend` is false with too few."""

    key: str
    name: str
    is_must_pass: bool
    is_trend: bool
    n_seen: tuple[int, ...]
    n_reached: tuple[int, ...]
    skill: tuple[float, ...]
    skill_sd: tuple[float, ...]
    chance: tuple[float, ...]
    chance_lo80: tuple[float, ...]
    chance_hi80: tuple[float, ...]
    next_pair: float
    next_pair_lo80: float
    next_pair_hi80: float


class EndDocument(Value):
    """What could be said when a round had been marked."""

    round: str
    n_pairs: int
    joint: float | None
    joint_lo80: float | None
    joint_hi80: float | None
    prob_at_target: float | None


class StepDocument(Value):
    """A change in logits, with its SD and what it amounts to."""

    mean: float
    sd: float
    move: str


class NearMissDocument(Value):
    """The trainee's bias in one round (logits, above nought too kind) and the share of near misses let through."""

    round: str
    n_both: int
    bias: float
    bias_sd: float
    let_through: float
    let_through_lo80: float
    let_through_hi80: float


class JudgementDocument(Value):
    """The trainee's judgement by the bias model."""

    n_both: int
    rounds: tuple[NearMissDocument, ...]
    drift: StepDocument | None
    too_kind: tuple[str, ...]
    too_strict: tuple[str, ...]


class ModelDocument(Value):
    """All modelled figures; rounds in the order of `rounds`."""

    rounds: tuple[str, ...]
    criteria: tuple[CriterionDocument, ...]
    round_ends: tuple[EndDocument, ...]
    steps: tuple[StepDocument, ...]
    each_must_pass_needs: float | None
    judgement: JudgementDocument | None
    levels_never_used: tuple[int, ...]
    never_scored: tuple[str, ...]

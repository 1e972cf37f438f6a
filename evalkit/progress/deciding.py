"""The readiness answer with its evidence, ready to be put into words: what it rests on and what would change it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from evalkit.maths.readiness import Answer, Lack, Readiness, Rule
from evalkit.progress.observing import Observed

__all__ = ["Answer", "Lack", "Needed", "NoFigure", "ReadinessAnswer", "answer_of", "answer_without_fit"]


class NoFigure(StrEnum):
    """Why there is no modelled figure. What is not known is never a nought."""

    NO_ROUNDS = "no marked round"
    FEW_PAIRS = "fewer than 5 pairs with a settled level"
    NO_LEVELS = "no settled level of any criterion"
    NO_MUST_PASS = "the rubric has no must-pass"  # noqa: S105 - a word of the trade, no secret
    NOT_SETTLED = "the calculation did not settle"


@dataclass(frozen=True, slots=True)
class Needed:
    """One thing that would change the answer: how much there is and how much it takes. `criterion` is a name."""

    lack: Lack
    have: float
    need: float
    criterion: str | None = None


@dataclass(frozen=True, slots=True)
class ReadinessAnswer:
    """What the rule says, and every number behind it. The decision itself is the mentor's."""

    answer: Answer
    n_rounds: int
    n_marked: int
    """Marked pairs, with levels or without."""
    n_pairs: int
    """Pairs with at least one settled level: what the answer rests on."""
    n_ordinary: int
    target: float
    confidence: float
    min_pairs: int
    min_levels: int
    """Settled levels that every must-pass needs."""
    min_ordinary: int
    ends_in_a_row: int
    lead_in: float | None
    """How sure it must have been at the round end before those, None when that is not asked."""
    ends_at_limit: int = 0
    joint: float | None = None
    """Chance that the next ordinary pair reaches every must-pass, with its 80 % ends."""
    joint_lo: float | None = None
    joint_hi: float | None = None
    prob_at_target: float | None = None
    prior_moved: tuple[float, ...] | None = None
    """The same with the starting assumption one logit lower and higher."""
    settled_against_prior: bool | None = None
    settled_against_difficulty: bool | None = None
    needs: tuple[Needed, ...] = ()
    no_figure: NoFigure | None = None

    @property
    def hangs_on_prior(self) -> bool:
        """True where the starting assumption alone could turn the answer, or where that could not be asked."""
        return not self.settled_against_prior


def answer_of(
    found: Readiness, observed: Observed, joint: tuple[float, float, float], *, target: float
) -> ReadinessAnswer:
    """The answer of a fitted history; `joint` is (mean, low, high)."""
    last = found.ends[-1] if found.ends else None
    names = [one.name for one in observed.must_pass]
    mean, low, high = joint
    return ReadinessAnswer(
        answer=found.answer,
        n_rounds=len(observed.rounds),
        n_marked=observed.n_pairs,
        n_pairs=last.n_pairs if last else 0,
        n_ordinary=last.n_ordinary_pairs if last else 0,
        target=target,
        confidence=found.rule.confidence,
        min_pairs=found.rule.min_pairs,
        min_levels=found.rule.min_cells,
        min_ordinary=found.rule.min_ordinary_pairs,
        ends_in_a_row=found.rule.ends_in_a_row,
        lead_in=found.rule.lead_in,
        ends_at_limit=found.ends_at_limit,
        joint=mean,
        joint_lo=low,
        joint_hi=high,
        prob_at_target=last.prob_at_target if last else None,
        prior_moved=last.prior_moved if last else None,
        settled_against_prior=found.settled_against_prior,
        settled_against_difficulty=found.settled_against_difficulty,
        needs=tuple(
            Needed(one.lack, one.have, one.need, None if one.criterion is None else names[one.criterion])
            for one in found.needs
        ),
    )


def answer_without_fit(observed: Observed, why: NoFigure, rule: Rule, *, target: float) -> ReadinessAnswer:
    """Not enough evidence, with what is lacking in plain counts."""
    n_pairs = len(observed.scored)
    n_ordinary = sum(pair["difficulty"] == 0 for pair in observed.scored)
    needs = []
    if n_pairs < rule.min_pairs:
        needs.append(Needed(Lack.PAIRS, n_pairs, rule.min_pairs))
    needs += [
        Needed(Lack.CELLS, one.n_levels, rule.min_cells, one.name)
        for one in observed.must_pass
        if one.n_levels < rule.min_cells
    ]
    if n_ordinary < rule.min_ordinary_pairs:
        needs.append(Needed(Lack.ORDINARY_PAIRS, n_ordinary, rule.min_ordinary_pairs))
    return ReadinessAnswer(
        answer=Answer.NOT_ENOUGH_EVIDENCE,
        n_rounds=len(observed.rounds),
        n_marked=observed.n_pairs,
        n_pairs=n_pairs,
        n_ordinary=n_ordinary,
        target=target,
        confidence=rule.confidence,
        min_pairs=rule.min_pairs,
        min_levels=rule.min_cells,
        min_ordinary=rule.min_ordinary_pairs,
        ends_in_a_row=rule.ends_in_a_row,
        lead_in=rule.lead_in,
        needs=tuple(needs),
        no_figure=why,
    )

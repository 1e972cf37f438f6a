"""The readiness answer and its neighbours in plain words: used by pages and by the command line alike."""

from __future__ import annotations

from typing import assert_never

from evalkit.domain.amounts import amount_words
from evalkit.progress.deciding import Answer, Lack, Needed, NoFigure, ReadinessAnswer
from evalkit.progress.lining_up import Aside
from evalkit.progress.moves import Move, Step
from evalkit.reports.figures import (
    NOTHING,
    list_words,
    percent_words,
    sure_words,
)
from evalkit.reports.progress_chances import band_words, modelled_words

QUESTION = "May customers' shears come?"
DECISION = "This is what the figures say. The decision is the mentor's."
HEADLINES = {
    Answer.READY: "Ready, by the figures",
    Answer.NOT_YET: "Not yet",
    Answer.UNDECIDED: "Undecided",
    Answer.NOT_ENOUGH_EVIDENCE: "Not enough evidence",
}


def evidence_words(found: ReadinessAnswer) -> tuple[str, ...]:
    """What the answer rests on, sentence by sentence."""
    rounds = amount_words(found.n_rounds, "round")
    pairs = f"{amount_words(found.n_pairs, 'marked pair')} in {rounds}, {found.n_ordinary} of them ordinary."
    if found.n_pairs < found.n_marked:
        pairs = (
            f"{found.n_marked} marked pairs in {rounds}, but only {found.n_pairs} with a settled level, "
            f"{found.n_ordinary} of them ordinary."
        )
    if found.joint is None or found.joint_lo is None or found.joint_hi is None or found.prob_at_target is None:
        return pairs, no_figure_words(found.no_figure)
    return (
        pairs,
        (
            f"The next ordinary pair would reach every must-pass with a chance of {modelled_words(found.joint)} "
            f"(80 % band {band_words(found.joint_lo, found.joint_hi)})."
        ),
        (
            f"How sure it is that this chance is at least {percent_words(found.target)}: "
            f"{sure_words(found.prob_at_target)}. The rule asks for {rule_words(found)}."
        ),
        prior_words(found),
    )


def headline_words(found: ReadinessAnswer, *, is_pooled: bool) -> str:
    """The answer in a few words; where it takes several edge types together, it says so."""
    return HEADLINES[found.answer] + (", all edge types taken together" if is_pooled else "")


def rule_words(found: ReadinessAnswer) -> str:
    """How sure it must be, and for how long."""
    words = f"{percent_words(found.confidence)} at {amount_words(found.ends_in_a_row, 'round end')} in a row"
    return words if found.lead_in is None else f"{words}, after one with {percent_words(found.lead_in)} at least"


def joint_words(found: ReadinessAnswer) -> str:
    """'87 % (82 to 93 %)': the chance of every must-pass with its 80 % band; a dash where there is no figure."""
    if found.joint is None or found.joint_lo is None or found.joint_hi is None:
        return NOTHING
    return f"{modelled_words(found.joint)} ({band_words(found.joint_lo, found.joint_hi)})"


def no_figure_words(why: NoFigure | None) -> str:
    """Why there is no modelled figure, and that this is not a nought."""
    match why:
        case None:
            return "There is no modelled figure."
        case NoFigure.NO_ROUNDS:
            return "No round is marked yet: nothing is known, neither good nor bad."
        case NoFigure.FEW_PAIRS:
            return "Under 5 pairs with levels there is no trend and no modelled figure: only what was seen is shown."
        case NoFigure.NO_LEVELS:
            return "No criterion of any pair has a settled level: there is nothing to reckon with."
        case NoFigure.NO_MUST_PASS:
            return "The rubric names no must-pass for these pairs: readiness has nothing to hold on to."
        case NoFigure.NOT_SETTLED:
            return "The calculation did not settle, so no figure is given."
        case _:
            assert_never(why)


def prior_words(found: ReadinessAnswer) -> str:
    """Whether the answer still hangs on what was assumed before the first pair."""
    if found.prior_moved is None:
        return "How far the answer hangs on what was assumed at the start was not asked."
    low, high = min(found.prior_moved), max(found.prior_moved)
    if found.hangs_on_prior:
        return (
            "The answer still hangs on what was assumed before the first pair: a lower or a higher start moves that "
            f"sureness between {sure_words(low)} and {sure_words(high)}."
        )
    return "A lower or a higher assumption about the start would not change the answer."


def need_words(found: ReadinessAnswer) -> tuple[str, ...]:
    """What would change the answer; nothing for 'ready' but what would take it back."""
    if found.answer is Answer.READY:
        return (f"It stops saying ready when that sureness falls under {percent_words(found.confidence)}.",)
    words = [_need(one, found) for one in found.needs if one.lack is not Lack.CELLS]
    cells = [one for one in found.needs if one.lack is Lack.CELLS]
    if cells:
        some = [f"{one.criterion} ({one.have:.0f} of {one.need:.0f})" for one in cells if one.criterion]
        words.append(
            f"More settled readings of must-passes: {list_words(some)}." if some else "A must-pass to judge by."
        )
    return tuple(words)


def _need(one: Needed, found: ReadinessAnswer) -> str:
    match one.lack:
        case Lack.PAIRS:
            more = amount_words(round(one.need - one.have), "more marked pair")
            return f"{more} with levels ({one.have:.0f} of {one.need:.0f})."
        case Lack.CELLS:
            return f"More settled readings of {one.criterion} ({one.have:.0f} of {one.need:.0f})."
        case Lack.ORDINARY_PAIRS:
            return f"Ordinary pairs in the next box: {one.have:.0f} so far, {one.need:.0f} are asked for."
        case Lack.CHANCE:
            share = percent_words(found.target)
            return (
                f"The sureness that at least {share} of ordinary pairs would pass must rise from "
                f"{sure_words(one.have)} to {percent_words(one.need)}."
            )
        case Lack.ROUND_ENDS:
            return f"It has to last: {rule_words(found)}. So far {one.have:.0f} of these {one.need:.0f} round ends."
        case Lack.PRIOR:
            return "More pairs, until what was assumed at the start no longer matters."
        case _:
            assert_never(one.lack)


def step_words(step: Step | None) -> str:
    """One word for the change of skill against the round before."""
    return "" if step is None else {Move.UP: "rose", Move.DOWN: "fell", Move.NOT_SHOWN: "no change shown"}[step.move]


def aside_words(key: str, why: Aside) -> str:
    """A round that is not part of the history."""
    return f"Round {key} is left out: {why}."

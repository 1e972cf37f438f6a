"""What a progress page rests on, line by line, and how its figures come about."""

from __future__ import annotations

from evalkit.domain.amounts import amount_words
from evalkit.progress.deciding import ReadinessAnswer
from evalkit.progress.history import History
from evalkit.reports.counted_words import learning_method
from evalkit.reports.figures import list_words, percent_words
from evalkit.reports.learnt_words import known_fault_words, learnt_words
from evalkit.reports.progress_words import aside_words, rule_words


def rests_on(history: History) -> tuple[str, ...]:
    """What a reader must know of the evidence: what is left out, what is thin, what hangs on an assumption."""
    line, observed, modelled = history.line, history.observed, history.modelled
    lines = [aside_words(one.result.round.key, one.why) for one in line.set_aside]
    lines += [
        f"The dates of round {key} contradict each other; it stands where its return puts it."
        for key in line.doubtful_dates
    ]
    lines += [
        f"From round {one.round_key} on"
        + (f" new in the rubric: {', '.join(one.added.values())}." if one.added else "")
        + (f" no longer in the rubric: {', '.join(one.dropped.values())}." if one.dropped else "")
        for one in line.changes
    ]
    left = observed.left_out
    if left.not_seen or left.in_transit or left.unsettled:
        lines.append(
            f"Levels left out of the model: {left.not_seen} not tested, {left.in_transit} spoiled in transit, "
            f"{left.unsettled} not settled because some places were not seen ({left.surely_short} of them short either "
            "way)."
        )
    if observed.n_outside:
        lines.append(f"Outside the average, and not in the figures: {amount_words(observed.n_outside, 'pair')}.")
    if observed.shifted:
        lines.append(f"Asked at another level than fit, and reckoned as such: {', '.join(observed.shifted)}.")
    if modelled and modelled.never_scored:
        lines.append(f"Never seen so far: {', '.join(modelled.never_scored)}. Unknown is not good and not bad.")
    if modelled and modelled.levels_never_used:
        levels = list_words([str(level) for level in modelled.levels_never_used])
        lines.append(f"No reading was ever level {levels}: how far apart those levels lie is assumed, not seen.")
    not_blind = [one.key for one in history.counts if not one.is_blind]
    if not_blind:
        lines.append(f"Not marked blind: {', '.join(not_blind)}.")
    if modelled:
        lines += [*known_fault_words(observed.faults, line.names), *learnt_words(history.values)]
    return tuple(lines)


def method(found: ReadinessAnswer) -> tuple[str, ...]:
    """How the figures come about, for whoever wants to know."""
    share, unsure = percent_words(found.target), percent_words(1 - found.confidence)
    return (
        (
            "Every criterion has a hidden skill that moves from month to month; a shared part moves them together. It "
            "is seen only through the levels the mentor gave. Harder pairs are expected to score lower; what one pair "
            "does to all its criteria (bad steel, an off day) is reckoned with."
        ),
        (
            f"Ready: sure that at least {share} of ordinary pairs would reach every must-pass, {rule_words(found)}; at "
            f"least {found.min_pairs} pairs, {found.min_ordinary} of them ordinary, and {found.min_levels} settled "
            "levels of every must-pass; and the same answer when the assumption about the start is moved. Not yet: at "
            f"most {unsure} sure. The rule speaks of must-passes, not of the score."
        ),
        "The rule and every default of the model were chosen on simulated trainees, not on real ones.",
        (
            "What was not tested, not applicable, advisory, spoiled in transit or not settled does not appear in the "
            "model. Pairs rightly left alone stand outside."
        ),
        (
            "Skill 'rose' or 'fell' only where that is 95 % sure; 'no change shown' does not mean that there was none. "
            "Later rounds help to judge earlier ones."
        ),
        learning_method(),
    )

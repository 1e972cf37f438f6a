"""The round in figures, each with its name and the remark that keeps it honest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from evalkit.domain.amounts import amount_words
from evalkit.domain.harm import Change, CriterionChange
from evalkit.domain.round import RoundState
from evalkit.domain.verdict import Verdict
from evalkit.progress.agreeing import MIN_PAIRS, Kappa, Limits
from evalkit.progress.aside import pairs_aside
from evalkit.progress.results import PairResult, RoundResult
from evalkit.reports.figures import (
    kappa_range_words,
    kappa_words,
    pairs_aside_words,
    pairs_words,
    range_words,
    score_words,
    share_words,
    signed_words,
)
from evalkit.reports.found_words import eyes_words
from evalkit.reports.rows import Fact


def round_facts(result: RoundResult) -> tuple[Fact, ...]:
    """Verdicts, score, what the trainee's eyes made of the faults, and what the work did."""
    if result.marking is None:
        is_lost = result.round.state is RoundState.LOST
        return (Fact("Verdicts", "not known", "the box is lost" if is_lost else "the box is not marked yet"),)
    facts = [
        _verdicts(result),
        *_mean_score(result),
        Fact(
            "Faults caught",
            share_words(result.catch_share),
            f"of the faults {result.round.mentor.name} saw; {result.catches.not_looked} of them were not looked for",
        ),
        Fact("False alarms", share_words(result.false_alarm_share), "of the clean criteria both looked at"),
        *_harm(result),
    ]
    if result.untested_first:
        numbers = [pair.number for pair in result.untested_first]
        is_told = all(pair.is_change_by_mentor for pair in result.untested_first)
        remark = "no reading as received" + ("" if is_told else ": harm cannot be told")
        facts.append(Fact("Not tested first", pairs_words(numbers), remark))
    if result.tally.missed_most:
        words = ", ".join(f"{on.name} ({n})" for on, n in result.tally.missed_most[:3])
        facts.append(Fact("Must-passes missed most", words, "pairs that surely miss it"))
    return tuple(facts)


def _verdicts(result: RoundResult) -> Fact:
    """The verdicts; where pairs of the box are outside of them, which and why."""
    verdicts = result.tally.verdicts
    graded, aside = len(result.graded), [pair for pair in result.pairs if not pair.is_graded]
    n_pairs = amount_words(len(result.pairs), "pair")
    told = pairs_aside(result.round, aside)
    return Fact(
        "Verdicts",
        ", ".join(f"{verdicts[verdict]} {verdict}" for verdict in Verdict),
        f"{graded} of {n_pairs} graded; {pairs_aside_words(told)}, outside the average"
        if told
        else f"{n_pairs} graded",
    )


def _mean_score(result: RoundResult) -> tuple[Fact, ...]:
    score = result.tally.score
    if score is None:
        return ()
    between = range_words(score)
    remark = f"of what was seen; with the unknowns {between}" if between else "all of it seen"
    return (Fact("Mean score", score_words(score.seen), remark),)


def _harm(result: RoundResult) -> tuple[Fact, ...]:
    """By the mentor's own eyes both times, of pairs she read before posting; by two pairs of eyes, of the others."""
    mentor = result.round.mentor.name
    groups = [
        (
            [pair for pair in result.pairs if pair.is_change_by_mentor is is_by_mentor],
            eyes_words(is_by_mentor=is_by_mentor, mentor=mentor),
        )
        for is_by_mentor in (True, False)
    ]
    found = [(_told(pairs), eyes) for pairs, eyes in groups if pairs]
    return tuple(_harm_of(told, eyes) for told, eyes in [one for one in found if one[0]] or found[:1])


def _told(pairs: Sequence[PairResult]) -> list[CriterionChange]:
    return [one for pair in pairs for one in pair.changes if one.on.weight and one.change is not Change.CANNOT_TELL]


def _harm_of(told: Sequence[CriterionChange], eyes: str) -> Fact:
    """How many criteria are surely lower as returned than before, of those that can be told."""
    worse = Counter(one.on.name for one in told if one.change is Change.HARMED)
    most = ", ".join(f"{name} ({n})" for name, n in sorted(worse.items(), key=lambda found: (-found[1], found[0]))[:3])
    words = f"{worse.total()} of {amount_words(len(told), 'criterion', 'criteria')}" if told else "cannot be told"
    return Fact("Worse than it came", words, f"{most}; {eyes}" if most else eyes)


def agreement_facts(result: RoundResult) -> tuple[Fact, ...]:
    """How far the two views agree."""
    found = result.agreement
    if found.n_levels == 0:
        return (Fact("Agreement", "not known", "no criterion was seen by both"),)
    facts = [
        Fact(
            "Same level",
            share_words(found.exact),
            f"{amount_words(found.n_levels, 'criterion', 'criteria')} seen by both, "
            f"on {amount_words(found.n_pairs, 'pair')}",
        ),
        Fact("Within one level", share_words(found.within_one)),
        Fact(
            "Trainee minus mentor",
            signed_words(found.mean_difference, 2),
            "levels, on average; above nought is too kind",
        ),
    ]
    facts.append(_kappa(found.kappa))
    if found.limits is not None and found.limits.bias is not None:
        facts.append(_own_score(found.limits, found.mean_difference))
    return tuple(facts)


WHY_APART = (
    "it points the other way than the levels do: those are of the criteria both saw, each counted alike; a score is of "
    "all that one of them saw, by weight"
)


def _own_score(lim: Limits, levels: float | None) -> Fact:
    """Beside the levels, with the reason where the two differ in sign."""
    between = ""
    if lim.low is not None and lim.high is not None:
        between = f"19 of 20 such differences lie between {signed_words(lim.low)} and {signed_words(lim.high)}; "
    apart = f"; {WHY_APART}" if levels is not None and lim.bias is not None and levels * lim.bias < 0 else ""
    return Fact("Own score minus mentor's", signed_words(lim.bias), f"{between}{amount_words(lim.n, 'pair')}{apart}")


def _kappa(kappa: Kappa | None) -> Fact:
    """The weighted kappa in plain words; its name stands in the method."""
    name = "Agreement beyond chance"
    if kappa is None:
        return Fact(name, "not given", f"fewer than {MIN_PAIRS} pairs were seen by both")
    if kappa.value is None:
        return Fact(name, "not given", kappa.undefined or "")
    if kappa.low is None or kappa.high is None:
        return Fact(name, kappa_words(kappa.value), f"{KAPPA_SCALE}; {kappa.no_interval or ''}".rstrip("; "))
    return Fact(name, kappa_words(kappa.value), f"{KAPPA_SCALE}; likely {kappa_range_words(kappa.low, kappa.high)}")


KAPPA_SCALE = "1 is full agreement, 0 no more than chance"

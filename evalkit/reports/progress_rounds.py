"""One round as a row of the progress page, and what its column heads mean."""

from __future__ import annotations

from dataclasses import dataclass

from evalkit.progress.counting import RoundCounts
from evalkit.progress.moves import Move, Step
from evalkit.reports.figures import NOTHING, day_words, number_words, pairs_aside_words
from evalkit.reports.progress_words import step_words

ROUNDS_REMARK = (
    "Would have gone out: of the pairs the trainee accepted and the mentor accepts or sends back, those sent back; "
    "open: her marking leaves it so. Faults caught: of those the mentor saw; one not looked for was not caught. Worse "
    "by two pairs of eyes: criteria lower as returned, by the mentor, than as received, by the trainee, so a trainee "
    "who is too kind looks like one who harms; by own eyes: as finished against as received, both by the trainee; by "
    "the mentor's eyes: as returned against before posting, on pairs she read before they went; a dash where she read "
    "none. "
    "Minutes: the middle pair. Skill: over the must-passes, against the round before."
)


@dataclass(frozen=True, slots=True)
class RoundRow:
    """One round in the tables of the first page."""

    key: str
    on: str
    n_pairs: str
    kinds: str
    aside: str
    """Which pairs of the box are in no count, and why; '' where all are."""
    accepted: str
    passed: str
    gone_out: str
    caught: str
    false_alarms: str
    worse: str
    worse_own: str
    worse_mentor: str
    minutes: str
    skill: str
    has_fallen: bool


def round_row(one: RoundCounts, step: Step | None) -> RoundRow:
    """Counts in words; `step` is the change of skill against the round before."""
    kinds = [f"{one.n_ordinary} ordinary"]
    kinds += [f"{one.n_easier} easier"] if one.n_easier else []
    kinds += [f"{one.n_harder} harder"] if one.n_harder else []
    return RoundRow(
        key=one.key,
        on=day_words(one.on),
        n_pairs=f"{one.n_pairs} of {one.n_in_box}" if one.aside else str(one.n_pairs),
        kinds=", ".join(kinds),
        aside=pairs_aside_words(one.aside),
        accepted=f"{one.accepted.k} of {one.accepted.n}"
        + (f", {one.n_not_shown} not shown" if one.n_not_shown else ""),
        passed=of_words(one.passed.k, one.passed.n),
        gone_out=gone_out_words(one),
        caught=of_words(one.catch.k, one.catch.n)
        + (f", {one.n_not_looked} not looked for" if one.n_not_looked else ""),
        false_alarms=of_words(one.false_alarm.k, one.false_alarm.n),
        worse=of_words(one.harmed.k, one.harmed.n),
        worse_own=of_words(one.worse_own_eyes.k, one.worse_own_eyes.n),
        worse_mentor=of_words(one.worse_mentor_eyes.k, one.worse_mentor_eyes.n),
        minutes=NOTHING if one.minutes.median is None else number_words(one.minutes.median),
        skill=step_words(step) or NOTHING,
        has_fallen=step is not None and step.move is Move.DOWN,
    )


def gone_out_words(one: RoundCounts) -> str:
    """'1 of 9, 2 open': the open ones are accepted by the trainee and not shown either way by the marking."""
    is_open = f"{one.n_accepted_unjudged} open" if one.n_accepted_unjudged else ""
    told = f"{one.gone_out.k} of {one.gone_out.n}" if one.gone_out.n else ""
    return ", ".join(part for part in (told, is_open) if part) or NOTHING


def of_words(k: int, n: int) -> str:
    """'7 of 9'; a dash where there was nothing to count."""
    return f"{k} of {n}" if n else NOTHING

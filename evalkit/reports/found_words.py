"""What the mentor saw before posting, and what became of it in the trainee's eyes as received; in words."""

from __future__ import annotations

from evalkit.domain.amounts import amount_words
from evalkit.domain.arriving import losses_on
from evalkit.domain.comparing import CriterionComparison, Sight
from evalkit.domain.round import LegKind
from evalkit.progress.results import PairResult, RoundResult
from evalkit.reports.figures import level_words, list_words, pairs_words, share_words
from evalkit.reports.rows import Fact

SIGHTS = {
    Sight.CAUGHT: "found",
    Sight.MISSED: "missed",
    Sight.NOT_LOOKED: "not looked for",
    Sight.FALSE_ALARM: "imagined",
    Sight.BOTH_CLEAN: "clean to both",
    Sight.UNKNOWN: "",
}
"""The same sights as in the marking, at the other end of the round."""


def found_words(result: RoundResult) -> str:
    """The one sentence of the first page; '' without intake readings."""
    if result.intake is None:
        return ""
    mentor, trainee, found = result.round.mentor.name, result.round.trainee.name, result.found
    if result.assessment is None:
        return f"{mentor} read the box before it went; there is no assessment to set beside that."
    left_out = _left_out_words(result)
    if not found.n_faults and not found.n_clean:
        return f"{mentor} read the box before it went; nothing of it can be set beside the assessment.{left_out}"
    faults = amount_words(found.n_faults, "fault") if found.n_faults else "no fault"
    line = f"Before it went, {mentor} saw {faults} in the box"
    if found.n_faults:
        rest = [f"missed {found.missed}"] if found.missed else []
        rest += [f"did not look for {found.not_looked}"] if found.not_looked else []
        line += f"; as received, {trainee} " + list_words([f"found {found.caught}", *rest])
    clean = amount_words(found.n_clean, "criterion", "criteria")
    imagined = f" Thought faulty though clean: {found.false_alarm} of {clean}." if found.n_clean else ""
    return f"{line}.{imagined}{left_out}"


def found_facts(result: RoundResult) -> tuple[Fact, ...]:
    """Shares with their intervals, for the round in figures; none without both views."""
    if result.intake is None or result.assessment is None:
        return ()
    mentor = result.round.mentor.name
    return (
        Fact(
            "Faults found as received",
            share_words(result.found_share),
            f"of the faults {mentor} saw before posting; {result.found.not_looked} of them were not looked for",
        ),
        Fact(
            "Faults imagined as received",
            share_words(result.imagined_share),
            "of the criteria clean before posting that were looked at",
        ),
    )


def pair_found_lines(pair: PairResult, result: RoundResult) -> tuple[str, ...]:
    """What was there to find on one pair, and what was found."""
    mentor = result.round.mentor.name
    if pair.number in _spoiled(result):
        return (f"It did not come as it left, so what {mentor} saw before posting is not held against anybody.",)
    if pair.found is None:
        return ()
    told = [one for one in pair.found.criteria if one.on.weight]
    faults = [f"{one.on.name} ({SIGHTS[one.sight]})" for one in told if one.sight in _FAULTS]
    imagined = [one.on.name for one in told if one.sight is Sight.FALSE_ALARM]
    lines = [f"Before posting {mentor} saw a fault in {list_words(faults)}."] if faults else []
    if imagined:
        lines.append(f"As received a fault was seen that {mentor} had not seen before posting: {list_words(imagined)}.")
    return tuple(lines)


def posted_words(one: CriterionComparison | None, mentor: str) -> str:
    """A line for the cell 'as received': 'Oda Ferrin before posting: 1, missed'; '' where nothing was seen."""
    if one is None or one.mentor is None or one.mentor.seen is None:
        return ""
    sight = SIGHTS[one.sight]
    return f"{mentor} before posting: {level_words(one.mentor)}" + (f", {sight}" if sight else "")


def eyes_words(*, is_by_mentor: bool, mentor: str) -> str:
    """By whose eyes it was judged what the work did."""
    if is_by_mentor:
        return f"by {mentor}'s own eyes both times, before posting and as returned"
    return "as returned by the mentor's eyes, against as received by the trainee's"


_FAULTS = (Sight.CAUGHT, Sight.MISSED, Sight.NOT_LOOKED)


def _left_out_words(result: RoundResult) -> str:
    spoiled = _spoiled(result)
    return f" Left out of this, spoiled or missing on the way out: {pairs_words(spoiled)}." if spoiled else ""


def _spoiled(result: RoundResult) -> list[int]:
    """Numbers of pairs that were read before posting and did not come as they left."""
    read = {one.number for one in result.intake.pairs if one.readings} if result.intake else set()
    return sorted(losses_on(result.round, LegKind.RECEIVED).numbers & read)

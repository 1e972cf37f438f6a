"""A whole round in words: the first page, and the sections behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from evalkit.domain.amounts import amount_words
from evalkit.domain.grading import CriterionGrade
from evalkit.domain.harm import Change
from evalkit.domain.round import LegKind, RoundState
from evalkit.domain.standing import Standing
from evalkit.domain.tally import MUST_PASS_FACTOR, Priority
from evalkit.domain.verdict import Verdict
from evalkit.progress.results import PairResult, RoundResult
from evalkit.reports.blades import shape_of
from evalkit.reports.figures import (
    day_words,
    pairs_words,
    plain_words,
)
from evalkit.reports.found_words import found_facts, found_words
from evalkit.reports.method import CAUTIONS, method_words
from evalkit.reports.pair_rows import pair_row
from evalkit.reports.round_facts import agreement_facts, round_facts
from evalkit.reports.rows import Fact, PictureOf, PriorityRow, ReportRow
from evalkit.reports.summary_rows import class_words, summary_row

N_PROUD = 3
N_KEPT = 5
N_SAID = 2


def report_row(
    result: RoundResult,
    *,
    made_on: date,
    picture_of: PictureOf,
    versions: Sequence[str] = (),
    with_causes: bool = False,
) -> ReportRow:
    """Everything a report says, in words. `versions` tells which versions of assessment and marking it rests on."""
    summaries = {pair.number: summary_row(pair, result.rubric) for pair in result.pairs}
    round_ = result.round
    return ReportRow(
        title=f"Round {round_.key}",
        trainee=round_.trainee.name,
        mentor=round_.mentor.name,
        rubric=f"{result.rubric.name}, version {round_.rubric_version}",
        made_on=day_words(made_on),
        is_blind=result.marking.is_blind if result.marking else None,
        standing_words=(*_standing_words(result), *versions),
        journey=_journey(result),
        lead=_lead(result),
        found=found_words(result),
        unmarked=_unmarked(result),
        facts=(*round_facts(result), *found_facts(result)),
        proud=_proud(result),
        priorities=tuple(priority_row(priority, result) for priority in result.tally.priorities),
        summary=tuple(summaries.values()),
        classes=class_words(),
        agreement=agreement_facts(result),
        pairs=tuple(
            pair_row(pair, result, summaries[pair.number], picture_of, with_causes=with_causes) for pair in result.pairs
        ),
        letter=result.marking.letter if result.marking else "",
        trainee_letter=result.assessment.letter if result.assessment else "",
        ladder=tuple(
            (level, words, shape_of(level, fit=result.rubric.fit, top=result.rubric.top))
            for level, words in enumerate(result.rubric.levels)
        ),
        method=method_words(result.rubric, has_intake=result.intake is not None),
        cautions=CAUTIONS,
    )


def _standing_words(result: RoundResult) -> tuple[str, ...]:
    words = []
    if result.assessment is None:
        words.append("There is no sealed assessment: the trainee's view is not known.")
    elif result.assessment.is_transcribed:
        words.append(f"The assessment was written down by {result.round.mentor.name} from the trainee's letter.")
    if result.marking is None:
        words.append(_unmarked_words(result))
    elif result.marking.is_blind:
        words.append("Marked blind: no pair's assessment was read before that pair was marked.")
    else:
        numbers = [pair.number for pair in result.marking.pairs if pair.was_opened]
        words.append(f"Not marked blind: the assessment had been read before marking {pairs_words(numbers)}.")
    return tuple(words)


def _unmarked_words(result: RoundResult) -> str:
    """Not marked yet; or never, with what is known all the same."""
    if result.round.state is not RoundState.LOST:
        return "The box is not marked yet: no verdict is shown."
    if result.round.leg_on(LegKind.RETURNED) is None:
        return "The box was lost on its way out: nothing of it was assessed or marked, and no verdict is shown."
    known = "what the assessment says is all that is known" if result.assessment else "nothing is known of the work"
    return f"The box was lost on its way back: nothing of it can be marked, {known}, and no verdict is shown."


def _unmarked(result: RoundResult) -> str:
    if result.marking is not None:
        return ""
    return "Nothing can be marked: the box is lost." if _is_lost(result) else "Nothing is marked yet."


def _is_lost(result: RoundResult) -> bool:
    return result.round.state is RoundState.LOST


def _journey(result: RoundResult) -> tuple[str, ...]:
    planned = f"Planned on {day_words(result.round.planned_on)}"
    return (planned, *(_leg(leg.kind, leg.happened_on, leg.condition) for leg in result.round.legs))


def _leg(kind: LegKind, day: date, condition: str) -> str:
    return f"{kind.capitalize()} on {day_words(day)}" + (f": {condition.rstrip('.')}" if condition else "")


def _lead(result: RoundResult) -> Fact:
    """Of the pairs the trainee accepted and the mentor's verdict is shown for, those that come back for rework."""
    name = "Would have gone out"
    if result.marking is None or result.assessment is None:
        return Fact(name, "not known", "It needs both views.")
    accepted = [pair for pair in result.graded if pair.comparison.trainee_verdict is Verdict.ACCEPTED]
    if not accepted:
        return Fact(name, "none", "The trainee accepted no pair.")
    n_open = sum(pair.comparison.mentor_verdict is Verdict.NOT_SHOWN for pair in accepted)
    if n_open == len(accepted):
        return Fact(
            name, "not shown", f"No verdict is shown on the {amount_words(n_open, 'pair')} the trainee accepted."
        )
    numbers = [pair.number for pair in result.would_have_gone_out]
    shown = amount_words(len(accepted) - n_open, "pair")
    remark = f"{result.round.trainee.name} accepted {shown} whose verdict is shown."
    remark += f" Back for rework: {pairs_words(numbers)}." if numbers else " None of them comes back for rework."
    if n_open:
        remark += f" Of {amount_words(n_open, 'pair')} more that were accepted it could not be shown."
    return Fact(name, f"{len(numbers)} of {len(accepted) - n_open}", remark)


def _proud(result: RoundResult) -> tuple[str, ...]:
    """The mentor's own words first; then what the readings show, strongest first."""
    if result.marking is None:
        return ()
    lines = [f"Pair {pair.number}: {pair.marked.keep}" for pair in _best_kept(result) if pair.marked]
    right = [pair for pair in result.pairs if pair.standing in (Standing.RIGHTLY_LEFT, Standing.RIGHTLY_ADJUSTED)]
    lines += [f"Pair {pair.number} was {pair.standing}: a right decision." for pair in right]
    lines += [
        f"{name}: fit for a customer on {n} of {amount_words(of, 'pair')}." for name, n, of in _mostly_fit(result)
    ]
    improved = sum(one.change is Change.IMPROVED for pair in result.pairs for one in pair.changes if one.on.weight)
    if improved:
        lines.append(f"Better than it came: {amount_words(improved, 'criterion', 'criteria')}, over all pairs.")
    return tuple(lines) or ("Nothing that the readings show yet.",)


def _mostly_fit(result: RoundResult) -> list[tuple[str, int, int]]:
    """(name, pairs surely fit, pairs seen) of the criteria fit on more than half of the pairs, the best first.

    What is to be practised is not praised on the same page.
    """
    practised = {priority.on.key for priority in result.tally.priorities}
    found: dict[str, list[CriterionGrade]] = {}
    for pair in result.graded:
        for grade in pair.returned.criteria:
            if grade.counts and grade.seen is not None:
                found.setdefault(grade.key, []).append(grade)
    fits = [
        (grades[0].on.name, sum(one.lo >= result.rubric.fit for one in grades), len(grades))
        for key, grades in found.items()
        if key not in practised
    ]
    mostly = [(name, n, of) for name, n, of in fits if 2 * n > of]
    return sorted(mostly, key=lambda one: (-one[1] / one[2], -one[1], one[0]))[:N_PROUD]


def _best_kept(result: RoundResult) -> list[PairResult]:
    """The pairs with the best scores among those with something to keep, by number; the others say it themselves."""
    kept = [pair for pair in result.pairs if pair.marked and pair.marked.keep and pair.finding is None]
    kept.sort(key=lambda pair: (-(pair.returned.score.seen or 0), pair.number))
    return sorted(kept[:N_KEPT], key=lambda pair: pair.number)


def priority_row(priority: Priority, result: RoundResult) -> PriorityRow:
    """One thing to practise: where, what the mentor said of it, and the arithmetic behind it."""
    on = priority.on
    doubled = f" × {MUST_PASS_FACTOR} for a must-pass" if on.criterion.must_pass is not None else ""
    levels = round(priority.shortfall * priority.n_short)
    return PriorityRow(
        name=on.name,
        where=pairs_words(priority.numbers),
        say=_mentors_words(priority, result) or f"What is asked for: {on.criterion.levels[result.rubric.fit]}.",
        sum_words=(
            f"{amount_words(levels, 'level')} short in all, on {priority.n_short} of "
            f"{amount_words(priority.n_seen, 'pair')}: weight {on.criterion.weight} × {levels} / {priority.n_seen}"
            f"{doubled} = {plain_words(priority.size, 1)}"
        ),
    )


def _mentors_words(priority: Priority, result: RoundResult) -> str:
    """What the mentor herself said of this criterion on the pairs that fall short."""
    said = [
        f"Pair {pair.number}: {comment.text}"
        for pair in result.graded
        if pair.number in priority.numbers and pair.marked
        for comment in pair.marked.comments
        if comment.criterion == priority.on.key
    ]
    return " ".join(said[:N_SAID])

"""A whole round in words: the first page, and the sections behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from evalkit.domain.grading import CriterionGrade
from evalkit.domain.harm import Change
from evalkit.domain.round import LegKind, span_words
from evalkit.domain.standing import Standing
from evalkit.domain.tally import MUST_PASS_FACTOR, Priority
from evalkit.domain.verdict import Verdict
from evalkit.progress.agreeing import MIN_PAIRS, Kappa
from evalkit.progress.results import PairResult, RoundResult
from evalkit.reports.blades import shape_of
from evalkit.reports.figures import (
    amount_words,
    day_words,
    kappa_range_words,
    kappa_words,
    plain_words,
    range_words,
    score_words,
    share_words,
    signed_words,
)
from evalkit.reports.method import CAUTIONS, method_words
from evalkit.reports.pair_rows import pair_row
from evalkit.reports.rows import Fact, PictureOf, PriorityRow, ReportRow
from evalkit.reports.summary_rows import summary_row

N_PROUD = 3
N_KEPT = 5


def report_row(result: RoundResult, *, made_on: date, picture_of: PictureOf, versions: Sequence[str] = ()) -> ReportRow:
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
        out_pairs=tuple(summaries[pair.number] for pair in result.would_have_gone_out),
        facts=_facts(result),
        proud=_proud(result),
        priorities=tuple(_priority(priority, result) for priority in result.tally.priorities),
        summary=tuple(summaries.values()),
        agreement=_agreement(result),
        pairs=tuple(pair_row(pair, result, summaries[pair.number], picture_of) for pair in result.pairs),
        letter=result.marking.letter if result.marking else "",
        trainee_letter=result.assessment.letter if result.assessment else "",
        ladder=tuple(
            (level, words, shape_of(level, fit=result.rubric.fit, top=result.rubric.top))
            for level, words in enumerate(result.rubric.levels)
        ),
        method=method_words(result.rubric),
        cautions=CAUTIONS,
    )


def _standing_words(result: RoundResult) -> tuple[str, ...]:
    words = []
    if result.assessment is None:
        words.append("There is no sealed assessment: the trainee's view is not known.")
    elif result.assessment.is_transcribed:
        words.append(f"The assessment was written down by {result.round.mentor.name} from the trainee's letter.")
    if result.marking is None:
        words.append("The box is not marked yet: no verdict is shown.")
    elif result.marking.is_blind:
        words.append("Marked blind: no pair's assessment was read before that pair was marked.")
    else:
        numbers = tuple(pair.number for pair in result.marking.pairs if pair.was_opened)
        words.append(f"Not marked blind: the assessment had been read before marking pair {span_words(numbers)}.")
    return tuple(words)


def _journey(result: RoundResult) -> tuple[str, ...]:
    planned = f"Planned on {day_words(result.round.planned_on)}"
    return (planned, *(_leg(leg.kind, leg.happened_on, leg.condition) for leg in result.round.legs))


def _leg(kind: LegKind, day: date, condition: str) -> str:
    return f"{kind.capitalize()} on {day_words(day)}" + (f": {condition}" if condition else "")


def _lead(result: RoundResult) -> Fact:
    accepted = [pair for pair in result.graded if pair.comparison.trainee_verdict is Verdict.ACCEPTED]
    n, of = len(result.would_have_gone_out), len(accepted)
    if result.marking is None or result.assessment is None:
        return Fact("Would have gone out", "not known", "It needs both views.")
    if of == 0:
        return Fact("Would have gone out", "none", "The trainee accepted no pair.")
    open_ = sum(pair.comparison.mentor_verdict is Verdict.NOT_SHOWN for pair in accepted)
    remark = f"Of {amount_words(of, 'pair')} that {result.round.trainee.name} accepted, this many come back for rework."
    if open_:
        remark += f" {open_} more could not be shown either way."
    return Fact("Would have gone out", f"{n} of {of}", remark)


def _facts(result: RoundResult) -> tuple[Fact, ...]:
    verdicts = result.tally.verdicts
    graded = len(result.graded)
    aside = len(result.pairs) - graded
    facts = [
        Fact(
            "Verdicts",
            f"{verdicts[Verdict.ACCEPTED]} accepted, {verdicts[Verdict.REWORK]} rework, "
            f"{verdicts[Verdict.NOT_SHOWN]} not shown",
            f"{amount_words(graded, 'pair')} graded" + (f", {aside} outside the average" if aside else ""),
        )
    ]
    score = result.tally.score
    if score is not None:
        between = range_words(score)
        remark = f"of what was seen; with the unknowns {between}" if between else "all of it seen"
        facts.append(Fact("Mean score", score_words(score.seen), remark))
    facts.append(
        Fact(
            "Faults caught",
            share_words(result.catch_share),
            f"of the faults {result.round.mentor.name} saw; not looked for: {result.catches.not_looked}",
        )
    )
    facts.append(Fact("False alarms", share_words(result.false_alarm_share), "of the clean criteria both looked at"))
    harmed = _changed(result, Change.HARMED)
    facts.append(Fact("Harmed", _criteria_words(harmed), "criteria worse as returned than as received"))
    if result.untested_first:
        numbers = tuple(pair.number for pair in result.untested_first)
        facts.append(
            Fact("Not tested first", f"pair {span_words(numbers)}", "no reading as received: harm cannot be told")
        )
    if result.tally.missed_most:
        words = ", ".join(f"{on.name} ({n})" for on, n in result.tally.missed_most[:3])
        facts.append(Fact("Must-passes missed most", words, "pairs that surely miss it"))
    return tuple(facts)


def _changed(result: RoundResult, change: Change) -> list[tuple[int, str]]:
    return [
        (pair.number, one.on.name)
        for pair in result.pairs
        for one in pair.changes
        if one.change is change and one.on.weight
    ]


def _criteria_words(found: Sequence[tuple[int, str]]) -> str:
    if not found:
        return "none shown"
    return "; ".join(f"pair {number}: {name}" for number, name in found[:4]) + (
        f"; and {len(found) - 4} more" if len(found) > 4 else ""
    )


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
    improved = len(_changed(result, Change.IMPROVED))
    if improved:
        lines.append(f"Better than it came: {amount_words(improved, 'criterion', 'criteria')}, over all pairs.")
    return tuple(lines) or ("Nothing that the readings show yet.",)


def _mostly_fit(result: RoundResult) -> list[tuple[str, int, int]]:
    """(name, pairs surely fit, pairs seen) of the criteria fit on half of the pairs or more, the best first."""
    found: dict[str, list[CriterionGrade]] = {}
    for pair in result.graded:
        for grade in pair.returned.criteria:
            if grade.counts and grade.seen is not None:
                found.setdefault(grade.key, []).append(grade)
    fits = [
        (grades[0].on.name, sum(one.lo >= result.rubric.fit for one in grades), len(grades))
        for grades in found.values()
    ]
    mostly = [(name, n, of) for name, n, of in fits if 2 * n >= of]
    return sorted(mostly, key=lambda one: (-one[1] / one[2], -one[1], one[0]))[:N_PROUD]


def _best_kept(result: RoundResult) -> list[PairResult]:
    """The pairs with the best scores among those with something to keep, by number; the others say it themselves."""
    kept = [pair for pair in result.pairs if pair.marked and pair.marked.keep]
    kept.sort(key=lambda pair: (-(pair.returned.score.seen or 0), pair.number))
    return sorted(kept[:N_KEPT], key=lambda pair: pair.number)


def _priority(priority: Priority, result: RoundResult) -> PriorityRow:
    on = priority.on
    says = [
        say
        for pair in result.graded
        if pair.number in priority.numbers
        if (say := _first_say(pair, on.key)) is not None
    ]
    doubled = f" × {MUST_PASS_FACTOR} (must-pass)" if on.criterion.must_pass is not None else ""
    levels = round(priority.shortfall * priority.n_short)
    return PriorityRow(
        name=on.name,
        where=f"pair {span_words(priority.numbers)}",
        say=max(says, key=says.count) if says else f"What is asked for: {on.criterion.levels[result.rubric.fit]}.",
        sum_words=(
            f"weight {on.criterion.weight} × {levels}/{priority.n_short} levels short × "
            f"{priority.n_short}/{priority.n_seen} pairs{doubled} = {plain_words(priority.size, 1)}"
        ),
    )


def _first_say(pair: PairResult, key: str) -> str | None:
    """What the likeliest cause that speaks of this criterion would have the trainee do."""
    causes = (one.cause for one in pair.causes if any(key in pattern.criteria for pattern in one.cause.when))
    return next((cause.say for cause in causes), None)


def _agreement(result: RoundResult) -> tuple[Fact, ...]:
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
    lim = found.limits
    if lim is not None and lim.bias is not None:
        facts.append(
            Fact(
                "Own score minus mentor's",
                signed_words(lim.bias),
                f"95 % of such differences from {signed_words(lim.low)} to {signed_words(lim.high)}; {lim.n} pairs",
            )
        )
    return tuple(facts)


def _kappa(kappa: Kappa | None) -> Fact:
    if kappa is None:
        return Fact("Weighted kappa", "not given", f"fewer than {MIN_PAIRS} pairs were seen by both")
    if kappa.value is None:
        return Fact("Weighted kappa", "not given", kappa.undefined or "")
    if kappa.low is None or kappa.high is None:
        return Fact("Weighted kappa", kappa_words(kappa.value), kappa.no_interval or "")
    interval = f"95 % interval {kappa_range_words(kappa.low, kappa.high)}"
    return Fact("Weighted kappa", kappa_words(kappa.value), f"quadratic weights on the full scale; {interval}")

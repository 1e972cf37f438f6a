"""A whole round in words: the first page, and the sections behind it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

from evalkit.domain.grading import CriterionGrade
from evalkit.domain.harm import Change
from evalkit.domain.round import LegKind
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
    pairs_words,
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
        facts=_facts(result),
        proud=_proud(result),
        priorities=tuple(_priority(priority, result) for priority in result.tally.priorities),
        summary=tuple(summaries.values()),
        agreement=_agreement(result),
        pairs=tuple(
            pair_row(pair, result, summaries[pair.number], picture_of, with_causes=with_causes) for pair in result.pairs
        ),
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
        numbers = [pair.number for pair in result.marking.pairs if pair.was_opened]
        words.append(f"Not marked blind: the assessment had been read before marking {pairs_words(numbers)}.")
    return tuple(words)


def _journey(result: RoundResult) -> tuple[str, ...]:
    planned = f"Planned on {day_words(result.round.planned_on)}"
    return (planned, *(_leg(leg.kind, leg.happened_on, leg.condition) for leg in result.round.legs))


def _leg(kind: LegKind, day: date, condition: str) -> str:
    return f"{kind.capitalize()} on {day_words(day)}" + (f": {condition}" if condition else "")


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
    remark = f"of the {shown} that {result.round.trainee.name} accepted and whose verdict is shown"
    remark += f" come back for rework: {pairs_words(numbers)}." if numbers else " comes back for rework."
    if n_open:
        remark += f" Of {amount_words(n_open, 'pair')} more that were accepted it could not be shown."
    return Fact(name, f"{len(numbers)} of {len(accepted) - n_open}", remark)


def _facts(result: RoundResult) -> tuple[Fact, ...]:
    if result.marking is None:
        return (Fact("Verdicts", "not known", "the box is not marked yet"),)
    facts = [
        _verdicts(result),
        *_mean_score(result),
        Fact(
            "Faults caught",
            share_words(result.catch_share),
            f"of the faults {result.round.mentor.name} saw; {result.catches.not_looked} of them were not looked for",
        ),
        Fact("False alarms", share_words(result.false_alarm_share), "of the clean criteria both looked at"),
        _harm(result),
    ]
    if result.untested_first:
        numbers = [pair.number for pair in result.untested_first]
        facts.append(Fact("Not tested first", pairs_words(numbers), "no reading as received: harm cannot be told"))
    if result.tally.missed_most:
        words = ", ".join(f"{on.name} ({n})" for on, n in result.tally.missed_most[:3])
        facts.append(Fact("Must-passes missed most", words, "pairs that surely miss it"))
    return tuple(facts)


def _verdicts(result: RoundResult) -> Fact:
    verdicts = result.tally.verdicts
    graded = len(result.graded)
    aside = len(result.pairs) - graded
    return Fact(
        "Verdicts",
        ", ".join(f"{verdicts[verdict]} {verdict}" for verdict in Verdict),
        f"{amount_words(graded, 'pair')} graded" + (f", {aside} outside the average" if aside else ""),
    )


def _mean_score(result: RoundResult) -> tuple[Fact, ...]:
    score = result.tally.score
    if score is None:
        return ()
    between = range_words(score)
    remark = f"of what was seen; with the unknowns {between}" if between else "all of it seen"
    return (Fact("Mean score", score_words(score.seen), remark),)


def _harm(result: RoundResult) -> Fact:
    """How many criteria are surely lower as returned than as received, of those that can be told."""
    told = [
        one for pair in result.pairs for one in pair.changes if one.on.weight and one.change is not Change.CANNOT_TELL
    ]
    worse = Counter(one.on.name for one in told if one.change is Change.HARMED)
    most = ", ".join(f"{name} ({n})" for name, n in sorted(worse.items(), key=lambda found: (-found[1], found[0]))[:3])
    eyes = "as returned by the mentor's eyes, against as received by the trainee's"
    words = f"{worse.total()} of {amount_words(len(told), 'criterion', 'criteria')}" if told else "cannot be told"
    return Fact("Worse than it came", words, f"{most}; {eyes}" if most else eyes)


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
    kept = [pair for pair in result.pairs if pair.marked and pair.marked.keep and pair.finding is None]
    kept.sort(key=lambda pair: (-(pair.returned.score.seen or 0), pair.number))
    return sorted(kept[:N_KEPT], key=lambda pair: pair.number)


def _priority(priority: Priority, result: RoundResult) -> PriorityRow:
    on = priority.on
    doubled = f" × {MUST_PASS_FACTOR} (must-pass)" if on.criterion.must_pass is not None else ""
    levels = round(priority.shortfall * priority.n_short)
    return PriorityRow(
        name=on.name,
        where=pairs_words(priority.numbers),
        say=_mentors_words(priority, result) or f"What is asked for: {on.criterion.levels[result.rubric.fit]}.",
        sum_words=(
            f"weight {on.criterion.weight} × {levels}/{priority.n_short} levels short × "
            f"{priority.n_short}/{priority.n_seen} pairs{doubled} = {plain_words(priority.size, 1)}"
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

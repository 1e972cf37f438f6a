"""Which charts a history gets: skill over the months, catch rate, judgement, calibration, work; each with its table."""

from __future__ import annotations

from collections.abc import Sequence

from evalkit.progress.history import History
from evalkit.progress.modelled import MIN_PAIRS, CriterionSkill, Modelled, RoundEndSkill
from evalkit.reports.charts import (
    Chart,
    ChartGroup,
    Course,
    Figures,
    Point,
    chart,
    month_frame,
)
from evalkit.reports.figures import (
    NOTHING,
    list_words,
    number_words,
    percent_words,
    share_words,
    sure_words,
)
from evalkit.reports.judgement_charts import calibration_group, eyes_group, work_group
from evalkit.reports.progress_chances import NEAR_TOP, band_words, is_near_top, modelled_words
from evalkit.reports.round_points import last_month, share_point

LEANING = (
    "No band is the criterion's own count: the criteria lean on one another through what they share, and the steps of "
    "the ladder are taken to be alike for all. Where levels jump from the top to below fit, the band is surer than the "
    f"counts; set the counts beside it. Above {NEAR_TOP} % nothing finer is said."
)


def chart_groups(history: History) -> tuple[ChartGroup, ...]:
    """Every group that has something to show, in the order of the page."""
    groups = [
        _whole(history),
        _criteria(history),
        eyes_group(history),
        calibration_group(history),
        work_group(history),
    ]
    return tuple(group for group in groups if group is not None)


def _whole(history: History) -> ChartGroup | None:
    """Every must-pass of the next ordinary pair: what could be said at each round end, and what was counted."""
    if not history.counts:
        return None
    asked = percent_words(history.readiness.target)
    rows, course = _whole_rows(history), _whole_course(history)
    points = [share_point(one, one.passed) for one in history.counts if one.passed.n]
    is_told = bool(course.points)
    title = "Every must-pass of one ordinary pair"
    dots = (
        "Dots: the share of a round's pairs that reached every must-pass, easy and hard ones together, with 95 % bars."
    )
    line = (
        "Line and band (80 %): what could be said when each round had been marked, from it and those before it."
        if is_told
        else "No line is drawn: there is no modelled figure, only what was seen."
    )
    heads = (
        "Round",
        "Month",
        "Counted: every must-pass reached",
        "Next ordinary pair",
        "80 % band",
        f"Sure of {asked}",
    )
    return ChartGroup(
        key="whole",
        title="Would the next ordinary pair pass?",
        remarks=(f"{dots} {line}",),
        charts=(
            chart(
                "c-whole",
                title,
                f"{title}: {_course_words(rows, 3)}",
                month_frame(last_month(history), wide=True),
                points=points,
                course=course,
                guides=((history.readiness.target, f"asked for: {asked}"),),
            ),
        )
        if points or is_told
        else (),
        figures=Figures(
            "When each round had been marked",
            heads if is_told else heads[:3],
            rows if is_told else tuple(row[:3] for row in rows),
        ),
    )


def _whole_course(history: History) -> Course:
    ends = history.modelled.ends if history.modelled else ()
    return Course(
        tuple(
            (end.months, end.joint_lo, end.joint, end.joint_hi)
            for end in ends
            if end.joint is not None and end.joint_lo is not None and end.joint_hi is not None
        )
    )


def _whole_rows(history: History) -> tuple[tuple[str, ...], ...]:
    ends = {end.key: end for end in (history.modelled.ends if history.modelled else ())}
    return tuple(
        (one.key, number_words(round(one.months, 1)), share_words(one.passed), *_end_words(ends.get(one.key)))
        for one in history.counts
    )


def _end_words(end: RoundEndSkill | None) -> tuple[str, str, str]:
    if end is None or end.joint is None or end.joint_lo is None or end.joint_hi is None or end.prob_at_target is None:
        return NOTHING, NOTHING, NOTHING
    return modelled_words(end.joint), band_words(end.joint_lo, end.joint_hi), sure_words(end.prob_at_target)


def _course_words(rows: Sequence[tuple[str, ...]], column: int) -> str:
    told = [f"{row[0]} {row[column]}" for row in rows if row[column] != NOTHING]
    return "; ".join(told) + "." if told else "no trend is shown, there are too few pairs; the dots are in the table."


def _criteria(history: History) -> ChartGroup | None:
    """One small chart for each criterion that was ever seen, must-passes first."""
    modelled = history.modelled
    if modelled is None:
        return None
    seen = [one for one in modelled.criteria if sum(one.n_seen)]
    ordered = sorted(seen, key=lambda one: not one.is_must_pass)
    months = [round_.months for round_ in history.observed.rounds]
    keys = [round_.key for round_ in history.observed.rounds]
    few = [one.name for one in ordered if not one.is_trend]
    missed = _missed_all_the_same(ordered, keys[-1])
    remarks = [
        (
            "Line and band (80 %): the share of ordinary pairs that would reach what the rubric asks, in the light of "
            "all rounds. Rings: the share that did in that round, whatever its pairs were."
        ),
        LEANING,
    ]
    if missed:
        remarks.append(missed)
    if modelled.each_needs is not None:
        n = len(history.observed.must_pass)
        remarks.append(
            f"Dashed: {percent_words(modelled.each_needs)}, which each of {n} must-passes would need if all were "
            f"alike, for all of them together to reach {percent_words(history.readiness.target)}."
        )
    if few:
        remarks.append(f"Dots only, with fewer than {MIN_PAIRS} readings: {', '.join(few)}.")
    return ChartGroup(
        key="skill",
        title="Skill, criterion by criterion",
        remarks=tuple(remarks),
        charts=tuple(_small(one, modelled, months, keys) for one in ordered),
        figures=Figures(
            "Readings that reached what is asked, of those settled; then the next ordinary pair",
            ("Criterion", *keys, "Next pair", "80 % band"),
            tuple(
                (
                    f"{one.name}{' (must-pass)' if one.is_must_pass else ''}",
                    *(f"{k} of {n}" if n else NOTHING for k, n in zip(one.n_reached, one.n_seen, strict=True)),
                    modelled_words(one.next_pair[0]) if one.is_trend else NOTHING,
                    band_words(one.next_pair[1], one.next_pair[2]) if one.is_trend else NOTHING,
                )
                for one in ordered
            ),
        ),
    )


def _missed_all_the_same(criteria: Sequence[CriterionSkill], key: str) -> str:
    """Criteria the model takes for all but certain that fell short in the latest round nevertheless."""
    told = [
        f"{one.name} ({one.n_reached[-1]} of {one.n_seen[-1]} reached)"
        for one in criteria
        if one.is_trend and is_near_top(one.next_pair[0]) and one.n_reached[-1] < one.n_seen[-1]
    ]
    return f"Over {NEAR_TOP} % by the model, and yet missed in {key}: {list_words(told)}." if told else ""


def _small(one: CriterionSkill, modelled: Modelled, months: Sequence[float], keys: Sequence[str]) -> Chart:
    rows = zip(months, one.chance_lo, one.chance, one.chance_hi, strict=True)
    counted = [
        Point(month, k / n, shape="ring", title=f"{key}: {k} of {n}")
        for month, key, k, n in zip(months, keys, one.n_reached, one.n_seen, strict=True)
        if n
    ]
    words = f"{one.name}: {sum(one.n_reached)} of {sum(one.n_seen)} readings reached what is asked."
    if one.is_trend:
        first, last = modelled_words(one.chance[0]), modelled_words(one.chance[-1])
        words += f" An ordinary pair: {first} in {keys[0]}, {last} in {keys[-1]}."
    guides = ((modelled.each_needs, ""),) if one.is_must_pass and modelled.each_needs is not None else ()
    title = f"{one.name}{' ◆' if one.is_must_pass else ''}"
    return chart(
        f"c-{one.key}", title, words, month_frame(months[-1]),
        points=counted, course=Course(tuple(rows)) if one.is_trend else None, guides=guides,
    )  # fmt: skip

"""Charts of what the eyes see and how the work goes: gone out, catches, near misses, calibration, minutes, metal."""

from __future__ import annotations

from collections.abc import Callable

from evalkit.domain.amounts import amount_words
from evalkit.progress.counting import RoundCounts, Spread
from evalkit.progress.history import Calibration, History
from evalkit.progress.judging import RoundJudgement
from evalkit.reports.charts import (
    Chart,
    ChartGroup,
    Course,
    Figures,
    Point,
    chart,
    level_frame,
    month_frame,
    round_top,
)
from evalkit.reports.figures import NOTHING, number_words, share_words
from evalkit.reports.progress_chances import band_words, modelled_words
from evalkit.reports.round_points import ShareOf, last_month, share_point

EYES: tuple[tuple[str, str, ShareOf], ...] = (
    ("out", "Would have gone out", lambda one: one.gone_out),
    ("catch", "Faults caught", lambda one: one.catch),
    ("alarm", "False alarms", lambda one: one.false_alarm),
    ("found", "Faults found as received", lambda one: one.found),
)
FOUND_REMARK = (
    "Faults found as received: of those the mentor saw before she posted the box, those the trainee saw before any "
    "work; one that was not looked for was not found. Pairs left alone, or lost on the way back, count here as well. "
    "Imagined: faults seen where she had seen none."
)
GONE_OUT_REMARK = (
    "Would have gone out: of the pairs the trainee accepted and the mentor accepts or sends back, those sent back; "
    "those her marking leaves open are not counted. Faults caught: one that was not looked for was not caught. Bars "
    "are 95 % intervals; from few pairs they are wide, and that is the truth of it."
)
NEAR_REMARK = (
    "Near misses let through (80 % band): of faults one level below fit, the share the trainee would pass. It does not "
    "fall merely because there is less to see."
)


def eyes_group(history: History) -> ChartGroup | None:
    """What the eyes see: pairs that would have gone out, faults caught, false alarms; near misses let through."""
    if not history.counts:
        return None
    near = _near(history)
    has_intake = any(one.found.n or one.imagined.n for one in history.counts)
    heads = (
        *("Round", "Would have gone out", "Left open", "Faults caught", "Not looked for", "False alarms"),
        *(("Found as received", "Imagined as received") if has_intake else ()),
    )
    return ChartGroup(
        key="eyes",
        title="What the eyes see",
        remarks=(GONE_OUT_REMARK, *((FOUND_REMARK,) if has_intake else ()), *((NEAR_REMARK,) if near else ())),
        charts=(
            *(_shares(history, *one) for one in EYES if any(one[2](counts).n for counts in history.counts)),
            *((_near_chart(history, near),) if near else ()),
        ),
        figures=Figures(
            "Round by round",
            (*heads, "Near misses let through") if near else heads,
            tuple(
                (
                    one.key,
                    share_words(one.gone_out),
                    str(one.n_accepted_unjudged),
                    share_words(one.catch),
                    str(one.n_not_looked),
                    share_words(one.false_alarm),
                    *((share_words(one.found), share_words(one.imagined)) if has_intake else ()),
                    *((_near_words(near.get(one.key)),) if near else ()),
                )
                for one in history.counts
            ),
        ),
    )


def _near(history: History) -> dict[str, RoundJudgement]:
    """By round key, where both gave levels."""
    judgement = history.modelled.judgement if history.modelled else None
    return {one.key: one for one in judgement.rounds if one.n_both} if judgement else {}


def _near_chart(history: History, near: dict[str, RoundJudgement]) -> Chart:
    course = tuple(
        (one.months, told.let_through_lo, told.let_through, told.let_through_hi)
        for one in history.counts
        if (told := near.get(one.key)) is not None
    )
    words = "; ".join(f"{key} {modelled_words(told.let_through)}" for key, told in near.items())
    return chart(
        "c-near",
        "Near misses let through",
        f"Near misses let through: {words}.",
        month_frame(last_month(history)),
        course=Course(course),
    )


def _near_words(told: RoundJudgement | None) -> str:
    if told is None:
        return NOTHING
    return f"{modelled_words(told.let_through)} ({band_words(told.let_through_lo, told.let_through_hi)})"


def _shares(history: History, key: str, title: str, share_of: ShareOf) -> Chart:
    told = [(one, share) for one in history.counts if (share := share_of(one)).n]
    words = "; ".join(f"{one.key} {share.k} of {share.n}" for one, share in told) or "nothing to count"
    return chart(
        f"c-{key}", title, f"{title}: {words}.", month_frame(last_month(history)),
        points=[share_point(one, share) for one, share in told],
    )  # fmt: skip


def calibration_group(history: History) -> ChartGroup | None:
    """When the trainee says a level, how often the mentor finds it fit; the first round and the latest."""
    if not history.calibration:
        return None
    first, last = history.calibration[0], history.calibration[-1]
    views = [first, last] if first is not last else [last]
    fit = history.line.fit
    return ChartGroup(
        key="calibration",
        title="When the trainee says a level, is it fit?",
        remarks=(
            (
                f"Of the criteria to which the trainee gave a level, the share the mentor found fit ({fit} or better). "
                f"Well judged means near 0 % under {fit} and near 100 % from {fit} on."
            ),
        ),
        charts=tuple(_one_calibration(one, fit) for one in views),
        figures=Figures(
            "Found fit by the mentor",
            ("The trainee says", *(one.round_key for one in views)),
            tuple(
                (
                    f"{level} {words}",
                    *(f"{k} of {n}" if n else NOTHING for one in views for k, n in (_fit_of(one, level, fit),)),
                )
                for level, words in enumerate(history.line.levels)
            ),
        ),
    )


def _fit_of(one: Calibration, level: int, fit: int) -> tuple[int, int]:
    row = one.agreement.table[level]
    return sum(row[fit:]), sum(row)


def _one_calibration(one: Calibration, fit: int) -> Chart:
    told = [(level, *_fit_of(one, level, fit)) for level in range(len(one.agreement.table))]
    points = [
        Point(float(level), k / n, shape="disc" if level >= fit else "diamond", title=f"says {level}: {k} of {n} fit")
        for level, k, n in told
        if n
    ]
    words = "; ".join(f"says {level}, fit on {k} of {n}" for level, k, n in told if n)
    title = f"Round {one.round_key}"
    return chart(
        f"c-cal-{one.round_key}",
        title,
        f"{title}: {words}.",
        level_frame(range(len(told)), "the trainee says"),
        points=points,
    )


def work_group(history: History) -> ChartGroup | None:
    """Minutes and metal: the middle pair of each round, and the least and most."""
    wanted: tuple[tuple[str, str, str, Callable[[RoundCounts], Spread]], ...] = (
        ("minutes", "Minutes per pair", "min", lambda one: one.minutes),
        ("metal", "Metal removed", "mm", lambda one: one.removed_mm),
    )
    shown = [one for one in wanted if any(one[3](counts).n for counts in history.counts)]
    if not shown:
        return None
    return ChartGroup(
        key="work",
        title="Minutes and metal",
        remarks=(
            (
                "Dots: the middle pair of the round; bars: least to most. Blade width lost in a normal sharpen: aimed "
                "under 0.1 mm (from memory, a starting value). Fewer minutes are skill only while the rest holds."
            ),
        ),
        charts=tuple(_spreads(history, *one) for one in shown),
        figures=Figures(
            "Middle (least to most), and on how many pairs it was written down",
            ("Round", *(title for _, title, _, _ in shown)),
            tuple(
                (counts.key, *(_spread_words(of(counts), unit) for _, _, unit, of in shown))
                for counts in history.counts
            ),
        ),
    )


def _spreads(history: History, key: str, title: str, unit: str, of: Callable[[RoundCounts], Spread]) -> Chart:
    told = [(one, of(one)) for one in history.counts if of(one).n]
    top = round_top(max(spread.high or 0.0 for _, spread in told))
    labels = ("0", number_words(top / 2), f"{number_words(top)} {unit}")
    points = [
        Point(
            one.months,
            spread.median or 0.0,
            spread.low,
            spread.high,
            "disc",
            f"{one.key}: {_spread_words(spread, unit)}",
        )
        for one, spread in told
    ]
    words = "; ".join(f"{one.key} {_spread_words(spread, unit)}" for one, spread in told)
    return chart(
        f"c-{key}",
        title,
        f"{title}: {words}.",
        month_frame(last_month(history), top=top, y_labels=labels),
        points=points,
    )


def _spread_words(spread: Spread, unit: str) -> str:
    if spread.median is None or spread.low is None or spread.high is None:
        return "not written down"
    return (
        f"{number_words(spread.median)} {unit} ({number_words(spread.low)} to {number_words(spread.high)}; "
        f"{amount_words(spread.n, 'pair')})"
    )

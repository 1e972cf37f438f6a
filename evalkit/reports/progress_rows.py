"""What the progress page sees: small frozen rows of words and drawings, made from a History."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from evalkit.domain.amounts import amount_words
from evalkit.domain.pair import EdgeType
from evalkit.progress.counting import RoundCounts
from evalkit.progress.faults import FaultView
from evalkit.progress.history import History
from evalkit.progress.modelled import MIN_PAIRS
from evalkit.progress.moves import Move, Step
from evalkit.reports.blades import SPOTS, BladeDrawing, draw_counts, place_words
from evalkit.reports.charts import ChartGroup, Figures
from evalkit.reports.counted_words import apart_words, latest_words, learning_words, watch_words
from evalkit.reports.eyes_words import judgement_words
from evalkit.reports.figures import NOTHING, day_words, list_words, number_words
from evalkit.reports.progress_charts import chart_groups
from evalkit.reports.progress_edges import SHAPES, EdgeRow, edge_row, edges_remark, pooled_words
from evalkit.reports.progress_grounds import method, rests_on
from evalkit.reports.progress_rounds import ROUNDS_REMARK, RoundRow, gone_out_words, of_words, round_row
from evalkit.reports.progress_words import DECISION, QUESTION, evidence_words, headline_words, need_words

RUSHED = 0.8
"""A middle time below this share of the round before is spoken of when skill fell as well."""


@dataclass(frozen=True, slots=True)
class ProgressRow:
    """A whole progress page."""

    title: str
    trainee: str
    scope: str
    made_on: str
    span: str
    question: str
    headline: str
    shape: str
    evidence: tuple[str, ...]
    decision: str
    needs: tuple[str, ...]
    counted: tuple[str, ...]
    second: tuple[str, ...]
    notable: tuple[str, ...]
    rounds: tuple[RoundRow, ...]
    rounds_remark: str
    edges: tuple[EdgeRow, ...]
    edges_remark: str
    judgement: tuple[str, ...]
    groups: tuple[ChartGroup, ...]
    drawings: tuple[BladeDrawing, ...]
    drawings_remark: str
    fault_figures: Figures
    sign_offs: tuple[str, ...]
    rests_on: tuple[str, ...]
    method: tuple[str, ...]


def progress_row(history: History, *, made_on: date) -> ProgressRow:
    """Everything a progress page says."""
    found = history.readiness
    return ProgressRow(
        title="Progress",
        trainee=history.trainee.name,
        scope=f"{_edges(history.scope)} only" if history.scope else "",
        made_on=day_words(made_on),
        span=_span(history),
        question=QUESTION,
        headline=headline_words(found, is_pooled=history.is_pooled),
        shape=SHAPES[found.answer],
        evidence=(*evidence_words(found), *pooled_words(history)),
        decision=DECISION,
        needs=need_words(found),
        counted=(*latest_words(history.latest), *apart_words(found, history.latest)) if history.counts else (),
        second=(learning_words(history.learning),) if history.counts else (),
        notable=_notable(history),
        rounds=tuple(round_row(one, step) for one, step in _with_steps(history)),
        rounds_remark=ROUNDS_REMARK,
        edges=tuple(edge_row(one) for one in history.by_edge_type),
        edges_remark=edges_remark(history),
        judgement=judgement_words(history.modelled.judgement) if history.modelled else (),
        groups=chart_groups(history),
        drawings=_drawings(history),
        drawings_remark=_drawings_remark(history),
        fault_figures=_fault_figures(history),
        sign_offs=_sign_offs(history),
        rests_on=rests_on(history),
        method=method(found),
    )


def _edges(kinds: tuple[EdgeType, ...]) -> str:
    return list_words([kind.value for kind in kinds])


def _span(history: History) -> str:
    if not history.counts:
        return "No round is marked yet."
    first, last = history.counts[0], history.counts[-1]
    n_pairs, n_sent = (sum(ns) for ns in zip(*((one.n_pairs, one.n_in_box) for one in history.counts), strict=True))
    rounds = amount_words(len(history.counts), "round")
    when = f"from {day_words(first.on)} to {day_words(last.on)}" if first is not last else f"on {day_words(first.on)}"
    of = "" if n_pairs == n_sent else f" of {n_sent} sent"
    return f"{rounds}, {amount_words(n_pairs, 'marked pair')}{of}, {when}."


def _with_steps(history: History) -> list[tuple[RoundCounts, Step | None]]:
    steps = history.modelled.steps if history.modelled else ()
    by_key = {round_.key: step for round_, step in zip(history.observed.rounds[1:], steps, strict=False)}
    return [(one, by_key.get(one.key)) for one in history.counts]


def _notable(history: History) -> tuple[str, ...]:
    """What must not be overlooked: alarms first, then falls in the rounds in which they happened, newest first."""
    lines = [watch_words(watch) for watch in history.watches if watch.signal.at is not None]
    rows = _with_steps(history)
    for at in range(len(rows) - 1, 0, -1):
        one, step = rows[at]
        before = rows[at - 1][0]
        if step is None or step.move is not Move.DOWN:
            continue
        line = (
            f"In round {one.key} the skill over the must-passes fell: every must-pass reached on "
            f"{of_words(one.passed.k, one.passed.n)} pairs, after {of_words(before.passed.k, before.passed.n)} in "
            f"{before.key}."
        )
        if one.gone_out.n:
            line += f" Would have gone out: {gone_out_words(one)}."
        if _is_rushed(one, before):
            line += (
                f" The middle time fell as well, from {number_words(before.minutes.median or 0)} to "
                f"{number_words(one.minutes.median or 0)} minutes: was there a hurry?"
            )
        lines.append(line)
    return tuple(lines)


def _is_rushed(one: RoundCounts, before: RoundCounts) -> bool:
    return bool(one.minutes.median and before.minutes.median and one.minutes.median < RUSHED * before.minutes.median)


def _drawings(history: History) -> tuple[BladeDrawing, ...]:
    views = (("then", history.then), ("now", history.now))
    return tuple(_drawing(key, view) for key, view in views if view is not None)


def _drawing(key: str, view: FaultView) -> BladeDrawing:
    rounds = list_words(list(view.round_keys))
    return draw_counts(
        {one.place: (one.n_below, one.n_seen, ", ".join(one.names[:3])) for one in view.places},
        key=f"faults-{key}",
        title=f"{key.capitalize()}: {amount_words(view.n_pairs, 'pair')} of {rounds}",
    )


def _drawings_remark(history: History) -> str:
    if history.now is None:
        return f"Under {MIN_PAIRS} marked pairs no picture of where faults sit is drawn."
    return (
        "Each mark counts the mentor's readings below fit at that place. Ring: none; square: some; diamond: half of "
        "them or more. Between the blades stands what is read on both together, test cuts above all; at the pivot, "
        "what is read on the pair as a whole."
    )


def _fault_figures(history: History) -> Figures:
    views = [("Then", history.then), ("Now", history.now)]
    shown = [(name, {one.place: one for one in view.places}) for name, view in views if view is not None]
    places = [place for place in SPOTS if any(place in places for _, places in shown)]
    return Figures(
        "Readings below fit, of those made there",
        ("Place", *(name for name, _ in shown), "Most often, now"),
        tuple(
            (
                place_words(place),
                *(
                    of_words(found.n_below, found.n_seen) if (found := seen.get(place)) else NOTHING
                    for _, seen in shown
                ),
                ", ".join(last.names[:3]) if (last := shown[-1][1].get(place)) and last.names else NOTHING,
            )
            for place in places
        ),
    )


def _sign_offs(history: History) -> tuple[str, ...]:
    lines = [watch_words(watch) for watch in history.watches]
    for one in history.sign_offs:
        said = list_words(sorted({f"'{words}'" for words in one.answers.values()}))
        if one.stands:
            lines.append(
                f"The figures of {day_words(one.signed_on)} said {said}." + (f" {one.note}" if one.note else "")
            )
        else:
            lines.append(
                f"Signed off for {_edges(one.edge_types)} on {day_words(one.signed_on)} (the figures said {said}), "
                f"withdrawn on {day_words(one.withdrawn_on)}: {one.reason}"
            )
    return tuple(lines)

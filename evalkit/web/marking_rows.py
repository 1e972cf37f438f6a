"""What the marking page shows of one pair: criterion by criterion, in the order of the bench."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from markupsafe import Markup

from evalkit.actions.marking import by_criterion, n_could_not, untested_names, untested_places
from evalkit.domain.amounts import amount_words
from evalkit.domain.bench_order import BenchStep, in_bench_order, step_of
from evalkit.domain.causes import LikelyCause
from evalkit.domain.criterion import CriterionOn, Kind
from evalkit.domain.grading import CriterionGrade, PairGrade
from evalkit.domain.measures import SHORT
from evalkit.domain.reading import Place, Reading
from evalkit.domain.rubric import Rubric
from evalkit.files.sheets.values import value_words
from evalkit.reports.blades import draw_blades, shape_of
from evalkit.reports.criterion_rows import level_shape
from evalkit.reports.figures import band_words, level_words
from evalkit.reports.prose import to_safe_html
from evalkit.web.fields import FieldFault, choices_of, places_of, slug_of
from evalkit.web.marking_shapes import CauseOffer, LineRow, MarkRow, PlaceRow

if TYPE_CHECKING:
    from evalkit.domain.marking import MarkedPair

N_CAUSES = 4


@lru_cache(maxsize=512)
def ask_html(text: str) -> Markup:
    """What a rubric asks for, made safe to show; a page asks for the same dozen texts again and again."""
    return to_safe_html(text)


STEP_WORDS = {
    BenchStep.CLEAN: "Clean",
    BenchStep.TENSION: "Tension",
    BenchStep.LOOK: "Look",
    BenchStep.CUT: "Cut",
}


def mark_row(
    marked: MarkedPair | None,
    grade: PairGrade,
    causes: Sequence[LikelyCause],
    *,
    lines: Sequence[CriterionOn],
    rubric: Rubric,
    faults: Sequence[FieldFault] = (),
) -> MarkRow:
    """Everything the page says of the pair. `lines` are the criteria asked of it."""
    kept = by_criterion(marked.readings if marked else ())
    wrong = {fault.name: fault for fault in faults}
    rows = tuple(_line(on, kept.get(on.key, ()), marked, grade, rubric, wrong) for on in in_bench_order(lines))
    steps = tuple(
        (STEP_WORDS[step], tuple(row for row in rows if row.step == step))
        for step in BenchStep
        if any(row.step == step for row in rows)
    )
    untested = tuple(untested_names(in_bench_order(lines), kept))
    n_untested = sum(row.n_untested for row in rows)
    return MarkRow(
        lines=rows,
        steps=steps,
        drawing=draw_blades(grade, key="pair", title="What you have seen so far", fit=rubric.fit, top=rubric.top),
        untested=untested,
        untested_words=untested_words(untested, n_untested, n_could_not(lines, kept)),
        n_untested=n_untested,
        n_places=sum(len(on.places) for on in lines),
        causes=cause_offers(causes),
        keep=_text("keep", marked.keep if marked else "", wrong),
        change=_text("change", marked.change if marked else "", wrong),
        transit_note=_text("transit_note", marked.transit_note if marked else "", wrong),
        notes=_text("notes", marked.notes if marked else "", wrong),
        called_for=(marked.called_for or "") if marked else "",
        faults=tuple(faults),
    )


def untested_words(names: Sequence[str], n_untested: int, n_failed: int) -> str:
    """'Untested: 12 readings. Tips; Hair swatch (tip)'; or what could not be tested; or that everything is."""
    if not names:
        return could_not_words(n_failed) if n_failed else "Everything is tested."
    return f"Untested, so not passed: {amount_words(n_untested, 'reading')}. {'; '.join(names)}."


def could_not_words(n_criteria: int) -> str:
    """'Nothing is left to test. Could not be tested, so not passed: 2 criteria.'."""
    criteria = amount_words(n_criteria, "criterion", "criteria")
    return f"Nothing is left to test. Could not be tested, so not passed: {criteria}."


def cause_offers(causes: Sequence[LikelyCause]) -> tuple[CauseOffer, ...]:
    """The first few likely causes, best first."""
    return tuple(
        CauseOffer(
            observed=one.cause.observed,
            causes=", then ".join(one.cause.causes),
            say=one.cause.say,
            weight=f"explains {one.n_explained} of {amount_words(one.n_failed, 'failed reading')}"
            + (f", {one.n_against} against" if one.n_against else ""),
            source=one.cause.source,
        )
        for one in causes[:N_CAUSES]
    )


def _text(name: str, kept: str, wrong: Mapping[str, FieldFault]) -> str:
    return wrong[name].text if name in wrong else kept


def _line(
    on: CriterionOn,
    readings: Sequence[Reading],
    marked: MarkedPair | None,
    grade: PairGrade,
    rubric: Rubric,
    wrong: Mapping[str, FieldFault],
) -> LineRow:
    graded = grade.find(on.key)
    choices = choices_of(on)
    comment = f"c.{on.key}"
    kept = "\n".join(one.text for one in marked.comments if one.criterion == on.key) if marked else ""
    return LineRow(
        key=on.key,
        name=on.name,
        step=step_of(on),
        ask=ask_html(on.criterion.ask),
        kind=on.kind,
        unit=SHORT[on.unit].strip() if on.unit is not None else "",
        asked=_asked(on, rubric),
        must_pass=f"must reach {on.must_pass}" if on.must_pass else ("" if on.weight else "advice only"),
        ladder=on.levels,
        choices=choices,
        places=tuple(
            _place(on, place, readings, graded, rubric=rubric, choices=choices, wrong=wrong)
            for place in places_of(on, readings)
        ),
        level=level_words(graded),
        shape=level_shape(graded, rubric),
        n_untested=len(untested_places(on, readings)),
        comment=_text(comment, kept, wrong),
        comment_fault=_fault(comment, wrong),
        is_transit=marked is not None and on.key in marked.transit,
    )


def _asked(on: CriterionOn, rubric: Rubric) -> str:
    """'Fit: 20 to 45° open', for a measured value; how far a push may go, for a cut."""
    if on.kind is Kind.MEASURED and (band := on.band_of(on.must_pass or rubric.fit)) is not None:
        return f"Fit: {band_words(on, *band)}"
    return ""


def _place(
    on: CriterionOn,
    place: Place,
    readings: Sequence[Reading],
    graded: CriterionGrade | None,
    *,
    rubric: Rubric,
    choices: Sequence[str],
    wrong: Mapping[str, FieldFault],
) -> PlaceRow:
    slug = slug_of(place)
    reading = next((one for one in readings if one.place == place), None)
    said = value_words(on, reading.seen, reading.note) if reading else ""
    level = next((one.level for one in graded.places if one.place == place), None) if graded else None
    chosen = said if said in choices else ""
    name = f"v.{on.key}.{slug}"
    return PlaceRow(
        slug=slug,
        name=str(place),
        chosen=chosen,
        words=wrong[name].text if name in wrong else ("" if chosen else said),
        said=said,
        sign=_sign(reading, level),
        shape=shape_of(level, fit=rubric.fit, top=rubric.top) if reading else "unseen",
        fault=_fault(name, wrong),
    )


def _sign(reading: Reading | None, level: int | None) -> str:
    """'2', '?' where nobody looked, '–' where there is no level though somebody did."""
    if reading is None:
        return "?"
    return "–" if level is None else str(level)


def _fault(name: str, wrong: Mapping[str, FieldFault]) -> str:
    return f"{wrong[name].what} {wrong[name].mend}".strip() if name in wrong else ""

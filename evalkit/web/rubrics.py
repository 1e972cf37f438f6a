"""Rubrics as they were frozen, to read at the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from evalkit.domain.bench_order import in_bench_order, step_of
from evalkit.domain.criterion import CriterionOn, Kind, Use
from evalkit.domain.pair import EdgeType
from evalkit.domain.rubric import Rubric
from evalkit.errors import NotFoundError
from evalkit.reports.blades import shape_of
from evalkit.reports.figures import band_words, day_words, number_words
from evalkit.web.desk import NO_ROUND
from evalkit.web.marking_rows import STEP_WORDS, ask_html

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.book.book import Book
    from evalkit.web.visit import Visit


@dataclass(frozen=True, slots=True)
class RungRow:
    """One rung of a criterion's ladder, with the values or cuts that earn it."""

    level: int
    shape: str
    words: str
    earned: str


@dataclass(frozen=True, slots=True)
class CriterionPageRow:
    """One criterion as it stands for one edge type."""

    name: str
    step: str
    ask: Markup
    weight: str
    places: str
    rungs: tuple[RungRow, ...]
    source: str


def show_rubrics(visit: Visit) -> Response:
    """Every rubric that a round was planned with."""
    rows = [(one.key, one.version, one.name, day_words(one.frozen_at.date())) for one in visit.book.list_rubrics()]
    return visit.show("rubrics.html", 200, rubrics=rows)


def show_rubric(visit: Visit) -> Response:
    """One rubric for one edge type."""
    version = int(visit.request.path_params["version"])
    asked = visit.request.query_params.get("edge", "")[:40]
    name = ("rubric", visit.key, version, asked)
    rows = visit.made(name, lambda: _rows(visit.book, visit.key, version, asked), of=NO_ROUND)
    return visit.show("rubric.html", 200, **rows)


def _rows(book: Book, key: str, version: int, asked: str) -> dict[str, object]:
    rubric, version = book.get_rubric(key, version)
    asked = asked or rubric.edge_types[0].value
    if asked not in {kind.value for kind in rubric.edge_types}:
        raise NotFoundError(
            "this rubric does not serve that edge type.",
            mend=f"It serves: {', '.join(rubric.edge_types)}.",
            where=f"rubric {rubric.key}",
        )
    kind = EdgeType(asked)
    lines = [on for on in in_bench_order(rubric.on(kind)) if on.use is not Use.NOT_APPLICABLE]
    return {
        "rubric": rubric,
        "version": version,
        "edge": kind.value,
        "edges": [one.value for one in rubric.edge_types],
        "criteria": [_criterion(on, rubric) for on in lines],
        "drop": rubric.drop_test,
    }


def _criterion(on: CriterionOn, rubric: Rubric) -> CriterionPageRow:
    weight = f"weight {on.weight}" if on.weight else "advice only, never in the sum"
    must = f", must reach {on.must_pass}" if on.must_pass else ""
    return CriterionPageRow(
        name=on.name,
        step=STEP_WORDS[step_of(on)],
        ask=ask_html(on.criterion.ask),
        weight=weight + must,
        places=", ".join(str(place) for place in on.places),
        rungs=tuple(
            RungRow(level, shape_of(level, fit=rubric.fit, top=rubric.top), words, _earned(on, level))
            for level, words in enumerate(on.levels)
        ),
        source=on.criterion.source,
    )


def _earned(on: CriterionOn, level: int) -> str:
    """'0.2 to 0.6 mm', 'clean, push up to 0.5 mm': what earns exactly this rung; '' where only the eye does."""
    if on.kind is Kind.MEASURED:
        return next((band_words(on, low, high) for at, low, high in on.bands if at == level), "")
    if on.kind is Kind.CUT:
        words = [cut.value for cut, earns in on.cuts.items() if earns == level]
        words += [f"push up to {number_words(most)} mm" for at, most in on.push_mm if at == level]
        return ", ".join(words)
    return ""

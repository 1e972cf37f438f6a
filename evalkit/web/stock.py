"""The stock of practice pairs: where each of them is, since when, and which boxes nothing was heard of for long."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, assert_never
from urllib.parse import urlencode

from evalkit.book.whereabouts import Asked
from evalkit.domain.amounts import amount_words
from evalkit.domain.round import RoundState, overdue_days
from evalkit.reports.figures import day_words
from evalkit.web.desk import NO_MARK
from evalkit.web.visit import check_page

if TYPE_CHECKING:
    from datetime import date

    from starlette.responses import Response

    from evalkit.book.book import Book
    from evalkit.book.whereabouts import Box, Whereabouts
    from evalkit.web.visit import Visit

PER_PAGE = 50
MAX_ASKED = 60


class Place(StrEnum):
    """Where a pair is, as the list is narrowed down by it."""

    HERE = "here"
    OUT = "in a box"
    MISSING = "missing"
    LOST = "lost"
    RETIRED = "retired"


@dataclass(frozen=True, slots=True)
class StockRow:
    """One pair: what it is, and where, since when. `mark` is a shape beside the words, '' for none."""

    tag: str
    words: str
    difficulty: int
    faults: str
    place: Place
    mark: str
    where: str
    since: str
    reason: str
    round_key: str


@dataclass(frozen=True, slots=True)
class OverdueRow:
    """A box of which nothing was heard for longer than the settings allow."""

    key: str
    trainee: str
    state: str
    since: str
    days: str
    n_pairs: str


@dataclass(frozen=True, slots=True)
class PlaceLink:
    """One way to narrow the list down."""

    words: str
    n: int
    address: str
    is_here: bool


def show_stock(visit: Visit) -> Response:
    """A page of the stock in the order of its tags, all of it or what is asked for."""
    asked = visit.request.query_params.get("q", "").strip()[:MAX_ASKED]
    place = visit.request.query_params.get("where", "")
    number = visit.page_number()
    return visit.show(
        "stock.html",
        200,
        **visit.made(
            ("stock", visit.today, asked, place, number), lambda: _rows(visit, asked, place, number), of=NO_MARK
        ),
    )


def _rows(visit: Visit, asked: str, place: str, number: int) -> dict[str, object]:
    """Only the pairs shown, and those that are apart, are looked at one by one; the rest is counted."""
    apart = [(one, row) for one in visit.book.list_apart() if (row := stock_row(one)).place is not Place.HERE]
    words = tuple(asked.casefold().split())
    fitting = _fitting(visit.book, apart, words)
    counts = _counts(visit.book.count_pairs(Asked(words)), fitting)
    n_fitting = counts.get(place, 0)
    first = (number - 1) * PER_PAGE
    if place in ("", Place.HERE.value):
        shown = _shown(visit.book, Asked(words, without=_tags(apart) if place else frozenset()), first)
    else:
        shown = [row for _, row in fitting if row.place.value == place][first : first + PER_PAGE]
    check_page(shown, number)
    return {
        "rows": shown,
        "n_all": counts[""] if not words else visit.book.count_pairs(Asked()),
        "overdue": _overdue([one for one, _ in apart], visit.today, visit.desk.workbench.settings.overdue_days),
        "links": _links(counts, place, asked),
        "asked": asked,
        "place": place,
        "span": _span(number, len(shown), n_fitting),
        "back": _address(place, asked, number - 1) if number > 1 else "",
        "more": _address(place, asked, number + 1) if first + PER_PAGE < n_fitting else "",
    }


Apart = list[tuple["Whereabouts", StockRow]]


def _counts(n_all: int, fitting: Apart) -> dict[str, int]:
    """How many pairs fit: all ('') and by place."""
    found = {place.value: sum(row.place is place for _, row in fitting) for place in Place}
    return found | {"": n_all, Place.HERE.value: n_all - len(fitting)}


def _fitting(book: Book, apart: Apart, words: tuple[str, ...]) -> Apart:
    if not words:
        return apart
    tags = set(book.fitting_tags(Asked(words, among=_tags(apart))))
    return [(one, row) for one, row in apart if row.tag in tags]


def _tags(apart: Apart) -> frozenset[str]:
    return frozenset(row.tag for _, row in apart)


def _shown(book: Book, asked: Asked, first: int) -> list[StockRow]:
    return [stock_row(one) for one in book.list_whereabouts(book.fitting_tags(asked, PER_PAGE, first))]


def stock_row(one: Whereabouts) -> StockRow:
    """One pair in words."""
    place, mark, where = _place(one)
    return StockRow(
        tag=one.pair.tag,
        words=one.pair.words,
        difficulty=one.pair.difficulty,
        faults=", ".join(fault.tag for fault in one.pair.faults),
        place=place,
        mark=mark,
        where=where,
        since=day_words(one.since) if one.since is not None else "",
        reason=one.retirement.reason if one.retirement else "",
        round_key=one.box.key if one.box else "",
    )


def _place(one: Whereabouts) -> tuple[Place, str, str]:
    """Where it is; the shape beside it; its words."""
    box = one.box
    if one.retirement is not None:
        return Place.RETIRED, "", "retired"
    if box is None:
        return Place.HERE, "", "never sent"
    if one.is_missing:
        return Place.MISSING, "missing", "missing"
    match box.state:
        case RoundState.LOST:
            return Place.LOST, "missing", "lost with its box"
        case RoundState.BACK:
            return Place.HERE, "", box.state.value
        case RoundState.PLANNED | RoundState.ON_ITS_WAY | RoundState.WITH_TRAINEE | RoundState.ON_ITS_WAY_BACK:
            whose = f"with {box.trainee.name}" if box.state is RoundState.WITH_TRAINEE else box.state.value
            return Place.OUT, "", whose
        case _:
            assert_never(box.state)


def _overdue(found: Sequence[Whereabouts], today: date, limit_days: int) -> tuple[OverdueRow, ...]:
    """Boxes that are away, longest without a step first."""
    boxes: dict[str, Box] = {one.box.key: one.box for one in found if one.box is not None}
    late = [box for box in boxes.values() if overdue_days(box.state, box.since, today, limit_days) is not None]
    counts = {key: sum(one.box is not None and one.box.key == key for one in found) for key in boxes}
    return tuple(
        OverdueRow(
            key=box.key,
            trainee=box.trainee.name,
            state=box.state.value,
            since=day_words(box.since),
            days=amount_words((today - box.since).days, "day"),
            n_pairs=amount_words(counts[box.key], "pair"),
        )
        for box in sorted(late, key=lambda box: (box.since, box.key))
    )


def _links(counts: dict[str, int], place: str, asked: str) -> tuple[PlaceLink, ...]:
    words = {"": "all"} | {one.value: one.value for one in Place}
    return tuple(
        PlaceLink(words[value], counts[value], _address(value, asked), value == place)
        for value in words
        if counts[value] or value == place
    )


def _address(place: str, asked: str, number: int = 1) -> str:
    ask = {"where": place, "q": asked, "page": str(number) if number > 1 else ""}
    told = urlencode({name: value for name, value in ask.items() if value})
    return f"/stock?{told}" if told else "/stock"


def _span(number: int, n_shown: int, n_all: int) -> str:
    """'51 to 100 of 500 pairs'."""
    first = (number - 1) * PER_PAGE + 1
    of = amount_words(n_all, "pair")
    return of if n_shown == n_all else f"{first} to {first + n_shown - 1} of {of}"

"""One pair of the stock: where it is, which boxes held it, and whether it is sent any more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.actions.rounds import check_past
from evalkit.errors import InputError
from evalkit.reports.figures import day_words
from evalkit.web.arrivals import ArrivalRow, arrivals_of
from evalkit.web.rounds import day_of
from evalkit.web.stock import Place, stock_row

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.domain.life import Retirement
    from evalkit.domain.round import Round
    from evalkit.web.visit import Visit

MAX_REASON = 2_000


@dataclass(frozen=True, slots=True)
class StayRow:
    """One box that held the pair."""

    key: str
    number: int
    trainee: str
    planned: str
    box: str
    arrival: ArrivalRow | None


def show_stock_pair(visit: Visit) -> Response:
    """The pair, and what can be done with it now."""
    rows = visit.made(("stock pair", visit.tag), lambda: _rows(visit))
    return visit.show("stock_pair.html", 200, today=visit.today.isoformat(), **rows)


def _rows(visit: Visit) -> dict[str, object]:
    tag = visit.book.get_pair(visit.tag).tag
    (found,) = visit.book.list_whereabouts([tag])
    row = stock_row(found)
    return {
        "row": row,
        "pair": found.pair,
        "stays": [_stay(round_, tag) for round_ in visit.book.rounds_holding(tag)],
        "retirements": [_retirement_words(one) for one in visit.book.list_retirements(tag)],
        "photos": visit.book.list_stock_photos(tag),
        "may_come_back": row.place in (Place.RETIRED, Place.MISSING),
        "may_retire": row.place in (Place.HERE, Place.LOST),
        "first_day": found.since.isoformat() if found.since else "",
    }


def _stay(round_: Round, tag: str) -> StayRow:
    number = next(one.number for one in round_.pairs if one.pair.tag == tag)
    arrival = arrivals_of(round_).get(number)
    return StayRow(round_.key, number, round_.trainee.name, day_words(round_.planned_on), round_.state.value, arrival)


def _retirement_words(one: Retirement) -> str:
    """'Retired on 1 May 2026: too narrow. Brought back on 3 May 2026: still good.'."""
    words = f"Retired on {day_words(one.retired_on)}: {_stopped(one.reason)}"
    if one.back_on is None:
        return words
    back = f"Brought back on {day_words(one.back_on)}"
    return f"{words} {back}: {_stopped(one.back_reason)}" if one.back_reason else f"{words} {back}."


def _stopped(words: str) -> str:
    return words if words.endswith((".", "!", "?")) else f"{words}."


def retire(visit: Visit) -> Response:
    """The pair is sent no more, from the day on and for the reason given."""
    where = f"pair {visit.tag}"
    reason = visit.said_within("reason", MAX_REASON, where)
    if not reason:
        raise InputError("a pair is retired for a reason.", mend="Say it, like 'too narrow at the tip'.", where=where)
    on = day_of(visit.said("on"), visit.today, where)
    check_past(on, visit.today, where=where)
    visit.book.retire_pair(visit.tag, on, reason, visit.who)
    return visit.go(f"/stock/{visit.tag}", retired="yes")


def bring_back(visit: Visit) -> Response:
    """A pair that was retired, or missing and found, may be sent again."""
    where = f"pair {visit.tag}"
    on = day_of(visit.said("on"), visit.today, where)
    check_past(on, visit.today, where=where)
    visit.book.bring_back_pair(visit.tag, on, visit.said_within("reason", MAX_REASON, where), visit.who)
    return visit.go(f"/stock/{visit.tag}", back="yes")

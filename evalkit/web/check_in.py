"""Checking a box in against its packing list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.actions.checking_in import Arrival, Unpacking, check_in
from evalkit.domain.round import LegKind, RoundState
from evalkit.errors import InputError
from evalkit.reports.figures import day_words
from evalkit.web.photos import clean_uploads
from evalkit.web.rounds import day_of

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.domain.round import Round
    from evalkit.web.visit import Visit


def show_check_in(visit: Visit) -> Response:
    """The packing list, to tick off pair by pair."""
    round_ = visit.book.get_round(visit.key)
    if round_.state is not RoundState.ON_ITS_WAY_BACK:
        return visit.go(f"/rounds/{round_.key}")
    return visit.show(
        "check_in.html",
        200,
        round=round_,
        pairs=sorted(round_.pairs, key=lambda one: one.number),
        today=visit.today.isoformat(),
        returned=day_words(round_.leg_on(LegKind.RETURNED)),
        first_day=round_.legs[-1].happened_on.isoformat(),
    )


def take_check_in(visit: Visit) -> Response:
    """The box is back: what is missing, what is damaged, what is too much."""
    round_ = visit.book.get_round(visit.key)
    found = Unpacking(
        arrivals=tuple(_arrival(visit, round_, number) for number in round_.numbers),
        happened_on=day_of(visit.said("on"), visit.today, f"round {round_.key}"),
        extra=visit.said("extra"),
        condition=visit.said("condition"),
        carrier_ref=visit.said("ref"),
    )
    check_in(visit.book, visit.desk.photos, round_.key, found, today=visit.today, who=visit.who)
    return visit.go(f"/rounds/{round_.key}", checked_in="yes")


def _arrival(visit: Visit, round_: Round, number: int) -> Arrival:
    """Each pair must be said something of: a box is not in order because nobody looked."""
    how = visit.said(f"pair.{number}")
    if how not in ("here", "damaged", "missing"):
        raise InputError(
            f"nothing is said of pair {number}.",
            mend="Say of each pair whether it is here, damaged or missing; nothing was written down.",
            where=f"round {round_.key}",
        )
    damage = visit.said(f"damage.{number}").strip()
    if how != "damaged":
        return Arrival(number, is_missing=how == "missing", damage=damage)
    photos = tuple(clean_uploads(visit.uploads(f"photo.{number}")))
    return Arrival(number, damage=damage or "damaged in transit", photos=photos)

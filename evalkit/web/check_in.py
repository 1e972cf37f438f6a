"""Checking a box in against its packing list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.actions.checking_in import Arrival, Unpacking, check_in, correct_check_in, said_before
from evalkit.domain.arriving import losses_on
from evalkit.domain.round import LegKind, RoundState
from evalkit.errors import InputError
from evalkit.reports.figures import day_words
from evalkit.web.photos import clean_uploads
from evalkit.web.rounds import day_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from starlette.responses import Response

    from evalkit.domain.marking import Marking
    from evalkit.domain.round import NumberedPair, Round
    from evalkit.web.visit import Visit


@dataclass(frozen=True, slots=True)
class UnpackRow:
    """One pair of the packing list. `how` it came back is '' until it was said; `photos` it has already."""

    numbered: NumberedPair
    how: str = ""
    damage: str = ""
    n_photos: int = 0


def show_check_in(visit: Visit) -> Response:
    """The packing list, to tick off pair by pair; filled in as it was where it is to be corrected."""
    round_ = visit.book.get_round(visit.key)
    drafts = _drafts(visit, round_)
    is_correction = drafts is not None
    if round_.state is not RoundState.ON_ITS_WAY_BACK and not is_correction:
        return visit.go(f"/rounds/{round_.key}")
    stood = said_before(round_) if is_correction else None
    return visit.show(
        "check_in.html",
        200,
        round=round_,
        rows=_rows(round_, drafts),
        today=visit.today.isoformat(),
        on=(stood.happened_on if stood else visit.today).isoformat(),
        stood=stood,
        returned=day_words(round_.leg_on(LegKind.RETURNED)),
        first_day=(round_.leg_on(LegKind.RETURNED) or visit.today).isoformat(),
    )


def _drafts(visit: Visit, round_: Round) -> list[Marking] | None:
    """What is marked so far, her own first; None where there is no check-in to correct, or the round is marked."""
    standing = visit.book.round_standing(round_.key)
    if round_.state is not RoundState.BACK or standing.finished:
        return None
    mentors = sorted(standing.drafts, key=lambda key: key != visit.who)
    return [draft for key in mentors if (draft := visit.book.find_draft(round_.key, key))]


def _rows(round_: Round, drafts: Sequence[Marking] | None) -> list[UnpackRow]:
    numbered = sorted(round_.pairs, key=lambda one: one.number)
    if drafts is None:
        return [UnpackRow(one) for one in numbered]
    losses = losses_on(round_, LegKind.RECEIVED_BACK)
    rows = []
    for one in numbered:
        if one.number not in losses.damaged:
            rows.append(UnpackRow(one, "missing" if one.number in losses.missing else "here"))
            continue
        kept = [pair for draft in drafts if (pair := draft.find_pair(one.number)) and pair.transit_note]
        rows.append(UnpackRow(one, "damaged", kept[0].transit_note if kept else "", len(kept[0].photos) if kept else 0))
    return rows


def take_check_in(visit: Visit) -> Response:
    """The box is back: what is missing, what is damaged, what is too much; or the same said anew."""
    round_ = visit.book.get_round(visit.key)
    is_correction = round_.state is RoundState.BACK and visit.said("correct") == "yes"
    found = Unpacking(
        arrivals=tuple(_arrival(visit, round_, number) for number in round_.numbers),
        happened_on=day_of(visit.said("on"), visit.today, f"round {round_.key}"),
        extra=visit.said("extra"),
        condition=visit.said("condition"),
        carrier_ref=visit.said("ref"),
    )
    act = correct_check_in if is_correction else check_in
    act(visit.book, visit.desk.photos, round_.key, found, today=visit.today, who=visit.who)
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
    if not damage:
        raise InputError(
            f"it is not said what is damaged on pair {number}.",
            mend="Go back and say it in a word or two; nothing was written down.",
            where=f"round {round_.key}",
        )
    return Arrival(number, damage=damage, photos=tuple(clean_uploads(visit.uploads(f"photo.{number}"))))

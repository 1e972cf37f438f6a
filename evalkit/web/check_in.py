"""Checking a box in against its packing list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.actions.checking_in import Arrival, Unpacking, check_in, correct_check_in, said_before
from evalkit.domain.arriving import Losses, losses_on
from evalkit.domain.round import LegKind, RoundState
from evalkit.errors import AlreadyError, ChangedError, InputError
from evalkit.reports.figures import day_words
from evalkit.web.photos import clean_uploads
from evalkit.web.rounds import day_of
from evalkit.web.visit import sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from starlette.responses import Response

    from evalkit.domain.marking import Marking
    from evalkit.domain.round import NumberedPair, Round
    from evalkit.web.visit import Visit

MOST_DIGITS = 12
"""Of the number of an act."""


@dataclass(frozen=True, slots=True)
class UnpackRow:
    """One pair of the packing list. `how` it came back is '' until it was said; `photos` it has already."""

    numbered: NumberedPair
    how: str = ""
    damage: str = ""
    n_photos: int = 0


@dataclass(frozen=True, slots=True)
class UnpackForm:
    """The packing list as it is filled in so far; `fault` is what was wrong when it was sent."""

    rows: tuple[UnpackRow, ...]
    on: str
    ref: str = ""
    condition: str = ""
    extra: str = ""
    fault: str = ""


def show_check_in(visit: Visit) -> Response:
    """The packing list, to tick off pair by pair; filled in as it was where it is to be corrected."""
    round_ = visit.book.get_round(visit.key)
    drafts = _drafts(visit, round_)
    if drafts is not None:
        stood = said_before(round_)
        form = UnpackForm(
            _rows(round_, drafts), stood.happened_on.isoformat(), ref=stood.carrier_ref, condition=stood.condition
        )
        return _page(visit, round_, form, is_correction=True)
    if round_.state is not RoundState.ON_ITS_WAY_BACK:
        return visit.go(f"/rounds/{round_.key}")
    rows = tuple(UnpackRow(one) for one in _numbered(round_))
    return _page(visit, round_, UnpackForm(rows, visit.today.isoformat()))


def _page(visit: Visit, round_: Round, form: UnpackForm, status: int = 200, *, is_correction: bool = False) -> Response:
    returned_on = round_.leg_on(LegKind.RETURNED)
    return visit.show(
        "check_in.html",
        status,
        round=round_,
        form=form,
        is_correction=is_correction,
        based_on=visit.act,
        today=visit.today.isoformat(),
        returned=day_words(returned_on),
        first_day=(returned_on or visit.today).isoformat(),
    )


def _numbered(round_: Round) -> list[NumberedPair]:
    return sorted(round_.pairs, key=lambda one: one.number)


def _drafts(visit: Visit, round_: Round) -> list[Marking] | None:
    """What is marked so far, her own first; None where there is no check-in to correct, or the round is marked."""
    standing = visit.book.round_standing(round_.key)
    if round_.state is not RoundState.BACK or standing.finished:
        return None
    mentors = sorted(standing.drafts, key=lambda key: key != visit.who)
    return [draft for key in mentors if (draft := visit.book.find_draft(round_.key, key))]


def _rows(round_: Round, drafts: Sequence[Marking]) -> tuple[UnpackRow, ...]:
    losses = losses_on(round_, LegKind.RECEIVED_BACK)
    return tuple(_row(one, losses, drafts) for one in _numbered(round_))


def _row(one: NumberedPair, losses: Losses, drafts: Sequence[Marking]) -> UnpackRow:
    if one.number not in losses.damaged:
        return UnpackRow(one, "missing" if one.number in losses.missing else "here")
    found = (draft.find_pair(one.number) for draft in drafts)
    kept = next((pair for pair in found if pair and pair.transit_note), None)
    return UnpackRow(one, "damaged", kept.transit_note, len(kept.photos)) if kept else UnpackRow(one, "damaged")


def take_check_in(visit: Visit) -> Response:
    """The box is back: what is missing, what is damaged, what is too much; or the same said anew.

    Where something is wrong with it the list comes back as it was filled in, but for the pictures.
    """
    round_ = visit.book.get_round(visit.key)
    is_correction = round_.state is RoundState.BACK and visit.said("correct") == "yes"
    if is_correction:
        _check_unchanged(visit)
    act = correct_check_in if is_correction else check_in
    try:
        act(visit.book, visit.desk.photos, round_.key, _unpacking(visit, round_), today=visit.today, who=visit.who)
    except InputError as error:
        is_open = is_correction or round_.state is RoundState.ON_ITS_WAY_BACK
        if isinstance(error, AlreadyError) or not is_open:
            raise
        return _page(visit, round_, _as_sent(visit, round_, error), 422, is_correction=is_correction)
    return visit.go(f"/rounds/{round_.key}", checked_in="yes")


def _check_unchanged(visit: Visit) -> None:
    """Raises ChangedError when the round was changed since the list was shown."""
    shown = visit.said("based_on")
    if not shown.isascii() or not shown.isdecimal() or len(shown) > MOST_DIGITS:
        return
    changed = visit.book.changed_since(int(shown))
    if changed is None or visit.key in changed.rounds:
        raise ChangedError(
            "the round was changed meanwhile, in another window or on another device.",
            mend="Open 'Correct the check-in' again: it shows what stands now.",
            where=f"round {visit.key}",
        )


def _unpacking(visit: Visit, round_: Round) -> Unpacking:
    return Unpacking(
        arrivals=tuple(_arrival(visit, round_, number) for number in round_.numbers),
        happened_on=day_of(visit.said("on"), visit.today, f"round {round_.key}"),
        extra=visit.said("extra"),
        condition=visit.said("condition"),
        carrier_ref=visit.said("ref"),
    )


def _as_sent(visit: Visit, round_: Round, error: InputError) -> UnpackForm:
    """The list as it was sent, so that only what is wrong has to be said again."""
    rows = tuple(
        UnpackRow(one, visit.said(f"pair.{one.number}"), visit.said(f"damage.{one.number}"))
        for one in _numbered(round_)
    )
    pictures = " Choose the pictures again." if any(visit.uploads(f"photo.{n}") for n in round_.numbers) else ""
    place = "" if error.where in (None, f"round {round_.key}") else f"{sentence(str(error.where))}: "
    fault = f"{place}{error.what if place else sentence(error.what)} {error.mend}{pictures}"
    said = {name: visit.said(name) for name in ("on", "ref", "condition", "extra")}
    return UnpackForm(rows, **said, fault=fault)


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
            mend="Say it in a word or two; nothing was written down.",
            where=f"round {round_.key}",
        )
    return Arrival(number, damage=damage, photos=tuple(clean_uploads(visit.uploads(f"photo.{number}"))))

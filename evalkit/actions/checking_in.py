"""A box opened, there or back, against its packing list: what is missing, what was damaged, what is too much."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from evalkit.actions.marking import lines_on
from evalkit.actions.pictures import kept_photos
from evalkit.actions.picturing import laid_out
from evalkit.actions.rounds import check_past, move_box
from evalkit.book.drafts import state_of
from evalkit.domain.arriving import NOT_BACK, Losses, arrival_words, losses_on, other_words
from evalkit.domain.assessment import Photo
from evalkit.domain.marking import MarkedPair
from evalkit.domain.reading import NotSeen, Reading, Stage, Unseen
from evalkit.domain.round import Leg, LegKind, NumberedPair, Round
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError
from evalkit.files.field_words import made_of

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.files.photos import CleanPhoto, PhotoStore


@dataclass(frozen=True, slots=True)
class Arrival:
    """How one pair of the packing list came back. `photos` are pictures already checked and cleaned."""

    number: int
    is_missing: bool = False
    damage: str = ""
    photos: tuple[CleanPhoto, ...] = ()

    @property
    def is_damaged(self) -> bool:
        return not self.is_missing and bool(self.damage.strip() or self.photos)


@dataclass(frozen=True, slots=True)
class Unpacking:
    """What was found when a box came back: pair by pair, what was too much, and how the box itself looked."""

    arrivals: tuple[Arrival, ...]
    happened_on: date
    extra: str = ""
    condition: str = ""
    carrier_ref: str = ""

    @property
    def words(self) -> str:
        """What stands on the journey: 'Missing: pair 3. Damaged in transit: pair 5. Too much: a red pair. Box wet'."""
        losses = Losses(
            tuple(one.number for one in self.arrivals if one.is_missing),
            tuple(one.number for one in self.arrivals if one.is_damaged),
        )
        return arrival_words(losses, self.extra, self.condition)


def check_in(book: Book, store: PhotoStore, round_key: str, found: Unpacking, *, today: date, who: str) -> Round:
    """The box is back, and what was found goes with it: all in one act, or nothing.

    A missing pair is marked 'could not' throughout; damage stands on its pair, with its pictures. Raises InputError for
    a day still to come, a box that is not on its way back, or words too long.
    """
    round_ = book.get_round(round_key)
    where = f"round {round_key}"
    check_past(found.happened_on, today, where=where)
    leg = _leg(found, LegKind.RECEIVED_BACK, where)
    rubric = book.get_rubric_by_digest(round_.rubric_digest)
    told = [one for one in found.arrivals if one.is_missing or one.is_damaged]
    pairs = [_marked(one, round_.get_pair(one.number), rubric) for one in told]
    clean = [photo for one in told for photo in one.photos]
    with laid_out(clean) as tray, kept_photos(tray, store, book) as rows:
        return book.check_in(round_key, leg, pairs, who, rows)


def said_before(round_: Round) -> Unpacking:
    """The check-in as it stands, without what became of single pairs. Raises InputError where there is none."""
    leg = round_.legs[-1] if round_.legs else None
    if leg is None or leg.kind is not LegKind.RECEIVED_BACK:
        raise InputError(
            f"the box is {round_.state}; there is no check-in to correct.",
            mend="Check it in first.",
            where=f"round {round_.key}",
        )
    return Unpacking((), leg.happened_on, "", other_words(leg.condition), leg.carrier_ref)


def correct_check_in(
    book: Book, store: PhotoStore, round_key: str, found: Unpacking, *, today: date, who: str
) -> Round:
    """The check-in said anew, whole, in one act: a pair of which nothing is told came back as it should.

    What the check-in had put on the pairs goes with it, in every draft; what was seen since stays. Raises InputError
    where a pair said to be missing was seen, AlreadyError once the round is marked, else as `check_in`.
    """
    round_ = book.get_round(round_key)
    where = f"round {round_key}"
    check_past(found.happened_on, today, where=where)
    leg = _leg(found, LegKind.RECEIVED_BACK, where)
    told = {one.number: one for one in found.arrivals}
    for number in told:
        round_.get_pair(number)
    was = losses_on(round_, LegKind.RECEIVED_BACK)
    rubric = book.get_rubric_by_digest(round_.rubric_digest)
    pairs = []
    for mentor in dict.fromkeys((who, *book.round_standing(round_key).drafts)):
        draft = book.find_draft(round_key, mentor)
        for number in round_.numbers:
            kept = draft.find_pair(number) if draft else None
            before = kept or MarkedPair(number=number)
            pair = _corrected(before, told.get(number, Arrival(number)), was, round_.get_pair(number), rubric)
            if pair != before:
                pairs.append((mentor, pair, state_of(kept)))
    clean = [photo for one in found.arrivals for photo in one.photos]
    with laid_out(clean) as tray, kept_photos(tray, store, book) as rows:
        return book.correct_check_in(round_key, leg, pairs, who, rows)


def _corrected(before: MarkedPair, one: Arrival, was: Losses, numbered: NumberedPair, rubric: Rubric) -> MarkedPair:
    """A pair of a draft after the check-in was said anew."""
    readings = before.readings
    if one.number in was.missing and not one.is_missing:
        readings = tuple(reading for reading in readings if reading.is_seen or reading.note != NOT_BACK)
    elif one.is_missing and one.number not in was.missing:
        if any(reading.is_seen for reading in readings):
            raise InputError(
                f"pair {one.number} was seen on the bench, so it is not missing.",
                mend="Take its marks back first, if they belong to another pair.",
            )
        readings = _could_not(numbered, rubric)
    if one.is_damaged:
        note = one.damage.strip() or before.transit_note
    else:
        note = "" if one.number in was.damaged and not before.transit else before.transit_note
    known = {photo.file for photo in before.photos}
    photos = tuple(photo for photo in _photos(one) if photo.file not in known)
    fields = {"readings": readings, "transit_note": note, "photos": (*before.photos, *photos)}
    return made_of(MarkedPair, {**dict(before), **fields}, where=f"pair {one.number}")


def receive(book: Book, round_key: str, found: Unpacking, *, today: date, who: str) -> Round:
    """The box has reached the trainee; what was found stands on its journey, damage with its words.

    Raises InputError for a number that is not in the box, and as `move_box` does.
    """
    round_ = book.get_round(round_key)
    damages = [
        f"Pair {one.number}: {one.damage.strip().rstrip('.')}."
        for one in found.arrivals
        if one.is_damaged and one.damage
    ]
    for one in found.arrivals:
        round_.get_pair(one.number)
    told = replace(found, condition=" ".join([*damages, found.condition]).strip())
    leg = _leg(told, LegKind.RECEIVED, f"round {round_key}")
    return move_box(book, round_key, leg, today=today, who=who)


def _leg(found: Unpacking, kind: LegKind, where: str) -> Leg:
    fields = {
        "kind": kind,
        "happened_on": found.happened_on,
        "carrier_ref": found.carrier_ref,
        "condition": found.words,
    }
    return made_of(Leg, fields, where=where)


def _marked(one: Arrival, numbered: NumberedPair, rubric: Rubric) -> MarkedPair:
    fields: Mapping[str, object] = {
        "number": one.number,
        "readings": _could_not(numbered, rubric) if one.is_missing else (),
        "transit_note": one.damage.strip(),
        "photos": _photos(one),
    }
    return made_of(MarkedPair, fields, where=f"pair {one.number}")


def _photos(one: Arrival) -> tuple[Photo, ...]:
    return tuple(Photo(file=photo.sha256, caption="as it came back") for photo in one.photos)


def _could_not(numbered: NumberedPair, rubric: Rubric) -> tuple[Reading, ...]:
    return tuple(
        Reading(
            number=numbered.number,
            stage=Stage.AS_RETURNED,
            criterion=on.key,
            blade=place.blade,
            station=place.station,
            seen=NotSeen(why=Unseen.COULD_NOT),
            note=NOT_BACK,
        )
        for on in lines_on(rubric, numbered.pair)
        for place in on.places
    )

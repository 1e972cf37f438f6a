"""Pairs of the stock that are sent no more, and pictures of pairs whatever box they are in."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, replace
from datetime import date

from sqlalchemy import Connection, RowMapping, func, select

from evalkit.book.canonical import Plain
from evalkit.book.documents import checked_reason
from evalkit.book.facts import retirement_fact, stock_photo_fact
from evalkit.book.history import Acting, Fact
from evalkit.book.rounds import get_round, rounds_holding
from evalkit.book.schema import retirements, stock_photos
from evalkit.book.stock import get_pair
from evalkit.domain.arriving import find_missing_since
from evalkit.domain.assessment import Photo
from evalkit.domain.life import Retirement
from evalkit.domain.round import RoundState
from evalkit.errors import AlreadyError, InputError

_IN_HAND = (RoundState.BACK, RoundState.LOST)


# --- sent no more ----------------------------------------------------------------------------------------------------


def retire_pair(doing: Acting, tag: str, on: date, reason: str) -> Retirement:
    """From now on the pair is in no new box. Raises InputError without a reason, or while it lies in a box."""
    get_pair(doing.connection, tag)
    reason = checked_reason(reason)
    where = f"pair {tag}"
    if tag in retired_pairs(doing.connection):
        raise AlreadyError("the pair is retired already.", mend="There is nothing to do.", where=where)
    if not reason:
        raise InputError(
            "a pair is retired for a reason.", mend='Say it, like --reason "too narrow at the tip".', where=where
        )
    for round_ in rounds_holding(doing.connection, tag):
        if round_.state not in _IN_HAND:
            raise InputError(
                f"the pair is in round {round_.key}, which is {round_.state}.",
                mend="Check that box in first, or write it down as lost.",
                where=where,
            )
    kept = Retirement(tag, on, reason, doing.at)
    _insert(doing, kept)
    return kept


def bring_back_pair(doing: Acting, tag: str, on: date, reason: str) -> Retirement:
    """The pair may be sent again: a retired one, or one that was missing from its box and was found.

    Raises InputError when it is neither, or for a day before that.
    """
    get_pair(doing.connection, tag)
    rows = doing.connection.execute(select(retirements).where(retirements.c.tag == tag)).mappings().all()
    row = next((row for row in rows if row["back_on"] is None), None)
    before = _as_missing(doing, tag) if row is None else retirement_of(row)
    if before is None:
        raise InputError("the pair is not retired.", mend="There is nothing to do.", where=f"pair {tag}")
    if on < before.retired_on:
        raise InputError(
            f"{on} lies before {before.retired_on}, when it was retired.",
            mend="Give the day on which it was brought back.",
            where=f"pair {tag}",
        )
    kept = replace(before, back_on=on, back_reason=checked_reason(reason), back_at=doing.at)
    if row is None:
        _insert(doing, kept)
        return kept
    doing.connection.execute(retirements.update().where(retirements.c.id == row["id"]).values(asdict(kept)))
    _, stood = retirement_fact(row["id"], before)
    doing.note(retirement_fact(row["id"], kept), stood)
    return kept


def _insert(doing: Acting, kept: Retirement) -> None:
    number = (doing.connection.execute(select(func.max(retirements.c.id))).scalar_one() or 0) + 1
    doing.connection.execute(retirements.insert(), {"id": number, **asdict(kept)})
    doing.note(retirement_fact(number, kept))


def _as_missing(doing: Acting, tag: str) -> Retirement | None:
    """A pair that did not come back with its box counts as retired since that day."""
    key = find_missing(doing.connection, tag)
    if key is None:
        return None
    round_ = get_round(doing.connection, key)
    since = find_missing_since(round_, tag) or round_.planned_on
    return Retirement(tag, since, f"not in the box of {key} when it came back", doing.at)


def find_missing(connection: Connection, tag: str) -> str | None:
    """Key of the round whose box came back without the pair; None when it was brought back since, or never missing."""
    found = [one.back_on for one in list_retirements(connection, tag) if one.back_on is not None]
    for round_ in reversed(rounds_holding(connection, tag)):
        since = find_missing_since(round_, tag)
        if since is not None and not any(day >= since for day in found):
            return round_.key
    return None


def retired_pairs(connection: Connection) -> dict[str, Retirement]:
    """Those that are retired now, by tag."""
    wanted = select(retirements).where(retirements.c.back_on.is_(None)).order_by(retirements.c.tag)
    return {row["tag"]: retirement_of(row) for row in connection.execute(wanted).mappings()}


def list_retirements(connection: Connection, tag: str) -> list[Retirement]:
    """Every time the pair was retired, in order."""
    wanted = select(retirements).where(retirements.c.tag == tag).order_by(retirements.c.id)
    return [retirement_of(row) for row in connection.execute(wanted).mappings()]


def retirement_facts(connection: Connection) -> Iterator[Fact]:
    """What stands in `retirements`."""
    for row in connection.execute(select(retirements)).mappings():
        yield retirement_fact(row["id"], retirement_of(row))


def retirement_of(row: RowMapping) -> Retirement:
    """From a row of `retirements`."""
    return Retirement(**{name: row[name] for name in Retirement.__dataclass_fields__})


# --- pictures --------------------------------------------------------------------------------------------------------


def add_stock_photos(doing: Acting, tag: str, photos: Sequence[Photo]) -> int:
    """How many are new; a picture that the pair has already is not added twice."""
    get_pair(doing.connection, tag)
    there = list_stock_photos(doing.connection, tag)
    names = {photo.file for photo in there}
    new = [photo for photo in {one.file: one for one in photos}.values() if photo.file not in names]
    for position, photo in enumerate(new, start=len(there)):
        row: Plain = {"tag": tag, "position": position, "sha256": photo.file, "caption": photo.caption}
        doing.connection.execute(stock_photos.insert(), {**row, "added_at": doing.at})
        doing.note(stock_photo_fact(tag, position, photo, doing.at))
    return len(new)


def list_stock_photos(connection: Connection, tag: str) -> list[Photo]:
    """In the order in which they were added."""
    wanted = select(stock_photos).where(stock_photos.c.tag == tag).order_by(stock_photos.c.position)
    return [Photo(file=row.sha256, caption=row.caption) for row in connection.execute(wanted)]


def stock_photo_facts(connection: Connection) -> Iterator[Fact]:
    """What stands in `stock_photos`."""
    for row in connection.execute(select(stock_photos)):
        photo = Photo(file=row.sha256, caption=row.caption)
        yield stock_photo_fact(row.tag, row.position, photo, row.added_at)


# --- an erased trainee -----------------------------------------------------------------------------------------------


def unname_pairs(connection: Connection, names: Mapping[str, str]) -> None:
    """Let reasons and captions say other names: of an erased trainee, and of the trainee's rounds."""
    pattern = re.compile("|".join(rf"(?<![\w-]){re.escape(name)}(?![\w-])" for name in names))

    def unnamed(words: str) -> str:
        return pattern.sub(lambda found: names[found[0]], words)

    for row in connection.execute(select(retirements)).all():
        words = {"reason": unnamed(row.reason), "back_reason": unnamed(row.back_reason)}
        connection.execute(retirements.update().where(retirements.c.id == row.id).values(words))
    for row in connection.execute(select(stock_photos)).all():
        same = (stock_photos.c.tag == row.tag) & (stock_photos.c.position == row.position)
        connection.execute(stock_photos.update().where(same).values(caption=unnamed(row.caption)))

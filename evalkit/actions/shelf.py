"""Where each pair of the stock is now, what it has been through, and its pictures."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from evalkit.actions.answers import get_result
from evalkit.actions.pictures import kept_photos
from evalkit.actions.rounds import hold_of
from evalkit.domain.arriving import find_missing_since
from evalkit.domain.assessment import Photo
from evalkit.domain.life import Stay, life_of
from evalkit.domain.round import Round
from evalkit.errors import EvalkitError, InputError
from evalkit.files.field_words import made_of
from evalkit.progress.box_candidates import LeftOut
from evalkit.progress.pair_file import Held, LastSeen, PairFile

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.files.photos import PhotoStore


def held_pairs(book: Book) -> Held:
    """Pairs that cannot be sent now. Retired stands before missing, missing before lost.

    Lost stays lost whatever round came later; missing stays missing until it is brought back.
    """
    held: dict[str, tuple[LeftOut, Round | None]] = {}
    for round_ in book.list_rounds():
        why = hold_of(book, round_)
        if why is not None:
            tags = [numbered.pair.tag for numbered in round_.pairs]
            held |= {tag: (why, round_) for tag in tags if tag not in held or held[tag][0] is not LeftOut.LOST}
        for numbered in round_.pairs:
            tag = numbered.pair.tag
            if find_missing_since(round_, tag) is not None and book.find_missing(tag) == round_.key:
                held[tag] = (LeftOut.MISSING, round_)
    return held | dict.fromkeys(book.retired_pairs(), (LeftOut.RETIRED, None))


def pair_file(book: Book, tag: str) -> PairFile:
    """One pair, whole. Raises NotFoundError for a tag that the book does not know."""
    pair = book.get_pair(tag)
    stays = [_stay(book, round_, tag) for round_ in book.rounds_holding(tag)]
    life = life_of(stays)
    return PairFile(
        pair=pair,
        held=held_pairs(book).get(tag),
        retirements=tuple(book.list_retirements(tag)),
        life=life,
        last_seen=_last_seen(book, life.stays),
        photos=tuple(book.list_stock_photos(tag)),
    )


def _stay(book: Book, round_: Round, tag: str) -> Stay:
    number = next(numbered.number for numbered in round_.pairs if numbered.pair.tag == tag)
    sealed = book.find_assessment(round_.key)
    return Stay(round_, number, sealed.assessment.find_pair(number) if sealed else None)


def _last_seen(book: Book, stays: Sequence[Stay]) -> LastSeen | None:
    """As returned in the latest marked round, unless a later box was read before it went."""
    for stay in reversed(stays):
        pair = next(one for one in get_result(book, stay.round.key).pairs if one.number == stay.number)
        grade = pair.returned if pair.returned.is_touched else pair.posted
        if grade is not None:
            return LastSeen(stay.round, grade)
    return None


def add_stock_photos(
    book: Book, store: PhotoStore, tag: str, files: Sequence[Path], *, caption: str = "", who: str
) -> int:
    """Keep pictures of a pair, all or none; how many are new to it. Raises EvalkitError that names the bad file."""
    from evalkit.files.photo_tray import PhotoTray
    from evalkit.files.photos import clean_photo

    book.get_pair(tag)
    with PhotoTray() as tray:
        for file in files:
            try:
                cleaned = clean_photo(file.read_bytes())
            except OSError as error:
                reason = (error.strerror or "cannot be read").lower()
                raise InputError(
                    f"the photo cannot be read ({reason}).", mend="Check its name.", where=str(file)
                ) from None
            except EvalkitError as error:
                raise type(error)(error.what, mend=error.mend, where=str(file)) from error
            tray.lay(str(file), cleaned)
        pictures = [
            made_of(Photo, {"file": tray[str(file)].sha256, "caption": caption}, where=str(file)) for file in files
        ]
        with kept_photos(tray, store, book) as rows:
            return book.add_stock_photos(tag, pictures, who, rows)

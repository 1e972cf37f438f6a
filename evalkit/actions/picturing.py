"""Pictures of a marked pair, added and taken away one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from evalkit.actions.pictures import kept_photos
from evalkit.book.drafts import state_of
from evalkit.domain.assessment import Photo
from evalkit.domain.marking import MarkedPair
from evalkit.domain.round import Round
from evalkit.errors import NotFoundError
from evalkit.files.field_words import made_of

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.files.photo_tray import PhotoTray
    from evalkit.files.photos import CleanPhoto, PhotoStore


def add_photos(
    book: Book,
    store: PhotoStore,
    round_: Round,
    number: int,
    clean: Sequence[CleanPhoto],
    *,
    caption: str,
    who: str,
) -> MarkedPair:
    """The pair of the draft with these pictures added; a picture that stands there already is not added twice."""
    before = _kept(book, round_, number, who)
    there = {photo.file for photo in before.photos} if before else set()
    new = [
        made_of(Photo, {"file": photo.sha256, "caption": caption}, where=f"pair {number}")
        for photo in {one.sha256: one for one in clean}.values()
        if photo.sha256 not in there
    ]
    base = before or MarkedPair(number=number)
    pair = made_of(MarkedPair, {**base.model_dump(), "photos": (*base.photos, *new)}, where=f"pair {number}")
    with laid_out(clean) as tray, kept_photos(tray, store, book) as rows:
        return book.save_marked_pair(round_.key, who, pair, round_.rubric_digest, who, rows, based_on=state_of(before))


def remove_photo(book: Book, round_: Round, number: int, name: str, *, who: str) -> MarkedPair:
    """The pair without that picture; the picture itself stays in the store, for what stood before names it.

    Raises NotFoundError when it is not there.
    """
    before = _kept(book, round_, number, who)
    if before is None or name not in {photo.file for photo in before.photos}:
        raise NotFoundError("this picture is not on the pair.", mend="Load the page again.", where=f"pair {number}")
    pair = before.model_copy(update={"photos": tuple(photo for photo in before.photos if photo.file != name)})
    return book.save_marked_pair(round_.key, who, pair, round_.rubric_digest, who, based_on=state_of(before))


@contextmanager
def laid_out(clean: Sequence[CleanPhoto]) -> Iterator[PhotoTray]:
    """Cleaned pictures in a tray, each under the name of its content."""
    from evalkit.files.photo_tray import PhotoTray

    with PhotoTray() as tray:
        for photo in clean:
            tray.lay(photo.sha256, photo)
        yield tray


def _kept(book: Book, round_: Round, number: int, who: str) -> MarkedPair | None:
    draft = book.find_draft(round_.key, who)
    return draft.find_pair(number) if draft else None

"""Which pictures the book knows; their bytes lie in the folder beside it."""

from __future__ import annotations

from sqlalchemy import Connection, or_, select

from evalkit.book.facts import photo_fact
from evalkit.book.history import Acting
from evalkit.book.kept import PhotoRow
from evalkit.book.schema import (
    assessed_pairs,
    assessments,
    intake_photos,
    intakes,
    marked_pairs,
    markings,
    pair_photos,
    photos,
)
from evalkit.errors import InputError

_COLUMNS = (photos.c.sha256, photos.c.media_type, photos.c.n_bytes, photos.c.width_px, photos.c.height_px)


def add_photo(doing: Acting, photo: PhotoRow) -> bool:
    """True when the picture is new to the book. Raises InputError when it is known as another."""
    row = doing.connection.execute(select(*_COLUMNS).where(photos.c.sha256 == photo.sha256)).one_or_none()
    if row is None:
        values = {name: getattr(photo, name) for name in PhotoRow.__dataclass_fields__}
        doing.connection.execute(photos.insert(), {**values, "added_at": doing.at})
        doing.note(photo_fact(photo, doing.at))
        return True
    if PhotoRow(*row) != photo:
        raise InputError(
            f"the book knows photo {photo.sha256[:12]} with another size or kind.",
            mend="Take the picture in from its file again.",
        )
    return False


def photo_names(connection: Connection) -> tuple[str, ...]:
    """The SHA-256 of every picture, sorted."""
    return tuple(connection.execute(select(photos.c.sha256).order_by(photos.c.sha256)).scalars())


def list_photos(connection: Connection, round_key: str) -> list[PhotoRow]:
    """The pictures that any version of the round's intake, assessment or markings shows, sorted by name."""
    shown = (
        select(pair_photos.c.sha256)
        .outerjoin(assessed_pairs, assessed_pairs.c.id == pair_photos.c.assessed_pair_id)
        .outerjoin(assessments, assessments.c.id == assessed_pairs.c.assessment_id)
        .outerjoin(marked_pairs, marked_pairs.c.id == pair_photos.c.marked_pair_id)
        .outerjoin(markings, markings.c.id == marked_pairs.c.marking_id)
        .where(or_(assessments.c.round_key == round_key, markings.c.round_key == round_key))
    )
    before = select(intake_photos.c.sha256).join(intakes).where(intakes.c.round_key == round_key)
    wanted = select(*_COLUMNS).where(photos.c.sha256.in_(shown) | photos.c.sha256.in_(before))
    wanted = wanted.order_by(photos.c.sha256)
    return [PhotoRow(*row) for row in connection.execute(wanted)]

"""What assessments and markings share: they fit their round, and their pairs carry readings and photos."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from pydantic import TypeAdapter, ValidationError
from sqlalchemy import Column, Connection, Table, select

from evalkit.book.canonical import Plain
from evalkit.book.rounds import RoundHead
from evalkit.book.rows import READING_COLUMNS, Owner, photo_of, photo_rows, reading_of, reading_rows
from evalkit.book.schema import pair_photos, photos, readings
from evalkit.domain.assessment import AssessedPair, Photo
from evalkit.domain.intake import IntakePair
from evalkit.domain.marking import MarkedPair
from evalkit.domain.reading import Reading
from evalkit.domain.round import span_words
from evalkit.domain.value import MAX_NOTE, MAX_PROSE, Note, Prose
from evalkit.errors import InputError

_NOTE: TypeAdapter[str] = TypeAdapter(Note)
_PROSE: TypeAdapter[str] = TypeAdapter(Prose)

RecordedPair = AssessedPair | MarkedPair | IntakePair


def check_fits(connection: Connection, head: RoundHead, rubric_digest: str, pairs: Iterable[RecordedPair]) -> None:
    """Raises InputError when rubric, numbers or photos are not those of the round and the book."""
    where = f"round {head.key}"
    if rubric_digest != head.rubric_digest:
        raise InputError(
            "it was made with another rubric than the round's.",
            mend="Make it again with the rubric that was frozen for the round.",
            where=where,
        )
    for pair in pairs:
        if pair.number not in head.numbers:
            raise InputError(
                f"there is no pair {pair.number} in this round.",
                mend=f"The box holds the numbers {span_words(head.numbers)}.",
                where=where,
            )
        _check_photos(connection, pair, where)


def _check_photos(connection: Connection, pair: RecordedPair, where: str) -> None:
    names = {photo.file for photo in pair.photos}
    if not names:
        return
    known = set(connection.execute(select(photos.c.sha256).where(photos.c.sha256.in_(names))).scalars())
    strange = sorted(names - known)
    if strange:
        raise InputError(
            f"the book does not know the photo '{strange[0]}'.",
            mend="Take the photo in first, and name it by its content.",
            where=f"{where}, pair {pair.number}",
        )


def checked_reason(words: str) -> str:
    """The reason of an amendment, without blanks around it. Raises InputError when it is no note."""
    return _checked(_NOTE, words.strip(), "reason", MAX_NOTE)


def checked_letter(words: str) -> str:
    """Raises InputError when it is no prose."""
    return _checked(_PROSE, words, "letter", MAX_PROSE)


def _checked(adapter: TypeAdapter[str], words: str, noun: str, most: int) -> str:
    try:
        return adapter.validate_python(words)
    except ValidationError:
        raise InputError(f"the {noun} is too long or not text.", mend=f"Keep it to {most} characters.") from None


def insert_row(connection: Connection, table: Table, row: Plain) -> int:
    """Insert one row and answer its id."""
    key = connection.execute(table.insert().values(row)).inserted_primary_key
    if key is None:
        raise TypeError(f"{table.name} answers no key")  # no database that SQLAlchemy speaks to does this
    number: int = key[0]
    return number


def insert_details(connection: Connection, pair: RecordedPair, owner: Owner) -> None:
    """The readings and photos of one pair."""
    if pair.readings:
        connection.execute(readings.insert(), reading_rows(pair.readings, owner))
    if pair.photos:
        connection.execute(pair_photos.insert(), photo_rows(pair.photos, owner))


def delete_details(connection: Connection, owner: Owner) -> None:
    """The readings and photos of one pair that is being replaced."""
    for table in (readings, pair_photos):
        for column, number in owner.items():
            connection.execute(table.delete().where(table.c[column] == number))


def load_readings(connection: Connection, owner: Column[int], numbers: Mapping[int, int]) -> dict[int, list[Reading]]:
    """Readings by the id of the pair that has them; `numbers` gives the number that each id wears."""
    found: dict[int, list[Reading]] = defaultdict(list)
    wanted = select(owner, *(readings.c[name] for name in READING_COLUMNS))
    for row in connection.execute(wanted.where(owner.in_(numbers)).order_by(owner, readings.c.position)):
        found[row[0]].append(reading_of(row[1:], numbers[row[0]]))
    return found


def load_photos(connection: Connection, owner: Column[int], ids: Iterable[int]) -> dict[int, list[Photo]]:
    """Photos by the id of the pair that has them."""
    found: dict[int, list[Photo]] = defaultdict(list)
    wanted = select(pair_photos).where(owner.in_(ids)).order_by(owner, pair_photos.c.position)
    for row in connection.execute(wanted).mappings():
        found[row[owner]].append(photo_of(row))
    return found

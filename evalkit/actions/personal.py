"""One trainee's data: handed out whole, or erased for good."""

from __future__ import annotations

import json
import zipfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from evalkit.disk import new_file
from evalkit.errors import AlreadyError, EvalkitError, InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.book.erasing import Erased
    from evalkit.domain.round import Round
    from evalkit.files.photos import PhotoStore

READ_ME = """What the book of {mentor} holds about {name}, as of {day}.

data.json     rounds with their pairs and journeys, the mentor's readings before posting, every sealed version of every
              assessment, every finished marking, second markings, sign-offs; as evalkit keeps them
photos/       the pictures named in data.json, each under the SHA-256 of its content
"""


@dataclass(frozen=True, slots=True)
class HandedOut:
    """What was written for a trainee."""

    n_rounds: int
    n_photos: int


def export_person(book: Book, store: PhotoStore, key: str, out: Path, *, today: date) -> HandedOut:
    """Write everything that the book holds about a trainee to the zip `out`: whole, or not at all.

    Raises NotFoundError for an unknown trainee, AlreadyError when `out` is there.
    """
    person = book.get_person("trainee", key)
    rounds = _rounds_of(book, key)
    photos = sorted({photo.sha256 for round_ in rounds for photo in book.list_photos(round_.key)})
    data = {
        "format": 1,
        "kind": "data of a trainee",
        "person": person.model_dump(mode="json"),
        "rounds": [_round_data(book, round_.key) for round_ in rounds],
        "sign_offs": [kept.sign_off.model_dump(mode="json") for kept in book.list_sign_offs(key)],
    }
    mentors = ", ".join(dict.fromkeys(round_.mentor.name for round_ in rounds)) or "the mentor"
    texts = {
        "README.txt": READ_ME.format(mentor=mentors, name=person.name, day=today),
        "data.json": json.dumps(data, ensure_ascii=False, indent=2, default=str) + "\n",
    }
    try:
        with new_file(out, mode=0o600) as file:
            _write(file, texts, photos, store)
    except FileExistsError:
        raise AlreadyError("there is a file of that name.", mend="Name a new file.", where=str(out)) from None
    except OSError as error:
        reason = (error.strerror or "the disk refuses").lower()
        raise InputError(f"the file cannot be written ({reason}).", mend="Name another.", where=str(out)) from None
    return HandedOut(len(rounds), len(photos))


def _write(file: BinaryIO, texts: dict[str, str], photos: list[str], store: PhotoStore) -> None:
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as box:
        for name, text in texts.items():
            box.writestr(name, text)
        for name in photos:
            box.writestr(f"photos/{name}.jpg", store.read(name), zipfile.ZIP_STORED)


def _round_data(book: Book, key: str) -> dict[str, object]:
    sealed = [book.get_assessment(key, line.version) for line in book.assessment_versions(key)]
    finished = [book.get_marking(key, line.by, line.version) for line in book.marking_versions(key)]
    drafts = [book.find_draft(key, mentor.key) for mentor in book.list_people("mentor")]
    return {
        "round": book.get_round(key).model_dump(mode="json"),
        "assessments": [
            {
                "version": one.version, "sealed_at": one.sealed_at, "reason": one.reason, "seal": one.seal,
                "assessment": one.assessment.model_dump(mode="json"),
            }
            for one in sealed
        ],
        "markings": [
            {
                "version": one.version, "finished_at": one.finished_at, "reason": one.reason,
                "marking": one.marking.model_dump(mode="json"),
            }
            for one in finished
        ],
        "intakes": [
            {
                "version": one.version, "taken_at": one.taken_at, "reason": one.reason,
                "intake": one.intake.model_dump(mode="json"),
            }
            for one in book.list_intakes(key)
        ],
        "markings_begun": [draft.model_dump(mode="json") for draft in drafts if draft is not None],
        "second_markings_begun": [
            pair.model_dump(mode="json")
            for mentor in book.list_people("mentor")
            for pair in book.list_second_drafts(key, mentor.key).values()
        ],
        "second_markings": [one.model_dump(mode="json") for one in book.list_second_markings(key)],
    }  # fmt: skip


def _rounds_of(book: Book, key: str) -> list[Round]:
    """Every round of a trainee. Raises NotFoundError."""
    return book.list_rounds(book.get_person("trainee", key).key)


def erase_person(book: Book, store: PhotoStore, key: str, *, who: str) -> Erased:
    """Erase a trainee from the book, then the files of the pictures that nobody else's round shows.

    Raises as `Book.erase_person`; EvalkitError when traces may stay: another program still has the book open, or the
    disk has no room to rewrite it.
    """
    from evalkit.files.half_kept import list_ahead

    names = {photo.sha256 for round_ in _rounds_of(book, key) for photo in book.list_photos(round_.key)}
    # Died between the act and the removal, the list still says which files the next command removes.
    listed = list_ahead(store, sorted(names))
    try:
        erased, is_clean = book.erase_person(key, who)
    except BaseException:
        listed.unlink(missing_ok=True)
        raise
    for name in erased.photos:
        store.drop(name)
    listed.unlink(missing_ok=True)
    if not is_clean:
        raise EvalkitError(
            f"the trainee is erased and stands as '{erased.key}', but traces may stay in the book's file: "
            "another program has the book open, or the disk has no room to rewrite it.",
            mend="Close it or make room, then run 'evalkit book check': the last traces go when the last program that "
            "has the book open closes it.",
            where=f"trainee {key}",
        )
    return erased

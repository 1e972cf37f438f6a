"""Pictures of a document: every one checked before any is kept, and kept with the act that names them or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, TypeVar

from evalkit.domain.assessment import Assessment, Photo
from evalkit.domain.intake import Intake
from evalkit.domain.marking import Marking
from evalkit.errors import BookError, EvalkitError, Fault, FileFaultsError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.book.kept import PhotoRow
    from evalkit.files.photo_tray import PhotoTray
    from evalkit.files.photos import CleanPhoto, PhotoStore

Document = TypeVar("Document", Assessment, Marking, Intake)


def photos_of(document: Assessment | Marking | Intake) -> list[Photo]:
    """Every picture that is named, pair by pair."""
    return [photo for pair in document.pairs for photo in pair.photos]


def read_photos(photos: Iterable[Photo], sheet: Path, tray: PhotoTray) -> None:
    """Lay each named picture, checked and cleaned, into the tray by the name it has in the sheet.

    Names are relative to the sheet's folder and stay inside it. Raises FileFaultsError with every fault.
    """
    from evalkit.files.photos import clean_photo

    faults = []
    for name in dict.fromkeys(photo.file for photo in photos):
        try:
            photo = clean_photo(_path_beside(sheet, name).read_bytes())
        except OSError as error:
            reason = error.strerror or "cannot be read"
            faults.append(_fault(sheet, name, f"cannot be read ({reason.lower()})."))
        except EvalkitError as error:
            faults.append(Fault(str(sheet), 0, f"photo '{name}': {error.what}", error.mend))
        else:
            tray.lay(name, photo)  # a full tray is no fault of the picture
    if faults:
        raise FileFaultsError(faults)


def _path_beside(sheet: Path, name: str) -> Path:
    parts = PurePosixPath(name.replace("\\", "/"))
    folder = sheet.resolve().parent
    path = (folder / parts).resolve()
    if parts.is_absolute() or ".." in parts.parts or not path.is_relative_to(folder):
        raise EvalkitError("lies outside the sheet's folder.", mend="Put the picture beside the sheet.")
    return path


def _fault(sheet: Path, name: str, what: str) -> Fault:
    return Fault(str(sheet), 0, f"photo '{name}' {what}", "Put it beside the sheet under that name, or take it out.")


@contextmanager
def kept_photos(tray: PhotoTray, store: PhotoStore, book: Book) -> Iterator[Iterable[PhotoRow]]:
    """Rows of the pictures in the tray for one act of the book; each is written as the act asks for its row.

    Written inside the act, so nobody else writes meanwhile; when the act fails, or the program dies in it, those that
    the book does not know are gone again, at the latest before the next picture is kept.
    """
    from evalkit.files.half_kept import list_ahead

    lists: list[Path] = []

    def written() -> Iterator[PhotoRow]:
        remove_half_kept_photos(store, book)
        lists.append(list_ahead(store, dict.fromkeys(one.sha256 for one in tray.values())))
        for photo in tray.each():
            store.put(photo)
            yield _row(photo)

    try:
        yield written() if tray else ()
    except BaseException as error:
        if lists:
            with suppress(EvalkitError, OSError), book.alone():
                remove_half_kept_photos(store, book)
        if isinstance(error, OSError):
            reason = (error.strerror or "the disk refuses").lower()
            raise BookError(
                f"the photos cannot be kept ({reason}); nothing was changed.",
                mend="Look at the disk, then try again.",
                where=str(store.folder),
            ) from error
        raise
    for path in lists:
        path.unlink(missing_ok=True)


def clear_half_kept(book: Book, store: PhotoStore) -> int:
    """Remove what an act left that died while it kept pictures; how many. None where the book cannot be written."""
    from evalkit.files.half_kept import has_half_kept

    if not has_half_kept(store):
        return 0
    with suppress(BookError, OSError), book.alone():
        return remove_half_kept_photos(store, book)
    return 0


def remove_half_kept_photos(store: PhotoStore, book: Book) -> int:
    """Remove what an act left that died while it kept pictures; how many. Only while nobody else may write."""
    from evalkit.files.half_kept import remove_half_kept

    return remove_half_kept(store, book.photo_names)


def _row(photo: CleanPhoto) -> PhotoRow:
    from evalkit.book.kept import PhotoRow

    return PhotoRow(photo.sha256, photo.media_type, len(photo.data), photo.width, photo.height)


def renamed(document: Document, sha256_of: Mapping[str, str]) -> Document:
    """The same document with its pictures under their content names."""
    pairs = tuple(
        pair.model_copy(
            update={"photos": tuple(photo.model_copy(update={"file": sha256_of[photo.file]}) for photo in pair.photos)}
        )
        for pair in document.pairs
    )
    return document.model_copy(update={"pairs": pairs})

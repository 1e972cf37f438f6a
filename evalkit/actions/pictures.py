"""Pictures named in a sheet: every one checked before any is kept."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from evalkit.domain.assessment import Photo
from evalkit.errors import EvalkitError, Fault, FileFaultsError

if TYPE_CHECKING:
    from evalkit.book.kept import PhotoRow
    from evalkit.files.photos import CleanPhoto, PhotoStore


def read_photos(photos: Iterable[Photo], sheet: Path) -> dict[str, CleanPhoto]:
    """Each named picture, checked and cleaned, by the name it has in the sheet.

    Names are relative to the sheet's folder and stay inside it. Raises FileFaultsError with every fault.
    """
    from evalkit.files.photos import clean_photo

    found: dict[str, CleanPhoto] = {}
    faults = []
    for photo in photos:
        if photo.file in found:
            continue
        try:
            found[photo.file] = clean_photo(_path_beside(sheet, photo.file).read_bytes())
        except OSError as error:
            reason = error.strerror or "cannot be read"
            faults.append(_fault(sheet, photo.file, f"cannot be read ({reason.lower()})."))
        except EvalkitError as error:
            faults.append(Fault(str(sheet), 0, f"photo '{photo.file}': {error.what}", error.mend))
    if faults:
        raise FileFaultsError(faults)
    return found


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
def kept_photos(clean: Mapping[str, CleanPhoto], store: PhotoStore, known: Collection[str]) -> Iterator[list[PhotoRow]]:
    """Write the pictures, then let the act happen; when it fails, those that were not `known` before are gone again."""
    from evalkit.book.kept import PhotoRow

    try:
        for photo in clean.values():
            store.put(photo)
        yield [PhotoRow(p.sha256, p.media_type, len(p.data), p.width, p.height) for p in clean.values()]
    except BaseException:
        for photo in clean.values():
            if photo.sha256 not in known:
                store.drop(photo.sha256)
        raise


def renamed(photos: Iterable[Photo], clean: Mapping[str, CleanPhoto]) -> tuple[Photo, ...]:
    """The same pictures under their content names."""
    return tuple(photo.model_copy(update={"file": clean[photo.file].sha256}) for photo in photos)

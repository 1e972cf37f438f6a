"""Cleaned pictures on their way into the book: on disk, not in memory, and without a name, so that none is left."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from types import TracebackType
from typing import Self

from evalkit.errors import disk_error
from evalkit.files.photos import CleanPhoto


@dataclass(frozen=True, slots=True)
class WaitingPhoto:
    """A cleaned picture in a tray; its bytes begin at `starts_at`."""

    sha256: str
    media_type: str
    n_bytes: int
    width: int
    height: int
    starts_at: int


@contextmanager
def _told() -> Iterator[None]:
    """The tray lies in the temporary folder, which may be on another disk than the book."""
    try:
        yield
    except OSError as error:
        raise disk_error(error, f"temporary folder {tempfile.tempdir or ''}".strip()) from error


class PhotoTray(Mapping[str, WaitingPhoto]):
    """Cleaned pictures by the name they have in a sheet or packet. They are gone when the program ends or dies."""

    def __init__(self) -> None:
        with _told():
            self._file = tempfile.TemporaryFile()  # noqa: SIM115 - the tray itself is what is closed
        self._waiting: dict[str, WaitingPhoto] = {}

    def lay(self, name: str, photo: CleanPhoto) -> None:
        """Put a picture under the name it has outside. Raises DiskError where there is no room for it."""
        with _told():
            starts_at = self._file.seek(0, 2)
            self._file.write(photo.data)
            self._file.flush()
        self._waiting[name] = WaitingPhoto(
            photo.sha256, photo.media_type, len(photo.data), photo.width, photo.height, starts_at
        )

    def each(self) -> Iterator[CleanPhoto]:
        """Every picture once, one in memory at a time."""
        once = {one.sha256: one for one in self._waiting.values()}
        for one in once.values():
            self._file.seek(one.starts_at)
            data = self._file.read(one.n_bytes)
            yield CleanPhoto(data, one.media_type, one.sha256, one.width, one.height)

    def __getitem__(self, name: str) -> WaitingPhoto:
        return self._waiting[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._waiting)

    def __len__(self) -> int:
        return len(self._waiting)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._file.close()

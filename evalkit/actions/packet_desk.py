"""What lies before whoever takes in a packet: the packet, the book, and the pictures on their way into it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.errors import EvalkitError, InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.book.kept import PacketHead
    from evalkit.files.packets import OpenPacket
    from evalkit.files.photo_tray import PhotoTray
    from evalkit.files.photos import PhotoStore


@dataclass(frozen=True, slots=True)
class PacketDesk:
    """One packet, the book it goes into, and who takes it in; `where` is its file."""

    book: Book
    store: PhotoStore
    packet: OpenPacket
    where: str
    who: str

    def head(self, version: int | None = None) -> PacketHead:
        """The packet, with the sender's version of what is in it."""
        from evalkit.book.kept import PacketHead

        return PacketHead(self.packet.seal, self.packet.kind.value, self.packet.round_key, version)

    @contextmanager
    def photos(self) -> Iterator[tuple[PhotoTray, dict[str, str]]]:
        """Every picture, cleaned, and the content name under which the book will know it, by its name in the packet.

        One that the book has already is taken as it is: cleaned again, it would be another.
        """
        from evalkit.files.packets.layout import find_photo_name
        from evalkit.files.photo_tray import PhotoTray

        known = frozenset(self.book.photo_names())
        content_names = {}
        with PhotoTray() as tray:
            for name in self.packet.names:
                if (found := find_photo_name(name)) is None:
                    continue
                if found[0] in known and not self.store.check([found[0]]):
                    content_names[name] = found[0]
                    continue
                self._lay(tray, name)
                content_names[name] = tray[name].sha256
            yield tray, content_names

    def _lay(self, tray: PhotoTray, name: str) -> None:
        from evalkit.files.photos import clean_photo

        where = f"{self.where}, data/{name}"
        try:
            tray.lay(name, clean_photo(self.packet.read(name)))
        except EvalkitError as error:
            raise type(error)(error.what, mend=error.mend, where=where) from error
        except OSError as error:
            what = f"the picture cannot be unpacked ({(error.strerror or 'the disk refuses').lower()})."
            raise InputError(what, mend="Look at the disk, then try again.", where=where) from error

"""Opening a packet as if it were hostile: nothing of it is believed before all of it was checked."""

from __future__ import annotations

import errno
import os
import stat
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from evalkit.errors import EvalkitError, InputError, NotFoundError, disk_error
from evalkit.files.packets import layout
from evalkit.files.packets.bag import check_declaration, check_manifests
from evalkit.files.packets.bag_info import check_oxum, read_bag_info
from evalkit.files.packets.contents import check_contents
from evalkit.files.packets.documents import D, parse
from evalkit.files.packets.layout import DATA, PacketKind
from evalkit.files.packets.library import check_by_library
from evalkit.files.packets.limits import MAX_PACKET_BYTES, MIB
from evalkit.files.packets.private_folder import private_folder
from evalkit.files.packets.refusing import not_as_made, shown
from evalkit.files.packets.seal import seal_of
from evalkit.files.packets.strict_json import read_json
from evalkit.files.packets.unpacking import unpack
from evalkit.files.packets.zip_checks import check_entries, data_places, top_of
from evalkit.files.packets.zip_directory import Entry, read_directory

WRITING = (errno.ENOSPC, errno.EDQUOT, errno.EROFS)
"""Refusals that no reading of the packet meets, only the unpacking."""


@dataclass(frozen=True, slots=True)
class OpenPacket:
    """A packet that passed every check, readable until its `with` ends. `names` are those below `data/`, sorted."""

    kind: PacketKind
    seal: str
    round_key: str
    names: tuple[str, ...]
    folder: Path

    def read(self, name: str) -> bytes:
        """The bytes of one file. Raises NotFoundError for a name that is not in `names`."""
        if name not in self.names:
            held = ", ".join(self.names[:8])
            raise NotFoundError(f"there is no '{shown(name)}' in the packet.", mend=f"It holds {held}.")
        return (self.folder / name).read_bytes()

    def document(self, name: str) -> dict[str, Any]:
        """A JSON document as plain data. Raises NotFoundError for a name that is not in `names`."""
        return read_json(self.read(name), DATA + name)

    def parsed(self, name: str, model: type[D]) -> D:
        """A JSON document as a value of `model`, one of those in `documents`; raises as `document` does."""
        return parse(self.read(name), model, DATA + name)


def is_packet(path: Path) -> bool:
    """Whether the file is a zip, by its content; False where there is none."""
    try:
        return path.is_file() and zipfile.is_zipfile(path)
    except OSError:
        return False


@contextmanager
def open_packet(path: Path) -> Iterator[OpenPacket]:
    """The packet in the file `path`, unpacked in a private folder that is gone afterwards.

    Raises InputError with one line that says where, what and how to mend it; NotFoundError where there is no file;
    MissingPartError for a HEIC picture without the library that reads it; DiskError where there is no room to unpack.
    """
    with ExitStack() as kept:
        with _told_of(path), _opened(path) as file:
            packet = _check(file, kept.enter_context(private_folder()))
        yield packet


@contextmanager
def _told_of(path: Path) -> Iterator[None]:
    """Every refusal names the packet first, then the file in it."""
    try:
        yield
    except EvalkitError as error:
        inside = f", {error.where}" if error.where else ""
        raise type(error)(error.what, mend=error.mend, where=f"{path}{inside}") from error
    except OSError as error:
        if error.errno in WRITING:
            raise disk_error(error, f"{path}, unpacked in {tempfile.gettempdir()}") from error
        what = f"cannot be opened ({(error.strerror or 'no reason told').lower()})."
        raise InputError(what, mend="Check the file and the disk.", where=str(path)) from error


@contextmanager
def _opened(path: Path) -> Iterator[BinaryIO]:
    if not path.exists():
        raise NotFoundError("there is no such file.", mend="Check the name of the packet.")
    if not stat.S_ISREG(path.stat().st_mode):
        raise InputError("this is no file.", mend="Give the packet itself.")
    with path.open("rb") as file:
        yield file


def _check(file: BinaryIO, folder: Path) -> OpenPacket:
    """Before unpacking, while unpacking, as a bag, as documents: in this order."""
    entries = _checked_entries(file)
    top = top_of(tuple(entries))
    sizes = {entry.name.removeprefix(f"{top}/"): entry.n_bytes for entry in entries}
    payload = tuple(sorted(name.removeprefix(DATA) for name in sizes if name.startswith(DATA)))
    layout.check_bag_files(name for name in sizes if not name.startswith(DATA))
    kind = layout.kind_of(payload)
    layout.check_sizes(sizes)
    bag = folder / "bag"
    sums = {}
    for entry, starts_at in entries.items():
        name = entry.name.removeprefix(f"{top}/")
        sums[name] = unpack(file, entry, starts_at, bag / name)
    tags = {name: (bag / name).read_bytes() for name in layout.BAG_FILES}
    round_key = _check_bag(bag, tags, sums, sizes)
    packet = OpenPacket(kind, seal_of(tags[layout.MANIFEST]), round_key, payload, bag / "data")
    check_contents({name: sums[DATA + name] for name in payload}, packet.read, round_key)
    return packet


def _checked_entries(file: BinaryIO) -> dict[Entry, int]:
    """Every entry and where its bytes start, in the order of the file."""
    n_file = os.fstat(file.fileno()).st_size
    if n_file > MAX_PACKET_BYTES:
        raise not_as_made(f"the file has more than {MAX_PACKET_BYTES // MIB} MB.")
    directory = read_directory(file, n_file)
    check_entries(directory.entries)
    places = data_places(file, directory)
    return {entry: places[entry.name] for entry in sorted(directory.entries, key=lambda one: one.starts_at)}


def _check_bag(bag: Path, tags: dict[str, bytes], sums: dict[str, str], sizes: dict[str, int]) -> str:
    """The key of the round that the bag names."""
    check_declaration(tags[layout.BAGIT])
    check_manifests(tags, sums)
    info = read_bag_info(tags[layout.BAG_INFO])
    check_oxum(info, sizes)
    check_by_library(bag)
    return info.round_key

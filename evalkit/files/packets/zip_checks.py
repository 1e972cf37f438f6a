"""Whether the entries of a zip may be unpacked at all: names, sizes, kinds, and where they lie. Nothing is unpacked."""

from __future__ import annotations

import stat
import struct
from collections.abc import Sequence
from typing import BinaryIO

from evalkit.errors import InputError
from evalkit.files.packets import zip_directory as zd
from evalkit.files.packets.limits import MAX_RATIO, SMALL_BYTES
from evalkit.files.packets.names import find_file_as_folder, find_name_fault, find_twice
from evalkit.files.packets.refusing import damaged, not_as_made
from evalkit.files.packets.zip_directory import Directory, Entry

_LOCAL = struct.Struct("<4s5H3L2H")
_DESCRIPTOR = struct.Struct("<3L")
_DESCRIPTOR_SIGN = b"PK\x07\x08"
_DOS_FOLDER_OR_LABEL = 0x18
_ODD_KINDS = {stat.S_IFLNK: "a link", **dict.fromkeys((stat.S_IFDIR, stat.S_IFREG, 0), "a folder")}


def check_entries(entries: Sequence[Entry]) -> None:
    """What the list alone tells. Raises InputError at the first entry that has no place in a packet."""
    for entry in entries:
        if fault := find_name_fault(entry.name):
            raise not_as_made(f"the name of this file {fault}.", entry.name)
        _check_kind(entry)
        _check_size(entry)
    names = [entry.name for entry in entries]
    if (twice := find_twice(names)) is not None:
        raise not_as_made("the name stands twice in the zip.", twice)
    if (both := find_file_as_folder(names)) is not None:
        raise not_as_made("the name is a file and a folder at once.", both)


def top_of(entries: Sequence[Entry]) -> str:
    """The one folder that everything lies in. Raises InputError when there are several or none."""
    if not entries:
        raise not_as_made("the zip is empty.")
    tops = {entry.name.partition("/")[0] for entry in entries if "/" in entry.name}
    if len(tops) != 1 or any("/" not in entry.name for entry in entries):
        raise not_as_made("its files do not lie in one folder.")
    return tops.pop()


def _check_kind(entry: Entry) -> None:
    where = entry.name
    if entry.flags & zd.IS_ENCRYPTED:
        raise InputError("the file is locked with a password.", mend="Ask for the packet without one.", where=where)
    if entry.flags & ~zd.HARMLESS_FLAGS or entry.method not in {zd.STORED, zd.DEFLATED}:
        raise not_as_made("the file is packed in a way that evalkit does not unpack.", where)
    kind = stat.S_IFMT(entry.attributes >> 16)
    if kind not in {0, stat.S_IFREG} or entry.attributes & _DOS_FOLDER_OR_LABEL:
        raise not_as_made(f"the file is {_ODD_KINDS.get(kind, 'a device or a pipe')}.", where)
    if entry.n_extra:
        raise not_as_made("the file carries additions that a packet does not have.", where)


def _check_size(entry: Entry) -> None:
    where = entry.name
    if entry.method == zd.STORED and entry.n_packed != entry.n_bytes:
        raise damaged("the file lies about its size.", where)
    if entry.n_bytes > SMALL_BYTES and entry.n_bytes > MAX_RATIO * entry.n_packed:
        raise not_as_made("a few bytes would unpack to very many.", where)


def data_places(file: BinaryIO, directory: Directory) -> dict[str, int]:
    """Where the bytes of each entry start.

    The entries must lie one behind the other from the first byte of the file to the list, with nothing between and
    nothing shared, and each must say of itself what the list says. Raises InputError otherwise.
    """
    places, expected_at = {}, 0
    for entry in sorted(directory.entries, key=lambda one: one.starts_at):
        if entry.starts_at < expected_at:
            raise not_as_made("two files share the same bytes.", entry.name)
        if entry.starts_at > expected_at:
            raise not_as_made("there are bytes in the zip that belong to no file.", entry.name)
        _check_local(file, entry)
        places[entry.name] = entry.starts_at + _LOCAL.size + len(entry.name)
        ends_at = places[entry.name] + entry.n_packed
        if ends_at > directory.starts_at:
            raise damaged("the file lies about its size.", entry.name)
        expected_at = ends_at + _n_descriptor(file, entry, ends_at)
    if expected_at != directory.starts_at:
        raise not_as_made("there are bytes in the zip that belong to no file.")
    return places


def _check_local(file: BinaryIO, entry: Entry) -> None:
    """The header in front of the bytes tells the same as the list; sizes may be told behind the bytes instead."""
    file.seek(entry.starts_at)
    head = file.read(_LOCAL.size + len(entry.name))
    where = entry.name
    if len(head) < _LOCAL.size or not head.startswith(zd.LOCAL_SIGN):
        raise damaged("the file is not where the list says.", where)
    _, _, flags, method, _, _, crc, n_packed, n_bytes, n_name, n_extra = _LOCAL.unpack_from(head)
    if n_name != len(entry.name) or head[_LOCAL.size :] != entry.name.encode("ascii"):
        raise not_as_made("the file has another name than in the list.", where)
    told, listed = (crc, n_packed, n_bytes), (entry.crc, entry.n_packed, entry.n_bytes)
    is_told_behind = bool(flags & zd.HAS_DESCRIPTOR) and told == (0, 0, 0)
    if (flags, method, n_extra) != (entry.flags, entry.method, 0) or not (told == listed or is_told_behind):
        raise not_as_made("the file says something else of itself than the list.", where)


def _n_descriptor(file: BinaryIO, entry: Entry, at: int) -> int:
    """Bytes of the descriptor behind an entry's bytes; 0 where it has none."""
    if not entry.flags & zd.HAS_DESCRIPTOR:
        return 0
    file.seek(at)
    found = file.read(len(_DESCRIPTOR_SIGN) + _DESCRIPTOR.size)
    told = _DESCRIPTOR.pack(entry.crc, entry.n_packed, entry.n_bytes)
    for n_sign, descriptor in ((4, _DESCRIPTOR_SIGN + told), (0, told)):
        if found.startswith(descriptor):
            return n_sign + _DESCRIPTOR.size
    raise not_as_made("the file says something else of itself than the list.", entry.name)

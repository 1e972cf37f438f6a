"""The head of a zip, read by hand and believed in nothing: its end record and the list of its entries.

Layout of the records: APPNOTE.TXT 6.3.10, sections 4.3.7 (local header), 4.3.9 (data descriptor), 4.3.12 (central
directory) and 4.3.16 (end record).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import BinaryIO

from evalkit.errors import InputError
from evalkit.files.packets.limits import MAX_DIRECTORY_BYTES, MAX_ENTRIES
from evalkit.files.packets.refusing import damaged, not_as_made

LOCAL_SIGN = b"PK\x03\x04"
END_SIGN = b"PK\x05\x06"
STORED, DEFLATED = 0, 8

IS_ENCRYPTED = 1 << 0 | 1 << 6 | 1 << 13
HAS_DESCRIPTOR = 1 << 3
HARMLESS_FLAGS = 1 << 1 | 1 << 2 | HAS_DESCRIPTOR | 1 << 11

_END = struct.Struct("<4s4H2LH")
_CENTRAL = struct.Struct("<4s6H3L5H2L")
_CENTRAL_SIGN = b"PK\x01\x02"
_ZIP64_COUNT, _ZIP64_SIZE = 0xFFFF, 0xFFFFFFFF


@dataclass(frozen=True, slots=True)
class Entry:
    """One file as the list of the zip declares it. `starts_at` is where its own header should be."""

    name: str
    flags: int
    method: int
    crc: int
    n_packed: int
    n_bytes: int
    starts_at: int
    attributes: int
    n_extra: int


@dataclass(frozen=True, slots=True)
class Directory:
    """All entries, and where the list of them starts in the file."""

    entries: tuple[Entry, ...]
    starts_at: int


def read_directory(file: BinaryIO, n_file: int) -> Directory:
    """The list of a zip of `n_file` bytes. Raises InputError when it is none, was lengthened or shortened, or lies."""
    n_entries, n_bytes, starts_at = _read_end(file, n_file)
    file.seek(starts_at)
    return Directory(tuple(_read_entries(file.read(n_bytes), n_entries)), starts_at)


def _read_end(file: BinaryIO, n_file: int) -> tuple[int, int, int]:
    """Count of entries, bytes of their list and its place, from the last 22 bytes of the file."""
    file.seek(0)
    head = file.read(len(LOCAL_SIGN))
    file.seek(max(0, n_file - _END.size))
    end = file.read(_END.size)
    if len(end) < _END.size or not end.startswith(END_SIGN):
        if head == LOCAL_SIGN:
            raise damaged("the zip is cut short, or something was put behind it.")
        raise InputError("this is no packet.", mend="Give the zip file that evalkit or the bench book made.")
    _, disk, first_disk, n_here, n_entries, n_bytes, starts_at, n_comment = _END.unpack(end)
    if _ZIP64_COUNT in {n_entries, n_here} or _ZIP64_SIZE in {n_bytes, starts_at}:
        raise not_as_made("the zip is of the large kind (zip64).")
    if disk or first_disk or n_here != n_entries:
        raise not_as_made("the zip is one part of several.")
    if n_comment:
        raise not_as_made("something was put behind the zip.")
    if n_entries > MAX_ENTRIES:
        raise not_as_made(f"the zip holds {n_entries} files; at most {MAX_ENTRIES} are taken.")
    if n_bytes > MAX_DIRECTORY_BYTES or starts_at + n_bytes != n_file - _END.size:
        raise damaged("the list of files is not where the zip says.")
    return n_entries, n_bytes, starts_at


def _read_entries(listed: bytes, n_entries: int) -> list[Entry]:
    entries, at = [], 0
    for _ in range(n_entries):
        entry, at = _read_entry(listed, at)
        entries.append(entry)
    if at != len(listed):
        raise damaged("the list of files holds more than the zip says.")
    return entries


def _read_entry(listed: bytes, at: int) -> tuple[Entry, int]:
    """One entry of the list, and where the next begins."""
    if len(listed) - at < _CENTRAL.size or listed[at : at + 4] != _CENTRAL_SIGN:
        raise damaged("the list of files in the zip is damaged.")
    told = _CENTRAL.unpack_from(listed, at)
    flags, method, crc, n_packed, n_bytes, n_name, n_extra, n_comment, disk = (*told[3:5], *told[7:14])
    attributes, starts_at = told[15:]
    name_at = at + _CENTRAL.size
    raw = listed[name_at : name_at + n_name]
    if len(raw) < n_name:
        raise damaged("the list of files in the zip is damaged.")
    name = raw.decode("utf-8", "surrogateescape")
    if n_comment or disk:
        raise not_as_made("the file carries a remark or lies on another disk.", name)
    entry = Entry(name, flags, method, crc, n_packed, n_bytes, starts_at, attributes, n_extra)
    return entry, name_at + n_name + n_extra + n_comment

"""Entries of a zip to files in a private folder: counted byte by byte, never beyond what was declared."""

from __future__ import annotations

import hashlib
import os
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from evalkit.files.packets.refusing import damaged
from evalkit.files.packets.zip_directory import STORED, Entry

BLOCK = 256 * 1024


def unpack(file: BinaryIO, entry: Entry, starts_at: int, path: Path) -> str:
    """Write the entry's bytes to the new file `path`; answers their SHA-256.

    Raises InputError when they are more or fewer than declared, cannot be unpacked, or do not match their sum.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    n_bytes, crc, digest = 0, 0, hashlib.sha256()
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(handle, "wb") as out:
        for block in _blocks(file, entry, starts_at):
            n_bytes += len(block)
            if n_bytes > entry.n_bytes:
                raise damaged("the file lies about its size.", entry.name)
            crc = zlib.crc32(block, crc)
            digest.update(block)
            out.write(block)
    if n_bytes != entry.n_bytes or crc != entry.crc:
        raise damaged("the file is damaged.", entry.name)
    return digest.hexdigest()


def _blocks(file: BinaryIO, entry: Entry, starts_at: int) -> Iterator[bytes]:
    packed = _packed_blocks(file, entry, starts_at)
    return packed if entry.method == STORED else _inflated(packed, entry)


def _packed_blocks(file: BinaryIO, entry: Entry, starts_at: int) -> Iterator[bytes]:
    file.seek(starts_at)
    n_left = entry.n_packed
    while n_left and (block := file.read(min(BLOCK, n_left))):
        n_left -= len(block)
        yield block


def _inflated(packed: Iterator[bytes], entry: Entry) -> Iterator[bytes]:
    """At most `BLOCK` bytes at a time, however tightly they are packed."""
    inflater = zlib.decompressobj(-zlib.MAX_WBITS)
    try:
        for block in packed:
            waiting = block
            while waiting:
                yield inflater.decompress(waiting, BLOCK)
                waiting = inflater.unconsumed_tail
                if inflater.unused_data:
                    break
        while not inflater.eof and (rest := inflater.decompress(b"", BLOCK)):
            yield rest
    except zlib.error as error:
        raise damaged("the file is damaged.", entry.name) from error
    if not inflater.eof or inflater.unused_data:
        raise damaged("the file is cut short or too long.", entry.name)

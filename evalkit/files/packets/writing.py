"""Writing a packet: the same content gives the same bytes, and the file is whole or absent."""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import zipfile
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import BinaryIO

from evalkit.disk import take_name
from evalkit.errors import AlreadyError, EvalkitError, InputError
from evalkit.files.packets.bag import declaration
from evalkit.files.packets.bag_info import BagInfo, write_bag_info
from evalkit.files.packets.layout import (
    BAG_INFO,
    BAGIT,
    DATA,
    MANIFEST,
    TAG_FILES,
    TAG_MANIFEST,
    PacketKind,
    check_payload,
    check_sizes,
)
from evalkit.files.packets.names import find_name_fault
from evalkit.files.packets.opening import open_packet
from evalkit.files.packets.seal import seal_of

LONG_AGO = (1980, 1, 1, 0, 0, 0)
"""The date of every entry, the earliest that a zip can tell: when a packet was made stands in `bag-info.txt`."""

_PICTURES = (".jpg", ".png", ".webp", ".heic")


def write_packet(path: Path, kind: PacketKind, *, round_key: str, made_on: date, files: Mapping[str, bytes]) -> str:
    """Write the bag of `files` (by their names below `data/`) as a zip to the new file `path`; answers its seal.

    What would not be opened again is not written. Raises AlreadyError when there is such a file, InputError when it
    cannot be written there, or when a file of the payload is missing, one too many, or not what it claims.
    """
    check_payload(kind, files)
    check_sizes({DATA + name: len(data) for name, data in files.items()})
    if path.exists() or path.is_symlink():
        raise _already(path)
    bag = _bag(round_key, made_on, files)
    try:
        _write_whole(path, _top(path, round_key, kind), bag)
    except OSError as error:
        what = f"the packet cannot be written ({(error.strerror or 'no reason told').lower()})."
        raise InputError(what, mend="Name another folder.", where=str(path)) from error
    return seal_of(bag[MANIFEST])


def _bag(round_key: str, made_on: date, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """Every file of the bag in the order it is written: what describes it first, then the payload."""
    payload = {DATA + name: files[name] for name in sorted(files)}
    n_bytes = sum(len(data) for data in payload.values())
    tags = {
        BAGIT: declaration(),
        BAG_INFO: write_bag_info(BagInfo(round_key, made_on, n_bytes, len(payload))),
        MANIFEST: _manifest(payload),
    }
    return {**tags, TAG_MANIFEST: _manifest({name: tags[name] for name in sorted(TAG_FILES)}), **payload}


def _manifest(files: Mapping[str, bytes]) -> bytes:
    """As `sha256sum` writes it and `sha256sum -c` reads it."""
    return "".join(f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in files.items()).encode()


def _top(path: Path, round_key: str, kind: PacketKind) -> str:
    """The folder in the zip: the file's stem, as far as it is a plain name."""
    plain = re.sub(r"[^a-z0-9._-]+", "-", path.stem.casefold())[:80].strip("-._")
    return f"{round_key}-{kind}" if find_name_fault(plain) else plain


def _write_whole(path: Path, top: str, bag: Mapping[str, bytes]) -> None:
    """Beside its place first, on disk, read again as anybody will read it; only then under its name."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            _write_zip(file, top, bag)
            file.flush()
            os.fsync(file.fileno())
        _check_again(Path(name), path)
        Path(name).chmod(0o644)
        take_name(Path(name), path)
    except FileExistsError:
        raise _already(path) from None
    finally:
        Path(name).unlink(missing_ok=True)


def _write_zip(file: BinaryIO, top: str, bag: Mapping[str, bytes]) -> None:
    with zipfile.ZipFile(file, "w", allowZip64=False) as archive:
        for name, data in bag.items():
            entry = zipfile.ZipInfo(f"{top}/{name}", LONG_AGO)
            entry.create_system = 3
            entry.external_attr = 0o100644 << 16
            entry.compress_type = zipfile.ZIP_STORED if name.endswith(_PICTURES) else zipfile.ZIP_DEFLATED
            archive.writestr(entry, data)


def _check_again(written: Path, path: Path) -> None:
    try:
        with open_packet(written):
            pass
    except EvalkitError as error:
        where = (error.where or "").replace(str(written), str(path))
        raise type(error)(error.what, mend=error.mend, where=where) from error


def _already(path: Path) -> AlreadyError:
    return AlreadyError("there is a file of that name.", mend="Name a new file.", where=str(path))

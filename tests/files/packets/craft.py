"""Zips and bags made byte by byte, so that they can lie wherever a test wants them to."""

from __future__ import annotations

import hashlib
import struct
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from evalkit.files.packets import PacketKind
from tests.files.packets.samples import KEY, MADE_ON, files_of

TOP = "teo-1-assessment-1"
STORED, DEFLATED = 0, 8
REGULAR = 0o100644 << 16


@dataclass(frozen=True)
class Item:
    """One file of a zip. What is None follows from `data`; the rest is told as given, true or not."""

    name: str | bytes
    data: bytes = b""
    method: int = STORED
    flags: int = 0
    packed: bytes | None = None
    crc: int | None = None
    n_packed: int | None = None
    n_bytes: int | None = None
    attributes: int = REGULAR
    extra: bytes = b""
    remark: bytes = b""
    disk: int = 0
    offset: int | None = None
    local_name: str | bytes | None = None
    local_flags: int | None = None
    local_method: int | None = None
    local_extra: bytes = b""
    local_sizes: tuple[int, int, int] | None = None
    descriptor: bytes = b""
    gap: bytes = b""
    is_written: bool = True

    @property
    def body(self) -> bytes:
        if self.packed is not None:
            return self.packed
        return deflated(self.data) if self.method == DEFLATED else self.data

    @property
    def told(self) -> tuple[int, int, int]:
        """Sum, packed and unpacked size, as told."""
        crc = zlib.crc32(self.data) if self.crc is None else self.crc
        n_packed = len(self.body) if self.n_packed is None else self.n_packed
        return crc, n_packed, len(self.data) if self.n_bytes is None else self.n_bytes


def deflated(data: bytes) -> bytes:
    packer = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    return packer.compress(data) + packer.flush()


def zipped(
    items: Iterable[Item], *, before: bytes = b"", behind_list: bytes = b"", behind: bytes = b"", **end: int
) -> bytes:
    """A zip of `items`; `end` overrides fields of its end record, by the names below."""
    written, listed, n = bytearray(before), bytearray(), 0
    for item in items:
        at = len(written) if item.offset is None else item.offset
        if item.is_written:
            written += _local(item) + item.body + item.descriptor + item.gap
        listed += _listed(item, at)
        n += 1
    told = {"disk": 0, "first_disk": 0, "n_here": n, "n_entries": n, "n_list": len(listed), "list_at": len(written)}
    fields = told | {"n_remark": 0} | end
    tail = struct.pack("<4s4H2LH", b"PK\x05\x06", *fields.values())
    return bytes(written + listed + behind_list + tail + behind)


def _name(name: str | bytes) -> bytes:
    return name.encode() if isinstance(name, str) else name


def _local(item: Item) -> bytes:
    name = _name(item.name if item.local_name is None else item.local_name)
    flags = item.flags if item.local_flags is None else item.local_flags
    method = item.method if item.local_method is None else item.local_method
    sizes = item.local_sizes or item.told
    head = struct.pack("<4s5H3L2H", b"PK\x03\x04", 20, flags, method, 0, 33, *sizes, len(name), len(item.local_extra))
    return head + name + item.local_extra


def _listed(item: Item, at: int) -> bytes:
    name = _name(item.name)
    head = struct.pack(
        "<4s6H3L5H2L", b"PK\x01\x02", 0x031E, 20, item.flags, item.method, 0, 33, *item.told,
        len(name), len(item.extra), len(item.remark), item.disk, 0, item.attributes, at,
    )  # fmt: skip
    return head + name + item.extra + item.remark


# --- bags ------------------------------------------------------------------------------------------------------------


def sums(files: Mapping[str, bytes]) -> bytes:
    return "".join(f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in files.items()).encode()


def bag_of(payload: Mapping[str, bytes] | None = None, **tags: bytes | None) -> dict[str, bytes]:
    """A bag that is right, of an assessment if nothing else is given.

    `tags` replace a tag file before the tag manifest is written (bagit, info, manifest), or the tag manifest itself
    (tagmanifest).
    """
    data = {f"data/{name}": one for name, one in (payload or files_of(PacketKind.ASSESSMENT)).items()}
    oxum = f"{sum(map(len, data.values()))}.{len(data)}"
    info = f"Bagging-Date: {MADE_ON}\nExternal-Identifier: {KEY}\nPayload-Oxum: {oxum}\n".encode()
    described = {
        "bagit.txt": tags.get("bagit") or b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": tags.get("info") or info,
        "manifest-sha256.txt": tags.get("manifest") or sums(data),
    }
    return {**described, "tagmanifest-sha256.txt": tags.get("tagmanifest") or sums(described), **data}


def items_of(bag: Mapping[str, bytes], top: str = TOP) -> list[Item]:
    return [Item(f"{top}/{name}", data) for name, data in bag.items()]


def packet_of(payload: Mapping[str, bytes] | None = None, **tags: bytes | None) -> bytes:
    """A packet made from the same rules by other hands."""
    return zipped(items_of(bag_of(payload, **tags)))


def with_item(at: int, **changes: object) -> bytes:
    """A right packet but for one entry."""
    items = items_of(bag_of())
    items[at] = replace(items[at], **changes)
    return zipped(items)


def with_more(*more: Item, payload: Mapping[str, bytes] | None = None) -> bytes:
    """A right packet with more entries behind."""
    return zipped([*items_of(bag_of(payload)), *more])

"""Which files a packet holds: the bag's own four, and the payload of each kind. Nothing else has a place in it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from enum import StrEnum

from evalkit.files.packets.limits import (
    MAX_INFO_BYTES,
    MAX_JSON_BYTES,
    MAX_MANIFEST_BYTES,
    MAX_PAGE_BYTES,
    MAX_UNPACKED_BYTES,
    MIB,
)
from evalkit.files.packets.refusing import not_as_made
from evalkit.files.photos import MAX_BYTES as MAX_PHOTO_BYTES


class PacketKind(StrEnum):
    """What a packet carries: a trainee's assessment, a round to work on, a graded report."""

    ASSESSMENT = "assessment"
    ROUND = "round"
    REPORT = "report"


BAGIT = "bagit.txt"
BAG_INFO = "bag-info.txt"
MANIFEST = "manifest-sha256.txt"
TAG_MANIFEST = "tagmanifest-sha256.txt"
TAG_FILES = (BAGIT, BAG_INFO, MANIFEST)
"""What the tag manifest lists."""

BAG_FILES = (*TAG_FILES, TAG_MANIFEST)
DATA = "data/"

NEEDED = {
    PacketKind.ASSESSMENT: frozenset({"assessment.json"}),
    PacketKind.ROUND: frozenset({"round.json", "rubric.json", "practise.json", "bench-book.html"}),
    PacketKind.REPORT: frozenset({"report.json", "report.html", "marking.json", "round.json", "rubric.json"}),
}
ALLOWED = {**NEEDED, PacketKind.REPORT: NEEDED[PacketKind.REPORT] | {"assessment.json"}}
"""A box may come back without an assessment; its report is a packet all the same."""

WITH_PHOTOS = frozenset({PacketKind.ASSESSMENT, PacketKind.REPORT})

_PHOTO = re.compile(r"photos/([0-9a-f]{64})\.(jpg|png|webp|heic)", re.ASCII)


def find_photo_name(name: str) -> tuple[str, str] | None:
    """SHA-256 and ending of a picture's payload name `photos/<sha256>.jpg`; None for any other name."""
    found = _PHOTO.fullmatch(name)
    return (found[1], found[2]) if found else None


def kind_of(names: Iterable[str]) -> PacketKind:
    """The kind, from the payload's names below `data/`. Raises InputError when the files are of no kind."""
    there = frozenset(names)
    for kind, lead in (
        (PacketKind.REPORT, "report.json"),
        (PacketKind.ROUND, "round.json"),
        (PacketKind.ASSESSMENT, "assessment.json"),
    ):
        if lead in there:
            check_payload(kind, there)
            return kind
    raise not_as_made("there is no assessment, round or report in it.")


def check_payload(kind: PacketKind, names: Iterable[str]) -> None:
    """Raises InputError when a payload of this kind lacks a file or has one too many."""
    there = frozenset(names)
    if missing := sorted(NEEDED[kind] - there):
        raise not_as_made(f"the {kind} packet lacks {missing[0]}.", DATA + missing[0])
    for name in sorted(there - ALLOWED[kind]):
        if kind not in WITH_PHOTOS or find_photo_name(name) is None:
            raise not_as_made(f"this file has no place in a packet of this kind ({kind}).", DATA + name)


def check_bag_files(names: Iterable[str]) -> None:
    """`names` are those outside `data/`. Raises InputError when one of the bag's own is missing or there are others."""
    there = frozenset(names)
    if "fetch.txt" in there:
        raise not_as_made("the packet wants to fetch files from elsewhere.", "fetch.txt")
    if missing := [name for name in BAG_FILES if name not in there]:
        raise not_as_made("this file of the packet is missing.", missing[0])
    if others := sorted(there - frozenset(BAG_FILES)):
        raise not_as_made("this file has no place in a packet.", others[0])


def check_sizes(sizes: Mapping[str, int]) -> None:
    """`sizes` are bytes by path in the bag. Raises InputError when one file, or all together, are too large."""
    for name, n_bytes in sizes.items():
        if n_bytes > (most := _most_bytes(name)):
            raise not_as_made(f"the file has {n_bytes} bytes; at most {most} are taken.", name)
    if sum(sizes.values()) > MAX_UNPACKED_BYTES:
        raise not_as_made(f"unpacked it would be more than {MAX_UNPACKED_BYTES // MIB} MB.")


def _most_bytes(name: str) -> int:
    if not name.startswith(DATA):
        return MAX_INFO_BYTES if name in {BAGIT, BAG_INFO} else MAX_MANIFEST_BYTES
    if name.endswith(".json"):
        return MAX_JSON_BYTES
    return MAX_PAGE_BYTES if name.endswith(".html") else MAX_PHOTO_BYTES

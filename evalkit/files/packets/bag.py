"""The rules of a bag (RFC 8493), as narrow as a packet needs them: one algorithm, UTF-8, nothing to fetch.

Sections named below are those of RFC 8493. The `bagit` library judges the same folder afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from evalkit.files.packets.layout import BAGIT, DATA, MANIFEST, TAG_FILES, TAG_MANIFEST
from evalkit.files.packets.names import find_name_fault, folded
from evalkit.files.packets.refusing import damaged, not_as_made, shown

VERSIONS = ("1.0", "0.97")

_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")
_ODD_SIGNS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\x85\u2028\u2029\ufeff]")
_LINE = re.compile(r"([0-9a-fA-F]{64})[ \t]+([^ \t].*)", re.ASCII)


def declaration(version: str = VERSIONS[0]) -> bytes:
    """The whole of `bagit.txt` (2.1.1)."""
    return f"BagIt-Version: {version}\nTag-File-Character-Encoding: UTF-8\n".encode()


def check_declaration(data: bytes) -> None:
    """Raises InputError unless `data` is one of the two declarations taken (2.1.1)."""
    text = tag_text(data, BAGIT)
    if text.removesuffix("\n") in {declaration(version).decode().removesuffix("\n") for version in VERSIONS}:
        return
    version = re.match(r"BagIt-Version: ([0-9]{1,3}\.[0-9]{1,3})\n", text, re.ASCII)
    if version and version[1] not in VERSIONS:
        raise not_as_made(f"the bag is of version {version[1]}; taken are {' and '.join(VERSIONS)}.", BAGIT)
    encoding = re.search(r"^Tag-File-Character-Encoding: (.+)$", text, re.MULTILINE)
    if encoding and encoding[1] != "UTF-8":
        raise not_as_made(f"its lists are written in {shown(encoding[1])}; taken is UTF-8.", BAGIT)
    raise not_as_made("the bag's declaration is not the two lines that it must be.", BAGIT)


def tag_text(data: bytes, name: str) -> str:
    """A tag file as text with LF alone (2.3).

    Raises InputError where it is not UTF-8, opens with a byte-order mark or holds control signs.
    """
    if data.startswith(_MARKS):
        raise not_as_made("the file opens with a byte-order mark.", name)
    try:
        text = data.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise not_as_made("the file is not written in UTF-8.", name) from None
    if _ODD_SIGNS.search(text):
        raise not_as_made("the file holds control signs.", name)
    return text


def read_manifest(data: bytes, name: str) -> dict[str, str]:
    """SHA-256 by path (2.1.3, 2.2.1). Raises InputError at the first line that is no sum and path, or stands twice.

    Line ends, capitals in a sum and the space behind it are as free as the RFC leaves them; paths are not.
    """
    found: dict[str, str] = {}
    known = set[str]()
    for number, line in enumerate(tag_text(data, name).removesuffix("\n").split("\n"), start=1):
        entry = _LINE.fullmatch(line)
        where = f"{name}:{number}"
        if entry is None:
            raise not_as_made("the line is not a sum and a path.", where)
        path = entry[2]
        if fault := find_name_fault(path):
            raise not_as_made(f"the path '{shown(path)}' {fault}.", where)
        if folded(path) in known:
            raise not_as_made(f"'{path}' is listed twice.", where)
        known.add(folded(path))
        found[path] = entry[1].lower()
    return found


def check_manifests(tags: Mapping[str, bytes], sums: Mapping[str, str]) -> None:
    """Every file is listed exactly once, every listed one is there, and each has the sum it should (3).

    `tags` are the tag files by name, `sums` the SHA-256 of every file in the bag. Raises InputError.
    """
    payload = {path for path in sums if path.startswith(DATA)}
    for name, belongs in ((TAG_MANIFEST, set(TAG_FILES)), (MANIFEST, payload)):
        listed = read_manifest(tags[name], name)
        if missing := sorted(belongs - set(listed)):
            raise not_as_made(f"'{missing[0]}' is in the packet but not listed.", name)
        if extra := sorted(set(listed) - belongs):
            raise not_as_made(f"'{extra[0]}' is listed but has no place there or is not in the packet.", name)
        if wrong := sorted(path for path in listed if listed[path] != sums[path]):
            raise damaged("the file is not the one that was sealed.", wrong[0])

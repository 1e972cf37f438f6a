"""Zips that are no packet, or worse: what is done to a right one, and the words that refuse it."""

from __future__ import annotations

import stat
import struct
from collections.abc import Callable, Iterator

from tests.files.packets.craft import (
    DEFLATED,
    REGULAR,
    TOP,
    Item,
    bag_of,
    deflated,
    items_of,
    packet_of,
    with_item,
    with_more,
    zipped,
)

Case = tuple[str, Callable[[], bytes], str]
"""Name of the case, what makes its bytes, words of the refusal."""

MIB = 2**20
PHOTO = "data/photos/" + "0" * 64 + ".jpg"
LINK_MODES = {
    "a link": stat.S_IFLNK,
    "a folder": stat.S_IFDIR,
    "a device or a pipe": stat.S_IFIFO,
    "a device or a pipe ": stat.S_IFCHR,
    "a device or a pipe  ": stat.S_IFBLK,
    "a device or a pipe   ": stat.S_IFSOCK,
}
NAMES = {
    "absolute": ("/etc/passwd", "starts at the top of the disk"),
    "two strokes": ("//server/share/x", "starts at the top of the disk"),
    "up": ("../evil.txt", "leads out of its folder"),
    "up from within": (f"{TOP}/../../../evil.txt", "leads out of its folder"),
    "up at the end": (f"{TOP}/data/..", "leads out of its folder"),
    "backslash": (f"{TOP}\\evil.txt", "holds a backslash"),
    "up by backslash": ("..\\..\\evil.txt", "holds a backslash"),
    "network share": ("\\\\server\\share\\evil.txt", "holds a backslash"),
    "windows namespace": ("\\\\?\\C:\\evil.txt", "holds a backslash"),
    "drive": ("C:evil.txt", "starts with a drive"),
    "drive and path": ("c:/windows/evil.txt", "starts with a drive"),
    "home": ("~/.bashrc", "starts in somebody's home folder"),
    "somebody's home": ("~root/.bashrc", "starts in somebody's home folder"),
    "line break": (f"{TOP}/evil\n.txt", "holds control signs"),
    "escape": (f"{TOP}/\x1b[2Jevil.txt", "holds control signs"),
    "written backwards": (f"{TOP}/evil\u202etxt.jpg", "holds control signs"),
    "zero byte": (f"{TOP}/bagit.txt\0.jpg", "holds a zero byte"),
    "not utf-8": (b"\xff\xfe\xfa.txt", "holds something else than small letters"),
    "capitals": (f"{TOP}/Evil.txt", "holds something else than small letters"),
    "accent": (f"{TOP}/caf\u00e9.txt", "holds something else than small letters"),
    "accent apart": (f"{TOP}/cafe\u0301.txt", "holds something else than small letters"),
    "wide letters": (f"{TOP}/\uff42agit.txt", "holds something else than small letters"),
    "stream": (f"{TOP}/bagit.txt:evil", "holds something else than small letters"),
    "hidden": (f"{TOP}/.htaccess", "holds something else than small letters"),
    "dot at the end": (f"{TOP}/bagit.txt.", "holds something else than small letters"),
    "blank at the end": (f"{TOP}/bagit.txt ", "holds something else than small letters"),
    "device": (f"{TOP}/nul", "is the name of a device"),
    "device with an ending": (f"{TOP}/com1.txt", "is the name of a device"),
    "here": (f"{TOP}/./bagit.txt", "is not a plain path"),
    "folder": (f"{TOP}/data/", "is not a plain path"),
    "two strokes within": (f"{TOP}//bagit.txt", "is not a plain path"),
    "empty": ("", "is empty"),
    "deep": (f"{TOP}/data/photos/more/x.jpg", "more than 4 names deep"),
    "very deep": ("a/" * 30_000 + "x", "more than 4 names deep"),
    "long": (f"{TOP}/{'x' * 200}", "longer than 100 letters"),
}


def quoted_overlap() -> bytes:
    """Many files share one tightly packed kernel, each header quoted by the stored block before it."""
    kernel = deflated(b"\0" * 200_000)
    names = [f"{TOP}/data/photos/{n:064x}.jpg" for n in range(40)]
    last = Item(names[-1], b"\0" * 200_000, DEFLATED)
    return zipped([last, *(Item(name, b"\0" * 200_000, DEFLATED, packed=kernel, offset=0, is_written=False)
                           for name in names[:-1])])  # fmt: skip


def header_within() -> bytes:
    """A second header lies inside the bytes of the first file."""
    inner = zipped([Item(f"{TOP}/bagit.txt", b"inner")])
    head_at = 30 + len(f"{TOP}/bag-info.txt")
    outer = Item(f"{TOP}/bag-info.txt", inner)
    return zipped([outer, Item(f"{TOP}/bagit.txt", b"inner", offset=head_at, is_written=False)])


def many(n: int) -> bytes:
    return zipped(Item(f"{TOP}/data/photos/{at:064x}.jpg", b"") for at in range(n))


def too_much_together() -> bytes:
    """Every file by itself is within its limit; all of them together are not."""
    body = b"\xff" * (130 * 1024)
    return with_more(
        *(
            Item(f"{TOP}/data/photos/{n:064x}.jpg", method=DEFLATED, packed=body, n_bytes=25 * MIB, crc=0)
            for n in range(25)
        )
    )


def moved(data: bytes, before: bytes) -> bytes:
    """`data` behind other bytes, every place in it told anew, so that it is a proper zip again."""
    items = items_of(bag_of())
    assert data
    return zipped(items, before=before)


def longer_name() -> bytes:
    """The last name of the list is told to go on beyond it."""
    told = bytearray(packet_of())
    at = told.rindex(b"PK\x01\x02") + 28
    told[at : at + 2] = b"\xff\xff"
    return bytes(told)


def ends() -> Iterator[Case]:
    """Where the file starts and stops, and what its end says."""
    whole = packet_of
    yield "empty file", lambda: b"", "this is no packet"
    yield "a letter", lambda: b"Dear Oda,\nhere are the shears.\n", "this is no packet"
    yield "one byte lost", lambda: whole()[:-1], "cut short"
    yield "end record lost", lambda: whole()[:-22], "cut short"
    yield "half lost", lambda: whole()[: len(whole()) // 2], "cut short"
    yield "head alone", lambda: whole()[:4], "cut short"
    yield "first byte lost", lambda: whole()[1:], "not where the zip says"
    yield "a byte behind", lambda: whole() + b"\0", "cut short, or something was put behind"
    yield "another zip behind", lambda: whole() + zipped([Item("x", b"y")]), "not where the zip says"
    yield "end record twice", lambda: whole() + whole()[-22:], "not where the zip says"
    yield "remark", lambda: zipped(items_of(bag_of()), n_remark=4, behind=b"evil"), "put behind"
    yield "remark told and absent", lambda: zipped(items_of(bag_of()), n_remark=4), "something was put behind the zip"
    yield "remark of an end record", lambda: whole()[:-2] + b"\x16\0" + whole()[-22:-2] + b"\0\0", "not where"
    yield "script before", lambda: moved(whole(), b"#!/bin/sh\n"), "bytes in the zip that belong to no file"
    yield "script before, untold", lambda: b"#!/bin/sh\n" + whole(), "not where the zip says"
    yield "bytes behind the list", lambda: zipped(items_of(bag_of()), behind_list=b"evil"), "not where"
    yield "longer list told", lambda: zipped(items_of(bag_of()), behind_list=b"evil", n_list=0), "not where"
    yield "list elsewhere", lambda: zipped(items_of(bag_of()), list_at=7), "not where the zip says"
    yield "fewer files told", lambda: zipped(items_of(bag_of()), n_entries=3, n_here=3), "holds more than"
    yield "more files told", lambda: zipped(items_of(bag_of()), n_entries=9, n_here=9), "is damaged"
    yield "name beyond the list", longer_name, "is damaged"
    yield "second disk", lambda: zipped(items_of(bag_of()), disk=1), "one part of several"
    yield "files on other disks", lambda: zipped(items_of(bag_of()), n_here=2), "one part of several"
    yield "large kind by count", lambda: zipped(items_of(bag_of()), n_entries=0xFFFF, n_here=0xFFFF), "zip64"
    yield "large kind by place", lambda: zipped(items_of(bag_of()), list_at=0xFFFFFFFF), "zip64"
    yield "no files", lambda: zipped([]), "the zip is empty"
    yield "1001 files", lambda: many(1001), "at most 1000 are taken"
    yield "65534 files", lambda: many(65_534), "at most 1000 are taken"
    yield "list beyond all measure", lambda: zipped([Item(f"{TOP}/{n:060000x}") for n in range(12)]), "not where"


def kinds() -> Iterator[Case]:
    """What an entry is: its name, its kind, how it is packed."""
    for name, (path, words) in NAMES.items():
        yield f"name: {name}", lambda path=path: with_more(Item(path, b"evil")), words
    for words, mode in LINK_MODES.items():
        mode_bits = (mode | 0o777) << 16
        yield f"kind: {mode:o}", lambda bits=mode_bits: with_item(0, attributes=bits), words.strip()
    yield "link out", lambda: with_more(Item(f"{TOP}/{PHOTO}", b"/etc/passwd", attributes=0o120777 << 16)), "a link"
    yield "dos folder", lambda: with_item(0, attributes=REGULAR | 0x10), "a folder"
    yield "dos label", lambda: with_item(0, attributes=0x08), "a folder"
    yield "password", lambda: with_item(0, flags=1), "locked with a password"
    yield "strong password", lambda: with_item(0, flags=1 << 6), "locked with a password"
    yield "masked list", lambda: with_item(0, flags=1 << 13), "locked with a password"
    yield "patch", lambda: with_item(0, flags=1 << 5), "does not unpack"
    for method in (1, 9, 12, 14, 93, 95, 98, 99):
        yield f"method {method}", lambda method=method: with_item(0, method=method), "does not unpack"
    yield "other name for itself", lambda: with_item(0, local_name=f"{TOP}/bagit.tx_"), "another name"
    yield "way out for itself", lambda: with_item(0, local_name="../" * 9 + "x" * (len(TOP) + 10 - 27)), "another name"
    yield "second name in an addition", lambda: with_item(0, extra=unicode_path("../evil")), "additions"
    yield "large sizes in an addition", lambda: with_item(0, extra=struct.pack("<2HQQ", 1, 16, 9, 9)), "additions"
    yield "addition of its own", lambda: with_item(0, local_extra=unicode_path("../evil")), "something else of itself"
    yield "remark on a file", lambda: with_item(0, remark=b"evil"), "carries a remark"
    yield "file on another disk", lambda: with_item(0, disk=3), "another disk"
    yield "method of its own", lambda: with_item(0, local_method=DEFLATED), "something else of itself"
    yield "flags of its own", lambda: with_item(0, local_flags=1), "something else of itself"
    yield "twice", lambda: with_more(Item(f"{TOP}/bagit.txt", b"evil")), "stands twice"
    yield "file and folder", lambda: with_more(Item(f"{TOP}/data", b"evil")), "a file and a folder"
    yield "two tops", lambda: with_more(Item("other/bagit.txt", b"evil")), "do not lie in one folder"
    yield "no top", lambda: zipped([Item(name, data) for name, data in bag_of().items()]), "one folder"


def unicode_path(name: str) -> bytes:
    """The addition by which some programs take another name than the one shown (APPNOTE 4.6.9)."""
    body = struct.pack("<BL", 1, 0) + name.encode()
    return struct.pack("<2H", 0x7075, len(body)) + body


def sizes() -> Iterator[Case]:
    """Lies about size and place, and bombs."""
    bomb = deflated(b"\0" * (3 * MIB))
    json_name = f"{TOP}/data/assessment.json"
    others = [item for item in items_of(bag_of()) if item.name != json_name]
    yield "gap", lambda: with_item(1, gap=b"evil"), "belong to no file"
    yield "gap behind the last", lambda: with_item(-1, gap=b"evil"), "belong to no file"
    yield "shared kernel", quoted_overlap, "share the same bytes"
    yield "header within a file", header_within, "share the same bytes"
    yield "one place for two", lambda: with_more(Item(f"{TOP}/{PHOTO}", offset=0, is_written=False)), "share the same"
    yield "place beyond the file", lambda: with_item(0, offset=10**6), "belong to no file"
    yield "place off by one", lambda: with_item(1, offset=1), "share the same bytes"
    yield "nothing there", lambda: zipped([Item(f"{TOP}/bagit.txt", is_written=False)]), "not where the list says"
    yield "stored, said smaller", lambda: with_item(0, n_bytes=1), "lies about its size"
    yield "stored, said larger", lambda: with_item(-1, n_packed=10**6, n_bytes=10**6), "lies about its size"
    yield "sizes of its own", lambda: with_item(0, local_sizes=(1, 2, 3)), "something else of itself"
    yield "sizes nowhere", lambda: with_item(0, local_sizes=(0, 0, 0)), "something else of itself"
    yield "false descriptor", lambda: with_item(0, flags=8, descriptor=b"PK\x07\x08" + b"\1" * 12), "something else"
    yield "no descriptor", lambda: with_item(-1, flags=8), "something else"
    yield "bomb told", lambda: zipped([*others, Item(json_name, b"\0" * (3 * MIB), DEFLATED)]), "unpack to very many"
    yield "bomb untold", lambda: zipped([*others, Item(json_name, b"{}", DEFLATED, packed=bomb)]), "lies about its size"
    yield "bomb half told", lambda: zipped([*others, Item(json_name, b"\0" * 250_000, DEFLATED, packed=bomb)]), "lies"
    yield "packed to nothing", lambda: with_item(4, method=DEFLATED, packed=b"", n_bytes=10**9), "unpack to very many"
    yield "4 GB told", lambda: with_item(4, method=DEFLATED, n_bytes=0xFFFFFFFE), "unpack to very many"
    yield "too much together", too_much_together, "more than 600 MB"
    yield (
        "json too large",
        lambda: zipped([*others, Item(json_name, b" " * (4 * MIB + 1))]),
        "at most 4194304 are taken",
    )
    yield (
        "picture too large",
        lambda: with_more(Item(f"{TOP}/{PHOTO}", b"\xff" * (25 * MIB + 1))),
        "at most 26214400 are taken",
    )
    yield "list too large", lambda: with_item(2, data=b"x" * 262_145), "at most 262144 are taken"
    yield "declaration too large", lambda: with_item(0, data=b"x" * 16_385), "at most 16384 are taken"
    yield "packed bytes cut short", lambda: with_item(0, method=DEFLATED, packed=deflated(b"x" * 99)[:-2]), "cut short"
    yield (
        "packed bytes go on",
        lambda: with_item(0, method=DEFLATED, packed=deflated(bag_of()["bagit.txt"]) + b"evil"),
        "too long",
    )
    yield "packed bytes are noise", lambda: with_item(0, method=DEFLATED, packed=b"\xff" * 40), "is damaged"
    yield "fewer bytes than told", lambda: with_item(0, method=DEFLATED, packed=deflated(b"x")), "is damaged"
    yield "wrong sum of the zip", lambda: with_item(0, crc=1), "is damaged"


ZIPS = (*ends(), *kinds(), *sizes())

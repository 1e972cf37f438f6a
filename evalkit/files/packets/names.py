"""Names of files in a packet: what they may be."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from evalkit.files.packets.limits import MAX_NAME, MAX_STEPS

_PLAIN = re.compile(r"[a-z0-9._-]+", re.ASCII)
_DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))})
"""Names that Windows keeps for devices, whatever their ending."""


def find_name_fault(name: str) -> str | None:
    """Why a path inside a packet is refused, as the end of a sentence; None where it is a plain one."""
    if not name:
        return "is empty"
    if "\0" in name:
        return "holds a zero byte"
    if any(unicodedata.category(sign) in {"Cc", "Cf", "Zl", "Zp"} for sign in name):
        return "holds control signs"
    return _way_out(name) or _plain_fault(name.split("/"))


def _way_out(name: str) -> str | None:
    """Whether the path leads out of the packet on any system."""
    if "\\" in name:
        return "holds a backslash"
    if name.startswith("/"):
        return "starts at the top of the disk"
    if re.match(r"[A-Za-z]:", name):
        return "starts with a drive"
    if name.startswith("~"):
        return "starts in somebody's home folder"
    return "leads out of its folder" if ".." in name.split("/") else None


def _plain_fault(steps: list[str]) -> str | None:
    if len(steps) > MAX_STEPS:
        return f"lies more than {MAX_STEPS} names deep"
    for step in steps:
        if step in {"", "."}:
            return "is not a plain path"
        if len(step) > MAX_NAME:
            return f"is longer than {MAX_NAME} letters"
        if not _PLAIN.fullmatch(step) or step.startswith(".") or step.endswith("."):
            return "holds something else than small letters a to z, digits, dots, hyphens and underscores"
        if step.split(".")[0] in _DEVICES:
            return "is the name of a device"
    return None


def folded(name: str) -> str:
    """One spelling for all names that some disk takes for the same: capitals and accents made alike."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def find_twice(names: Iterable[str]) -> str | None:
    """The first name that stands twice, or differs from an earlier one in capitals or accents only; None if none."""
    known = set[str]()
    for name in names:
        if (one := folded(name)) in known:
            return name
        known.add(one)
    return None


def find_file_as_folder(names: Iterable[str]) -> str | None:
    """The first name that is a file and a folder at once; None when all fit together."""
    there = frozenset(names)
    for name in sorted(there):
        steps = name.split("/")
        for n in range(1, len(steps)):
            if "/".join(steps[:n]) in there:
                return "/".join(steps[:n])
    return None

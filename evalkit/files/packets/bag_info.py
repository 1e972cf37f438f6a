"""What `bag-info.txt` tells of a packet: its round, the day it was made, the bytes and files of its payload."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pydantic import TypeAdapter, ValidationError

from evalkit import __version__
from evalkit.domain.value import Key
from evalkit.files.packets.bag import tag_text
from evalkit.files.packets.layout import BAG_INFO, DATA
from evalkit.files.packets.refusing import damaged, not_as_made

_OXUM = re.compile(r"([0-9]{1,15})\.([0-9]{1,6})", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_ELEMENT = re.compile(r"([^\s:](?:[^:]*[^\s:])?):[ \t](.*)")
_ROUND_KEY = TypeAdapter[str](Key)


@dataclass(frozen=True, slots=True)
class BagInfo:
    """The round's key, the day, and the payload's bytes and files."""

    round_key: str
    made_on: date
    n_bytes: int
    n_files: int


def write_bag_info(info: BagInfo) -> bytes:
    """The file as evalkit writes it. Raises InputError where the round's key is none."""
    _key(info.round_key)
    return (
        f"Bag-Software-Agent: evalkit {__version__}\n"
        f"Bagging-Date: {info.made_on.isoformat()}\n"
        f"External-Identifier: {info.round_key}\n"
        f"Payload-Oxum: {info.n_bytes}.{info.n_files}\n"
    ).encode()


def read_bag_info(data: bytes) -> BagInfo:
    """The file read (RFC 8493, 2.2.2). Raises InputError where something needed is missing, doubled or impossible."""
    elements = _elements(tag_text(data, BAG_INFO))
    oxum = _OXUM.fullmatch(_one(elements, "Payload-Oxum"))
    if oxum is None:
        raise not_as_made("Payload-Oxum is not bytes, a dot and files.", BAG_INFO)
    made_on = _day(_one(elements, "Bagging-Date"))
    return BagInfo(_key(_one(elements, "External-Identifier")), made_on, int(oxum[1]), int(oxum[2]))


def check_oxum(info: BagInfo, sizes: Mapping[str, int]) -> None:
    """`sizes` are bytes by path of every file. Raises InputError when payload and Payload-Oxum differ (2.2.2)."""
    payload = [n_bytes for path, n_bytes in sizes.items() if path.startswith(DATA)]
    if (sum(payload), len(payload)) != (info.n_bytes, info.n_files):
        told = f"Payload-Oxum tells of {info.n_bytes} bytes in {info.n_files} files"
        raise damaged(f"{told}; there are {sum(payload)} in {len(payload)}.", BAG_INFO)


def _elements(text: str) -> dict[str, list[str]]:
    """Values by label in small letters; a line that opens with a space carries on the one before it."""
    found: dict[str, list[str]] = {}
    last: list[str] = []
    for number, line in enumerate(text.removesuffix("\n").split("\n"), start=1):
        element = _ELEMENT.fullmatch(line)
        if line[:1] in {" ", "\t"} and last:
            last[-1] = f"{last[-1]} {line.strip()}"
        elif element:
            last = found.setdefault(element[1].lower(), [])
            last.append(element[2].strip())
        else:
            raise not_as_made("the line is not a label, a colon, a space and a value.", f"{BAG_INFO}:{number}")
    return found


def _one(elements: Mapping[str, list[str]], label: str) -> str:
    values = elements.get(label.lower(), [])
    if len(values) != 1:
        raise not_as_made(f"{label} {'stands twice' if values else 'is missing'}.", BAG_INFO)
    return values[0]


def _day(text: str) -> date:
    try:
        if _DAY.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise not_as_made("Bagging-Date is not a day like 2026-11-25.", BAG_INFO)


def _key(text: str) -> str:
    try:
        return _ROUND_KEY.validate_python(text)
    except ValidationError:
        raise not_as_made("External-Identifier is not the key of a round.", BAG_INFO) from None

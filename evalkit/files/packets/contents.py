"""The files of an unpacked packet, each looked at for what it claims to be: documents, pages, pictures."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from evalkit.errors import EvalkitError
from evalkit.files.packets.agreeing import check_together
from evalkit.files.packets.documents import Document, read_document
from evalkit.files.packets.layout import DATA, find_photo_name
from evalkit.files.packets.refusing import not_as_made
from evalkit.files.photos import SUFFIXES, check_photo

_PAGE = re.compile(rb"\s*<!doctype html\b", re.IGNORECASE)


def check_contents(sums: Mapping[str, str], read: Callable[[str], bytes], round_key: str) -> None:
    """Every file of the payload, one in memory at a time. `sums` are SHA-256 by name below `data/`.

    Raises InputError at the first that is not what it claims.
    """
    names = sorted(sums)
    documents: dict[str, Document] = {}
    for name in names:
        kind, _, ending = name.rpartition(".")
        if ending == "json":
            documents[kind] = read_document(read(name), kind, DATA + name)
        elif ending == "html":
            _check_page(read(name), DATA + name)
    check_together(documents, names, round_key)
    for name in names:
        if photo := find_photo_name(name):
            if photo[0] != sums[name]:
                raise not_as_made("the picture is not the one its name says.", DATA + name)
            _check_photo(read(name), photo[1], DATA + name)


def _check_page(data: bytes, where: str) -> None:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        raise not_as_made("the page is not written in UTF-8.", where) from None
    if b"\0" in data or not _PAGE.match(data):
        raise not_as_made("the file is no web page.", where)


def _check_photo(data: bytes, ending: str, where: str) -> None:
    try:
        checked = check_photo(data)
    except EvalkitError as error:
        raise type(error)(error.what, mend=error.mend, where=where) from error
    if SUFFIXES[checked.kind] != f".{ending}":
        raise not_as_made("the picture is of another kind than its name says.", where)

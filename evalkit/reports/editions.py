"""Whether a file may give way to a new report: only an earlier edition of the same one may, unless it is asked for.

A filled-in sheet, a bench book or somebody's own text can lie under the name of a report.
"""

from __future__ import annotations

import json
import re
import zlib
from collections.abc import Iterable
from pathlib import Path

from evalkit.errors import AlreadyError

_TITLE = re.compile(rb"<title>([^<]*)</title>")
_XMP_TITLE = re.compile(rb"<dc:title>.*?<rdf:li[^>]*>([^<]*)<", re.DOTALL)
_PDF_STREAM = re.compile(rb"stream\r?\n(.*?)endstream", re.DOTALL)
MOST_BYTES = 50_000_000
"""No report is larger; what is, is no edition of one."""


def check_may_give_way(path: Path, new: bytes, *, is_over: bool) -> bool:
    """Does `new` take the place of something else? Raises AlreadyError where that is no earlier edition of `new`.

    The same content is no replacement. With `is_over` anything gives way. Raises OSError.
    """
    if not path.is_file():
        return False
    old = path.read_bytes() if path.stat().st_size <= MOST_BYTES else b""
    if old == new:
        return False
    if not is_over and not is_edition(old, new):
        raise AlreadyError(
            "there is a file of that name that is not an earlier edition of this report.",
            mend="Name another folder with --out, or write over it with --over.",
            where=str(path),
        )
    return True


def is_edition(old: bytes, new: bytes) -> bool:
    """Do both say that they are the same report, of whatever day?"""
    if new.startswith(b"{"):
        return _is_json_edition(old, new)
    name = _name(new)
    return name is not None and name == _name(old)


def _name(data: bytes) -> bytes | None:
    """The title of a page or a PDF, the first line of a Markdown text; without a day after a comma."""
    if data.startswith(b"%PDF-"):
        found = _first(_XMP_TITLE, _inflated(data))
        kind = b"pdf"
    elif data.startswith(b"<!DOCTYPE html>"):
        found = _first(_TITLE, [data])
        kind = b"html"
    else:
        found = data.partition(b"\n")[0] if data.startswith(b"# ") else None
        kind = b"md"
    return None if found is None else kind + b" " + found.partition(b",")[0].strip()


def _first(pattern: re.Pattern[bytes], texts: Iterable[bytes]) -> bytes | None:
    return next((found[1] for text in texts if (found := pattern.search(text))), None)


def _inflated(data: bytes) -> Iterable[bytes]:
    """Each part of a PDF, unpacked where it is packed."""
    for found in _PDF_STREAM.finditer(data):
        try:
            yield zlib.decompressobj().decompress(found[1], 1_000_000)
        except zlib.error:
            yield found[1]


def _is_json_edition(old: bytes, new: bytes) -> bool:
    """The same round or trainee, and no field that the new one does not know: later formats only add."""
    try:
        before, after = json.loads(old), json.loads(new)
    except ValueError:
        return False
    if not isinstance(before, dict) or not set(before) <= set(after):
        return False
    return "format" in before and all(before.get(name) == after.get(name) for name in ("round", "round_key", "trainee"))

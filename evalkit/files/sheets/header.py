"""The head of a sheet, between two rules of three hyphens: what it is, and for which round and rubric it was made."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from evalkit.domain.round import Round
from evalkit.files.sheets.file import Faults
from evalkit.files.sheets.page import Page, page_of
from evalkit.files.sheets.text import hint, quoted

SHEET_FORMAT = 1
"""Number of the sheet format. 1: first."""

SHORT_DIGEST = 12
"""So many signs of the rubric's digest stand in the head."""

_KEY = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?")
_FIELDS = ("evalkit", "sheet", "round", "trainee", "rubric", "rubric-version", "rubric-digest")
_COPY = "Copy the head, from --- to ---, back from the sheet that was sent."


class SheetKind(StrEnum):
    """Whose sheet it is."""

    ASSESSMENT = "assessment"
    MARKING = "marking"
    INTAKE = "intake"


@dataclass(frozen=True, slots=True)
class SheetHeader:
    """What the head says. `mentor_key` is None on a trainee's sheet; `lines` gives the line of each field."""

    kind: SheetKind
    round_key: str
    trainee_key: str
    mentor_key: str | None
    rubric_key: str
    rubric_version: int
    rubric_digest: str
    lines: Mapping[str, int]


def header_lines(kind: SheetKind, round_: Round, mentor_key: str | None = None) -> list[str]:
    """The head of a new sheet."""
    return [
        "---",
        f"evalkit: {SHEET_FORMAT}",
        f"sheet: {kind}",
        f"round: {round_.key}",
        f"trainee: {round_.trainee.key}",
        *([f"mentor: {mentor_key}"] if mentor_key else []),
        f"rubric: {round_.rubric_key}",
        f"rubric-version: {round_.rubric_version}",
        f"rubric-digest: {round_.rubric_digest[:SHORT_DIGEST]}",
        "---",
    ]


def sheet_header(text: str, path: str) -> SheetHeader:
    """The head of a sheet, without knowing its round. Raises FileFaultsError with every fault of the head."""
    faults = Faults(path)
    header = read_header(page_of(_head_of(text), path), faults)
    faults.raise_any()
    if header is None:
        raise TypeError("a head without a fault is a head")
    return header


def _head_of(text: str) -> str:
    """The first lines of a text, up to the second rule, so that the rest need not be parsed to know what it is."""
    lines = re.split(r"\r\n|\r|\n", text[:20_000].removeprefix("\ufeff"), maxsplit=40)
    rules = [at for at, line in enumerate(lines[:40]) if line.rstrip() == "---"]
    return "\n".join(lines[: rules[1] + 1]) + "\n" if len(rules) > 1 else "\n".join(lines[:40])


def read_header(page: Page, faults: Faults) -> SheetHeader | None:
    """What the head says; None, with faults added, when it cannot be read."""
    if page.front is None:
        faults.add(1, "the sheet does not begin with its head (--- and the lines down to the next ---).", _COPY)
        return None
    values, lines = _fields(page, faults)
    kind = _kind(values, lines, faults)
    wanted = [*_FIELDS, *(["mentor"] if kind in (SheetKind.MARKING, SheetKind.INTAKE) else [])]
    for name in wanted:
        if name not in values:
            faults.add(1, f"the head has no line '{name}:'.", _COPY)
    if values.get("evalkit", str(SHEET_FORMAT)) != str(SHEET_FORMAT):
        faults.add(
            lines["evalkit"],
            f"this sheet has format {quoted(values['evalkit'])}; this evalkit reads format {SHEET_FORMAT}.",
            "Use the evalkit that made it, or a newer one.",
        )
    for name in ("round", "trainee", "mentor", "rubric"):
        if name in values and not _KEY.fullmatch(values[name]):
            faults.add(lines[name], f"{quoted(values[name])} is no key of a {name}.", _COPY)
    if not re.fullmatch(r"[1-9][0-9]{0,5}", values.get("rubric-version", "1")):
        faults.add(lines["rubric-version"], f"{quoted(values['rubric-version'])} is no version.", _COPY)
    if faults.found or kind is None:
        return None
    return SheetHeader(
        kind=kind,
        round_key=values["round"],
        trainee_key=values["trainee"],
        mentor_key=values.get("mentor"),
        rubric_key=values["rubric"],
        rubric_version=int(values["rubric-version"]),
        rubric_digest=values["rubric-digest"],
        lines=lines,
    )


def _fields(page: Page, faults: Faults) -> tuple[dict[str, str], dict[str, int]]:
    values: dict[str, str] = {}
    lines: dict[str, int] = {}
    for at in page.front or ():
        name, colon, value = (part.strip() for part in page.lines[at].partition(":"))
        if not (name or colon):
            continue
        name = name.casefold()
        if not colon or name not in (*_FIELDS, "mentor"):
            near = hint(name, (*_FIELDS, "mentor"))
            faults.add(at + 1, f"{quoted(page.lines[at])} does not belong into the head.", f"{near}Take the line out.")
        elif name in values:
            faults.add(at + 1, f"'{name}' stands twice in the head.", "Leave one.")
        else:
            values[name], lines[name] = value.strip("\"'"), at + 1
    return values, lines


def _kind(values: Mapping[str, str], lines: Mapping[str, int], faults: Faults) -> SheetKind | None:
    said = values.get("sheet", "").casefold()
    if said in list(SheetKind):
        return SheetKind(said)
    if "sheet" in values:
        faults.add(lines["sheet"], f"{quoted(said)} is no kind of sheet.", "It is 'assessment', 'marking' or 'intake'.")
    return None


def check_header(header: SheetHeader, kind: SheetKind, round_: Round, faults: Faults) -> bool:
    """Adds a fault for all that does not fit the round. False when the rest of the sheet cannot be judged by it."""
    lines = header.lines
    if header.kind is not kind:
        faults.add(
            lines["sheet"], f"this is a sheet for the {header.kind}, not for the {kind}.", "Take in the other one."
        )
        return False
    if header.round_key != round_.key:
        faults.add(
            lines["round"],
            f"this sheet belongs to round '{header.round_key}', not to '{round_.key}'.",
            "Take it in for its own round.",
        )
        return False
    if header.trainee_key != round_.trainee.key:
        faults.add(
            lines["trainee"],
            f"this sheet is {quoted(header.trainee_key)}'s; round '{round_.key}' went to '{round_.trainee.key}'.",
            "Check that it is the right sheet, then mend the key.",
        )
    digest = header.rubric_digest.casefold()
    if len(digest) < SHORT_DIGEST or not round_.rubric_digest.startswith(digest):
        faults.add(
            lines["rubric-digest"],
            f"the rubric has changed since: this sheet was made for {quoted(header.rubric_key)} {quoted(digest)}, "
            f"round '{round_.key}' is judged by '{round_.rubric_key}' '{round_.rubric_digest[:SHORT_DIGEST]}'.",
            "Write the round's sheet again and carry the readings over.",
        )
        return False
    for name, is_value, should in (
        ("rubric", header.rubric_key, round_.rubric_key),
        ("rubric-version", str(header.rubric_version), str(round_.rubric_version)),
    ):
        if is_value != should:
            faults.add(lines[name], f"'{name}' is {quoted(is_value)}, the round says '{should}'.", _COPY)
    return True

"""The known faults of a pair as cells of the stock's CSV: what and where in one column, remarks in another."""

from __future__ import annotations

import re
from collections.abc import Sequence

from evalkit.domain.pair import KnownFault
from evalkit.errors import InputError
from evalkit.files.plain_words import shown_words

REMARKS = "fault_remarks"
"""The column of the remarks: one for each fault in their order, parted by |; in a remark \\| is a stroke."""
_PART = re.compile(r"(?:\\[\\|]|[^|])*")
_ESCAPED = re.compile(r"\\([\\|])")


def fault_from_text(text: str) -> dict[str, object]:
    """A known fault from TAG or TAG:SEVERITY:BLADE:STATION; later parts may be left out."""
    names = ("tag", "severity", "blade", "station")
    parts = [part.strip() for part in text.split(":")]
    if len(parts) > len(names):
        raise InputError(
            f"'{text}' has too many parts.", mend="Write TAG:SEVERITY:BLADE:STATION, like nick:2:finger:tip."
        )
    return {name: part for name, part in zip(names, parts, strict=False) if part}


def fault_to_text(fault: KnownFault) -> str:
    """As `fault_from_text` reads it, as short as can be; a remark has its own column."""
    parts = [fault.tag, str(fault.severity), fault.blade or "", fault.station or ""]
    return ":".join(parts).rstrip(":")


def faults_to_cell(faults: Sequence[KnownFault]) -> str:
    """All of them as `faults_from_cells` reads them."""
    return "; ".join(fault_to_text(fault) for fault in faults)


def remarks_to_cell(faults: Sequence[KnownFault]) -> str:
    """The remarks in the order of the faults; '' where there is none. Blanks around a remark are not kept."""
    notes = [re.sub(r"([\\|])", r"\\\1", fault.note.strip()) for fault in faults]
    while notes and not notes[-1]:
        notes.pop()
    return " | ".join(notes).strip()


def faults_from_cells(faults: str, remarks: str) -> list[dict[str, object]]:
    """Fields of the faults, each with its remark.

    Raises InputError where a comma parts the faults, or a remark has no fault to stand by.
    """
    if "," in faults:
        raise InputError(
            f"faults: {shown_words(faults)} holds a comma; several faults in one cell are parted by ';'.",
            mend="Write them like nick:2; rust, in quotes where the file itself is parted by ';'.",
        )
    fields = [fault_from_text(text) for text in faults.split(";") if text.strip()]
    notes = _notes(remarks) if remarks.strip() else []
    if len(notes) > len(fields):
        raise InputError(
            f"{REMARKS} has more remarks ({len(notes)}) than there are faults ({len(fields)}).",
            mend=r"Give one for each fault, in their order, parted by |; a | in a remark is written \|.",
        )
    for one, note in zip(fields, notes, strict=False):
        if note:
            one["note"] = note
    return fields


def _notes(text: str) -> list[str]:
    notes, at = [], 0
    while True:
        found = _PART.match(text, at)
        end = found.end() if found else len(text)
        notes.append(_ESCAPED.sub(r"\1", text[at:end].strip()))
        if end >= len(text):
            return notes
        at = end + 1

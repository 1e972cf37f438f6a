"""A fault in what a rubric says: where it stands, what it is, how to mend it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from pydantic import ValidationInfo

FIELDS_ONLY = "fields only"
"""Validation context that checks each field alone, so that whoever reads a file can ask `criterion_faults` and
`rubric_faults` for all the rest at once instead of being stopped by the first. Never keep a value made so."""


class RubricFault(NamedTuple):
    """One fault of content: where it stands (keys and indexes, from the value that was asked), what, how to mend it."""

    at: tuple[str | int, ...]
    what: str
    mend: str

    def under(self, *above: str | int) -> RubricFault:
        """The same fault, seen from further up."""
        return self._replace(at=(*above, *self.at))


def refuse(faults: Iterator[RubricFault], info: ValidationInfo) -> None:
    """Raise ValueError with every fault, for pydantic to tell; nothing where fields alone are checked."""
    if info.context != FIELDS_ONLY and (found := [fault.what for fault in faults]):
        raise ValueError("; ".join(found))

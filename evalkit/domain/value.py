"""What every noun here is: a frozen value, checked when made; a change returns a new value."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, StringConstraints

MAX_NOTE = 2_000
MAX_PROSE = 20_000

Key = Annotated[str, StringConstraints(pattern=r"^[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?$")]
"""A short stable name: small letters, digits and single words joined by hyphens, at most 40 characters."""

Line = Annotated[str, StringConstraints(max_length=200, pattern=r"^[^\x00-\x1f\x7f]*$", strip_whitespace=True)]
"""One line of plain text, without control characters."""

_TEXT = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*$"

Note = Annotated[str, StringConstraints(max_length=MAX_NOTE, pattern=_TEXT)]
"""A short remark."""

Prose = Annotated[str, StringConstraints(max_length=MAX_PROSE, pattern=_TEXT)]
"""Free text in CommonMark; raw HTML is shown as text, never as HTML."""


class Value(BaseModel):
    """Base of all nouns: frozen, no unknown fields, no NaN or infinity."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True, use_attribute_docstrings=True
    )

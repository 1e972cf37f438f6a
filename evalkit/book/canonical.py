"""One spelling for each value, so that its SHA-256 says whether it is still the same."""

from __future__ import annotations

import hashlib
import json

from pydantic import BaseModel

Plain = dict[str, object]
"""A value as JSON objects, lists, texts, numbers."""


def plain(value: BaseModel) -> Plain:
    """A value without what stands at its default: a field that a later program adds changes no seal of today.

    So the `kind` of a thing seen is left out too; its other fields tell it (`level`, `number`, `medium` or `why`).
    """
    return value.model_dump(mode="json", exclude_defaults=True)


def canonical(value: object) -> str:
    """The one JSON text of plain data: keys sorted, no spaces, letters as they are, -0.0 written as 0.0."""
    text = _written(value)
    return _written(_without_minus_zero(value)) if "-0.0" in text else text


def digest_of(value: object) -> str:
    """SHA-256 of the canonical JSON, 64 hex digits."""
    return text_digest(canonical(value))


def text_digest(text: str) -> str:
    """SHA-256 of a text in UTF-8, 64 hex digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def _written(value: object) -> str:
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def _without_minus_zero(value: object) -> object:
    """-0.0 and 0.0 are one number, and SQLite keeps only one of them."""
    match value:
        case dict():
            return {key: _without_minus_zero(one) for key, one in value.items()}
        case list():
            return [_without_minus_zero(one) for one in value]
        case float():
            return value + 0.0
        case _:
            return value

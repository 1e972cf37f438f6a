"""How many of something, in words."""

from __future__ import annotations


def amount_words(n: int, one: str, many: str | None = None) -> str:
    """'1 pair', '12 pairs'."""
    return f"{n} {one if n == 1 else many or one + 's'}"

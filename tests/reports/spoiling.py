"""Puts words of one's choice into every field of a value that takes free text, wherever it lies."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import cycle
from typing import Any, TypeVar

from pydantic import StringConstraints

from evalkit.domain.value import Value

Spoiled = TypeVar("Spoiled", bound=Value)
Words = Callable[[str, int], str]
"""From the name of a field and the length it takes to the words that shall stand there."""


def in_turn(notes: Sequence[str]) -> Words:
    """Each field gets the next of the notes and its fellows behind it, as far as it takes them."""
    following = cycle(range(len(notes)))

    def words(_name: str, most: int) -> str:
        at = next(following)
        return " ".join([*notes[at:], *notes[:at]])[:most]

    return words


def spoil(value: Spoiled, words: Words) -> Spoiled:
    """`value` with `words` in each field of free text; keys, tags and other closed forms stay as they are."""
    fields = {
        name: _spoiled(name, getattr(value, name), info, words) for name, info in type(value).model_fields.items()
    }
    return value.model_copy(update=fields)


def _spoiled(name: str, held: Any, info: Any, words: Words) -> Any:
    most = _length_of(info)
    if isinstance(held, str) and type(held) is str and most:
        return words(name, most)
    return _inside(name, held, words, _length_inside(info))


def _inside(name: str, held: Any, words: Words, most: int) -> Any:
    if isinstance(held, Value):
        return spoil(held, words)
    if isinstance(held, tuple):
        return tuple(words(name, most) if type(one) is str and most else _inside(name, one, words, 0) for one in held)
    if isinstance(held, dict):
        return {key: _inside(name, one, words, 0) for key, one in held.items()}
    return held


def _length_of(info: Any) -> int:
    """The longest text a field takes; 0 where it takes a closed form."""
    lengths = [
        getattr(rule, "max_length", None)
        for rule in info.metadata
        if isinstance(rule, StringConstraints) or hasattr(rule, "max_length")
    ]
    return max((one for one in lengths if one), default=0) if info.annotation is str else 0


def _length_inside(info: Any) -> int:
    """The longest text that a tuple's members take."""
    for part in getattr(info.annotation, "__args__", ()):
        for rule in getattr(part, "__metadata__", ()):
            if isinstance(rule, StringConstraints) and rule.max_length:
                return rule.max_length
    return 0

"""Names that the book does not know, answered with those it does."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from evalkit.book.kept import VersionLine
from evalkit.errors import NotFoundError

N_NAMED = 6


def unknown(noun: str, key: str, known: Iterable[str]) -> NotFoundError:
    """The error for `key`, with the nearest known name, or the first few."""
    names = sorted(known)
    close = get_close_matches(key, names, n=2)
    if close:
        mend = f"Did you mean {' or '.join(map(repr, close))}?"
    elif names:
        more = f" and {len(names) - N_NAMED} more" if len(names) > N_NAMED else ""
        mend = f"The book knows {', '.join(names[:N_NAMED])}{more}."
    else:
        mend = f"The book holds no {noun} yet."
    return NotFoundError(f"there is no {noun} '{key}'.", mend=mend)


def no_version(what: str, version: int | None, known: Sequence[VersionLine]) -> NotFoundError:
    """The error for a document that is not there, or not in that version."""
    if not known:
        return NotFoundError(f"there is no {what} yet.", mend="Take it in first.")
    versions = ", ".join(str(line.version) for line in known)
    return NotFoundError(f"there is no version {version} of the {what}.", mend=f"There is: {versions}.")

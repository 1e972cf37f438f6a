"""How a packet is refused: what is wrong, in which file of it, and which of the two remedies helps."""

from __future__ import annotations

from evalkit.errors import InputError


def not_as_made(what: str, where: str | None = None) -> InputError:
    """No copying mends it: it was made or changed by something else than evalkit or the bench book."""
    return _refusal(what, where, "Ask for the packet again, as evalkit or the bench book made it.")


def damaged(what: str, where: str | None = None) -> InputError:
    """Something that copying and mailing do to files."""
    return _refusal(what, where, "Copy or send it again; if it stays so, ask for the packet anew.")


def shown(words: str, n_most: int = 80) -> str:
    """Words from outside as one short line of printable letters."""
    text = "".join(_shown_sign(sign) for sign in words[: n_most + 1])
    return text if len(text) <= n_most else text[: n_most - 3] + "..."


def _shown_sign(sign: str) -> str:
    return sign if sign.isascii() and sign.isprintable() else f"\\x{ord(sign):02x}"


def _refusal(what: str, where: str | None, mend: str) -> InputError:
    return InputError(what, mend=mend, where=shown(where, 160) if where else None)

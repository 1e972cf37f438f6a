"""The one-time code that lets a tablet in: short, used once, and not to be guessed by trying."""

from __future__ import annotations

import hmac
import secrets
import threading
from collections.abc import Callable
from datetime import datetime, timedelta

from evalkit.errors import InputError

DIGITS = 6
TRIES_PER_CODE = 5
"""After so many wrong tries the code is worth nothing and another one is shown in the terminal."""

WRONG_PER_SPELL = 10
SPELL = timedelta(minutes=10)
"""At most so many wrong tries within one spell, from wherever: a guess then succeeds once in a hundred thousand."""


class TooManyTriesError(InputError):
    """Nobody is let in for a while."""


class Door:
    """Holds the code of the moment. `on_new_code` shows it to whoever sits at the terminal."""

    def __init__(self, clock: Callable[[], datetime], on_new_code: Callable[[str], None] = lambda _code: None) -> None:
        self._clock = clock
        self._on_new_code = on_new_code
        self._wrong: list[datetime] = []
        self._n_tries = 0
        self._lock = threading.Lock()
        self.code = _new_code()

    def has_let_in(self, given: str) -> bool:
        """True for the right code, which then is worth nothing any more. Raises TooManyTriesError."""
        with self._lock:
            now = self._clock()
            self._wrong = [moment for moment in self._wrong if now - moment < SPELL]
            if len(self._wrong) >= WRONG_PER_SPELL:
                raise TooManyTriesError(
                    "too many wrong codes.", mend=f"Wait {SPELL.seconds // 60} minutes, or start evalkit serve again."
                )
            is_right = hmac.compare_digest(_digits(given).encode(), self.code.encode())
            self._n_tries += 1
            if not is_right:
                self._wrong.append(now)
            if is_right or self._n_tries >= TRIES_PER_CODE:
                self._renew()
            return is_right

    def _renew(self) -> None:
        self.code, self._n_tries = _new_code(), 0
        self._on_new_code(self.code)


def _new_code() -> str:
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"


def _digits(given: str) -> str:
    return "".join(sign for sign in given[:40] if sign in "0123456789")

"""Who a browser is: a signed cookie, and the token that every form carries."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass, replace

from itsdangerous import BadData, URLSafeTimedSerializer

LASTS_S = 14 * 60 * 60
"""A long day at the bench; then the code is asked for again."""


@dataclass(frozen=True, slots=True)
class Session:
    """One browser: a name nobody can guess, who acts, and whether it came in by the code."""

    name: str
    who: str = ""
    has_come_in: bool = False


class Sessions:
    """Writes and reads the cookie of one run of the program. The secret is made anew at each start."""

    def __init__(self, secret: str | None = None) -> None:
        self._secret = secret or secrets.token_urlsafe(32)
        self._signer = URLSafeTimedSerializer(self._secret, salt="evalkit session")

    def new(self) -> Session:
        return Session(secrets.token_urlsafe(24))

    def come_in(self, session: Session) -> Session:
        """The session of one who gave the code; under another name, so that no name from before is worth anything."""
        return replace(self.new(), who=session.who, has_come_in=True)

    def read(self, cookie: str | None) -> Session | None:
        """The session of a cookie; None when it is missing, was touched, or is too old."""
        if not cookie:
            return None
        try:
            name, who, has_come_in = self._signer.loads(cookie, max_age=LASTS_S)
            return Session(str(name), str(who), bool(has_come_in))
        except (BadData, TypeError, ValueError):
            return None

    def write(self, session: Session) -> str:
        """The text of the cookie."""
        return self._signer.dumps([session.name, session.who, session.has_come_in])

    def token_of(self, session: Session) -> str:
        """What a form of this browser carries, and no other site can know."""
        return hmac.new(self._secret.encode(), session.name.encode(), hashlib.sha256).hexdigest()

    def is_token_of(self, session: Session, token: str) -> bool:
        return hmac.compare_digest(self.token_of(session).encode(), token.encode(errors="replace"))

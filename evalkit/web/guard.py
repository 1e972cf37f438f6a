"""What stands before every page: no foreign host or site, no endless body, and strict headers on the way out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from evalkit.web.sessions import Session, Sessions

CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": CSP,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), payment=(), usb=()",
    "cache-control": "no-store",
}
"""On every answer; a page may set its own instead."""

MAX_FORM_BYTES = 2_000_000
MAX_UPLOAD_BYTES = 110_000_000
"""Four pictures of the largest size that is taken, and their form."""

SAFE = ("GET", "HEAD")
METHODS = (*SAFE, "POST")
OPEN_TO_ALL = ("/door", "/static/", "/look/")
"""Where somebody who has not given the code may go."""


@dataclass(frozen=True)
class Frame:
    """How the pages are served: under which names, by which cookie, and whether a code is asked for."""

    hosts: frozenset[str]
    cookie: str = "evalkit"
    asks_code: bool = False
    uploads: tuple[str, ...] = field(default=("/photos", "/check-in"))


class Guard:
    """Lets a request through to the pages, or answers it itself."""

    def __init__(
        self, app: ASGIApp, frame: Frame, sessions: Sessions, on_failure: Callable[[Request], Response]
    ) -> None:
        self.app = app
        self.on_failure = on_failure
        self.frame = frame
        self.sessions = sessions

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request. The session stands in `scope['session']` for whoever comes after."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        session = self.sessions.read(_cookie(headers, self.frame.cookie))
        is_new = session is None
        scope["session"] = session = session or self.sessions.new()
        outward = _Outward(send, self._cookie_of(session) if is_new else None)
        refusal = self._refusal(scope, headers, session)
        if refusal is not None:
            await refusal(scope, receive, outward)
            return
        limit = MAX_UPLOAD_BYTES if scope["path"].endswith(self.frame.uploads) else MAX_FORM_BYTES
        try:
            await self.app(scope, _Inward(receive, limit), outward)
        except Exception:
            if not outward.has_begun:
                await self.on_failure(Request(scope))(scope, receive, outward)
            raise  # the answer is given; the terminal is to say what happened

    def _refusal(self, scope: Scope, headers: Headers, session: Session) -> Response | None:
        method, path = scope["method"], scope["path"]
        if headers.get("host", "").lower() not in self.frame.hosts:
            return _said(421, "These pages answer only to the address that evalkit serve showed.")
        if method not in METHODS:
            return _said(405, "This is not done here.")
        if _is_foreign(headers):
            return _said(403, "Another site asked for this page, so it stays closed. Open the address yourself.")
        if _length(headers) > (MAX_UPLOAD_BYTES if path.endswith(self.frame.uploads) else MAX_FORM_BYTES):
            return _said(413, "That is too much at once. Send fewer or smaller pictures.")
        if self.frame.asks_code and not session.has_come_in and not path.startswith(OPEN_TO_ALL):
            if method in SAFE and "application/json" not in headers.get("accept", ""):
                return RedirectResponse("/door", status_code=303)
            return _said(401, "Give the code that evalkit serve shows, then try again.")
        return None

    def _cookie_of(self, session: Session) -> str:
        return cookie_text(self.frame.cookie, self.sessions.write(session))


def cookie_text(name: str, value: str) -> str:
    """For the header Set-Cookie. Without Secure: the pages speak plain HTTP, and say so."""
    return f"{name}={value}; Path=/; HttpOnly; SameSite=Strict"


def _is_foreign(headers: Headers) -> bool:
    """A browser says where a request comes from; what comes from another site is not answered, not even read.

    Our own forms say 'null', because their page is told to name itself to nobody; their token vouches for them.
    """
    site = headers.get("sec-fetch-site", "none")
    if site not in ("same-origin", "none"):
        return True
    origin = headers.get("origin", "null")
    if origin == "null":
        return False
    return origin.lower() != f"http://{headers.get('host', '').lower()}"


def _length(headers: Headers) -> int:
    text = headers.get("content-length", "0")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 16 else MAX_UPLOAD_BYTES + 1


def _cookie(headers: Headers, name: str) -> str | None:
    jar: SimpleCookie = SimpleCookie()
    try:
        jar.load(headers.get("cookie", ""))
    except CookieError:
        return None
    return jar[name].value if name in jar else None


def _said(status: int, words: str) -> Response:
    return PlainTextResponse(words + "\n", status_code=status)


class BodyTooLargeError(Exception):
    """More came in than the head of the request had said."""


class _Inward:
    """Counts what comes in, whatever the head of the request said of its length."""

    def __init__(self, receive: Receive, limit: int) -> None:
        self._receive = receive
        self._left = limit

    async def __call__(self) -> Message:
        message = await self._receive()
        self._left -= len(message.get("body", b""))
        if self._left < 0:
            raise BodyTooLargeError
        return message


class _Outward:
    """Puts the headers on whatever goes out."""

    def __init__(self, send: Send, cookie: str | None) -> None:
        self._send = send
        self._cookie = cookie
        self.has_begun = False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.has_begun = True
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if self._cookie and "set-cookie" not in headers:
                headers.append("set-cookie", self._cookie)
        await self._send(message)


def hosts_of(names: Iterable[str], port: int) -> frozenset[str]:
    """The values of the header Host under which the pages answer; without the port only where it is HTTP's own."""
    found = {f"{name.lower()}:{port}" for name in names}
    return frozenset(found | ({name.lower() for name in names} if port == 80 else set()))

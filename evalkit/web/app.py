"""The pages put together: routes, what stands before them, and errors as answers."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.staticfiles import StaticFiles

from evalkit.errors import AlreadyError, BookError, ChangedError, EvalkitError, MissingPartError, NotFoundError
from evalkit.files.places import templates_dir
from evalkit.web.desk import Desk
from evalkit.web.door import Door, TooManyTriesError
from evalkit.web.guard import BodyTooLargeError, Frame, Guard
from evalkit.web.routes import routes
from evalkit.web.sessions import Sessions
from evalkit.web.visit import StaleFormError, Visit, WhoError, sentence, visit_of

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.workbench import Workbench

STATUS: tuple[tuple[type[EvalkitError], HTTPStatus], ...] = (
    (StaleFormError, HTTPStatus.FORBIDDEN),
    (TooManyTriesError, HTTPStatus.TOO_MANY_REQUESTS),
    (NotFoundError, HTTPStatus.NOT_FOUND),
    (ChangedError, HTTPStatus.CONFLICT),
    (AlreadyError, HTTPStatus.CONFLICT),
    (MissingPartError, HTTPStatus.CONFLICT),
    (BookError, HTTPStatus.SERVICE_UNAVAILABLE),
)
"""Which status an error becomes; any other is what was asked wrongly."""


def create_app(
    workbench: Workbench, book: Book, frame: Frame, *, door: Door | None = None, sessions: Sessions | None = None
) -> Starlette:
    """The pages over an open book. `door` holds the code where the frame asks for one."""
    known = sessions or Sessions()
    app = Starlette(
        routes=routes(StaticFiles(directory=templates_dir() / "web" / "static")),
        middleware=[Middleware(Guard, frame=frame, sessions=known, on_failure=_failed)],
        exception_handlers={
            EvalkitError: _told,
            WhoError: _asked_who,
            HTTPException: _told_plainly,
            BodyTooLargeError: _too_large,
        },
    )
    app.state.desk = Desk(workbench, book)
    app.state.sessions = known
    app.state.frame = frame
    app.state.door = door
    return app


async def _told(request: Request, error: Exception) -> Response:
    """What went wrong, where, and how to mend it."""
    if not isinstance(error, EvalkitError):  # Starlette asks by class; this is for the types
        raise error
    status = next((status for kind, status in STATUS if isinstance(error, kind)), HTTPStatus.UNPROCESSABLE_ENTITY)
    visit = visit_of(request)
    if visit.wants_json:
        told = {"what": error.what, "mend": error.mend, "where": error.where or ""}
        return Visit.tell({**told, "kind": _kind(error)}, status)
    round_key = visit.find_round_key()
    return visit.show(
        "error.html", status, what=sentence(error.what), mend=error.mend, where=error.where or "", round_key=round_key
    )


def _kind(error: EvalkitError) -> str:
    """What the page's own script reacts to."""
    if isinstance(error, StaleFormError):
        return "stale form"
    return "changed" if isinstance(error, ChangedError) else "refused"


async def _asked_who(request: Request, error: Exception) -> Response:
    del error
    return visit_of(request).go("/who")


async def _told_plainly(request: Request, error: Exception) -> Response:
    """What the framework refuses: an unknown address, a form that is none."""
    status = error.status_code if isinstance(error, HTTPException) else HTTPStatus.BAD_REQUEST
    what = "There is no such page." if status == HTTPStatus.NOT_FOUND else "This cannot be done here."
    mend = "Go to the list of rounds."
    return visit_of(request).show("error.html", status, what=what, mend=mend, where="", round_key="")


FAILED = "Something in evalkit itself went wrong; what was kept before is kept."
FAILED_MEND = "Go back and try again. If it happens again, the terminal of evalkit serve says what it was."


def _failed(request: Request) -> Response:
    """One clear line after an error that nobody foresaw; what it was stands in the terminal alone."""
    status = HTTPStatus.INTERNAL_SERVER_ERROR
    try:
        visit = visit_of(request)
        if visit.wants_json:
            return Visit.tell({"what": FAILED, "mend": FAILED_MEND, "where": "", "kind": "failed"}, status)
        return visit.show("error.html", status, what=FAILED, mend=FAILED_MEND, where="", round_key="")
    except Exception:  # noqa: BLE001 - whatever broke the page may break this one too
        return PlainTextResponse(f"{FAILED} {FAILED_MEND}\n", status_code=status)


async def _too_large(request: Request, error: Exception) -> Response:
    del request, error
    return PlainTextResponse(
        "That is too much at once. Send fewer or smaller pictures.\n", status_code=HTTPStatus.REQUEST_ENTITY_TOO_LARGE
    )

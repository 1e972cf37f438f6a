"""Coming in by the code, and saying which mentor marks on this device."""

from __future__ import annotations

from dataclasses import replace
from http import HTTPStatus
from typing import TYPE_CHECKING

from evalkit.errors import NotFoundError

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.web.door import Door
    from evalkit.web.visit import Visit


def show_door(visit: Visit) -> Response:
    """Asks for the code that stands in the terminal."""
    if visit.session.has_come_in or not visit.frame.asks_code:
        return visit.go("/")
    return visit.show("door.html", 200, code=visit.request.query_params.get("code", "")[:12], is_wrong=False)


def come_in(visit: Visit) -> Response:
    """In with the right code; told so with a wrong one."""
    door: Door | None = visit.request.app.state.door
    if door is None or not visit.frame.asks_code:
        return visit.go("/")
    if door.has_let_in(visit.said("code")):
        return visit.with_session(visit.go("/"), visit.sessions.come_in(visit.session))
    return visit.show("door.html", HTTPStatus.FORBIDDEN, code="", is_wrong=True)


def show_who(visit: Visit) -> Response:
    """Which of several mentors marks here."""
    return visit.show("who.html", 200, mentors=visit.mentors)


def choose_who(visit: Visit) -> Response:
    """Remember, in this browser, who marks."""
    key = visit.said("who")
    if key not in {person.key for person in visit.mentors}:
        raise NotFoundError("there is no such mentor in this book.", mend="Choose one of those shown.")
    return visit.with_session(visit.go("/"), replace(visit.session, who=key))

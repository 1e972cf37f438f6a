"""One request as a page sees it, and the frame in which every page answers it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from evalkit.errors import EvalkitError, InputError, NotFoundError
from evalkit.reports.pages import environment
from evalkit.web.desk import NO_ROUND
from evalkit.web.guard import cookie_text
from evalkit.web.sessions import Session, Sessions

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.round import Person
    from evalkit.web.desk import Desk
    from evalkit.web.guard import Frame

Made = TypeVar("Made")
MAX_FIELDS = 4_000
MAX_FILES = 70
MAX_PART_BYTES = 400_000


class StaleFormError(InputError):
    """The form was made before the program started anew, or by another browser."""


class WhoError(InputError):
    """There are several mentors, and it is not said which of them acts."""


def sentence(words: str) -> str:
    """The words of an error, begun as a page begins a sentence."""
    return words[:1].upper() + words[1:]


@dataclass(frozen=True)
class Visit:
    """One request, with its form read and its sender known."""

    request: Request
    desk: Desk
    sessions: Sessions
    frame: Frame
    session: Session
    form: FormData | None = None

    @property
    def book(self) -> Book:
        return self.desk.book

    @property
    def today(self) -> date:
        return self.desk.workbench.today

    @cached_property
    def act(self) -> int:
        """The number of the last act when this request came: the state of the book that the page shows."""
        return self.book.latest_act()

    def made(self, name: Hashable, make: Callable[[], Made], *, of: str | None = None) -> Made:
        """What was made from the book as it stands, now or for an earlier page; `of` as `Desk.made_at` says."""
        return self.desk.made_at(self.act, name, make, of=of)

    def afresh(self) -> Visit:
        """The same visit, seeing the book as it stands now: after something was written."""
        return replace(self)

    @cached_property
    def mentors(self) -> list[Person]:
        return self.made("mentors", lambda: self.book.list_people("mentor"), of=NO_ROUND)

    @cached_property
    def mentor(self) -> Person:
        """Who acts: as chosen in this browser, else as `evalkit --as` said, else the only mentor. Raises WhoError."""
        known = {person.key: person for person in self.mentors}
        for key in (self.session.who, self.desk.workbench.settings.who):
            if key in known:
                return known[key]
        if len(known) == 1:
            return next(iter(known.values()))
        raise WhoError("this book has several mentors.", mend="Say which of them marks here.")

    @property
    def who(self) -> str:
        return self.mentor.key

    @property
    def wants_json(self) -> bool:
        return "application/json" in self.request.headers.get("accept", "")

    def find_round_key(self) -> str:
        """The key of the round whose address was asked, if the book has it; '' otherwise."""
        key = str(self.request.path_params.get("key", ""))
        if not self.request.url.path.startswith("/rounds/"):
            return ""
        try:
            return self.book.get_round(key).key
        except EvalkitError:
            return ""

    # --- what was asked -------------------------------------------------------------------------------------------

    @property
    def key(self) -> str:
        """The key in the address."""
        return str(self.request.path_params["key"])

    @property
    def tag(self) -> str:
        """The tag of a pair of the stock in the address."""
        return str(self.request.path_params["tag"])

    @property
    def number(self) -> int:
        """The number of the pair in the address."""
        return int(self.request.path_params["number"])

    def said(self, name: str) -> str:
        """One field of the form as text, line ends as one sign; '' when it is missing."""
        value = self.form.get(name) if self.form is not None else None
        return value.replace("\r\n", "\n").replace("\r", "\n") if isinstance(value, str) else ""

    def all_said(self, name: str) -> list[str]:
        """Every value of a field that may stand several times."""
        values = self.form.getlist(name) if self.form is not None else []
        return [value for value in values if isinstance(value, str)]

    def fields(self) -> dict[str, str]:
        """Every text of the form, the first of each name."""
        return {name: self.said(name) for name in self.form} if self.form is not None else {}

    def uploads(self, name: str) -> list[UploadFile]:
        """The files of a field; an empty field of a form is no file."""
        values = self.form.getlist(name) if self.form is not None else []
        return [value for value in values if isinstance(value, UploadFile) and value.filename]

    def page_number(self, name: str = "page") -> int:
        """Which page of a list, from 1; or another small number of the address."""
        text = self.request.query_params.get(name, "1")
        return int(text) if text.isascii() and text.isdecimal() and 0 < len(text) < 7 else 1

    def n_pairs_said(self, most: int, *, where: str) -> int:
        """The number of pairs in the field `n`, 1 to `most`. Raises InputError for anything else."""
        text = self.said("n")
        n = int(text) if text.isascii() and text.isdecimal() and len(text) < 3 else 0
        if not 1 <= n <= most:
            raise InputError("that is no number of pairs.", mend=f"Give 1 to {most}.", where=where)
        return n

    def said_within(self, name: str, most: int, where: str) -> str:
        """The words of a field without blanks around them. Raises InputError where they are more than `most` signs."""
        words = self.said(name).strip()
        if len(words) > most:
            raise InputError("that is too long.", mend=f"Keep to {most} signs.", where=where)
        return words

    # --- answers --------------------------------------------------------------------------------------------------

    def show(self, template: str, status: int = 200, /, **rows: object) -> Response:
        """A page. `rows` are the small values that the template sees."""
        return HTMLResponse(self.render(template, **rows), status_code=status)

    def render(self, template: str, /, **rows: object) -> str:
        return environment().get_template(f"web/{template}").render(
            token=self.sessions.token_of(self.session), page=self._page_row(), **rows
        )  # fmt: skip

    def _page_row(self) -> PageRow:
        try:
            name, has_others = self.mentor.name, len(self.mentors) > 1
        except WhoError:
            name, has_others = "", True
        except EvalkitError:  # the book itself cannot be read: the page that says so needs no name
            name, has_others = "", False
        return PageRow(name, has_others, self.frame.asks_code, self.request.url.path)

    def go(self, path: str, anchor: str = "", **query: object) -> Response:
        """On to another page, by GET."""
        ask = f"?{urlencode(query)}" if query else ""
        return RedirectResponse(path + ask + (f"#{anchor}" if anchor else ""), status_code=303)

    def with_session(self, response: Response, session: Session) -> Response:
        """The answer, with the browser's new session."""
        response.headers.append("set-cookie", cookie_text(self.frame.cookie, self.sessions.write(session)))
        return response

    @staticmethod
    def tell(data: Mapping[str, object], status: int = 200) -> Response:
        """An answer for the page's own script."""
        return JSONResponse(dict(data), status_code=status)


@dataclass(frozen=True, slots=True)
class PageRow:
    """What every page shows: who acts, whether somebody else could, whether a code lets in, and where one is."""

    who: str
    has_others: bool
    is_on_network: bool
    path: str


Handler = Callable[[Visit], Response]


def page(handler: Handler) -> Callable[[Request], Awaitable[Response]]:
    """A handler as an endpoint: the form read and its token checked, the work done beside the event loop."""

    async def endpoint(request: Request) -> Response:
        visit = visit_of(request)
        if request.method != "POST":
            return await run_in_threadpool(handler, visit)
        async with request.form(max_files=MAX_FILES, max_fields=MAX_FIELDS, max_part_size=MAX_PART_BYTES) as form:
            visit = replace(visit, form=form)
            if not visit.sessions.is_token_of(visit.session, visit.said("token")):
                raise StaleFormError(
                    "this form is from before evalkit serve was started, or from another window.",
                    mend="Nothing was changed. Go back, copy what you wrote if need be, and load the page again.",
                )
            return await run_in_threadpool(handler, visit)

    return endpoint


def visit_of(request: Request) -> Visit:
    """The visit of a request that has passed the guard."""
    state = request.app.state
    return Visit(request, state.desk, state.sessions, state.frame, request.scope["session"])


def check_page(rows: Sequence[object], page_number: int) -> None:
    """Raises NotFoundError for a page of a list that has nothing on it, the first excepted."""
    if not rows and page_number > 1:
        raise NotFoundError("this list has no such page.", mend="Go back to its first page.")

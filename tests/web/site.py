"""The pages as a browser meets them, without a browser: a client with its cookie, and forms sent with their token."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Self

from sqlalchemy import event
from starlette.applications import Starlette
from starlette.testclient import TestClient

from evalkit.book.book import Book
from evalkit.settings import checked
from evalkit.web.app import create_app
from evalkit.web.door import Door
from evalkit.web.guard import Frame, hosts_of
from evalkit.workbench import Workbench

NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
PORT = 8537
BASE = f"http://127.0.0.1:{PORT}"
ROUND = "/rounds/teo-1"
JSON = {"accept": "application/json"}


class Site:
    """One open book behind the pages, and one browser in front of them."""

    def __init__(self, folder: Path, *, who: str = "", asks_code: bool = False, port: int = PORT) -> None:
        self.workbench = Workbench(checked({"book": folder, "who": who, "today": "2026-05-04"}), lambda: NOW)
        self.book = Book.open(folder, lambda: NOW)
        self.codes: list[str] = []
        self.door = Door(lambda: NOW, self.codes.append) if asks_code else None
        self.frame = Frame(hosts_of(["127.0.0.1", "localhost"], port), f"evalkit-{port}", asks_code=asks_code)
        self.app: Starlette = create_app(self.workbench, self.book, self.frame, door=self.door)
        self.client = self.browser()

    def browser(self) -> TestClient:
        """Another browser, with no cookie yet."""
        return TestClient(self.app, base_url=BASE, follow_redirects=False)

    def close(self) -> None:
        self.book.close()

    def token(self, client: TestClient | None = None) -> str:
        """What the forms of this browser carry."""
        client = client or self.client
        if self.frame.cookie not in client.cookies:
            client.get("/who")
        session = self.app.state.sessions.read(client.cookies[self.frame.cookie])
        return self.app.state.sessions.token_of(session)

    def get(self, path: str, **more: Any) -> Any:
        return self.client.get(path, **more)

    def page(self, path: str) -> str:
        """A page that has to be there."""
        answer = self.get(path)
        assert answer.status_code == 200, (path, answer.status_code, answer.text[:400])
        return answer.text

    def post(
        self, path: str, fields: Mapping[str, Any] | None = None, *, client: TestClient | None = None, **more: Any
    ) -> Any:
        """A form, sent with its token."""
        client = client or self.client
        return client.post(path, data={"token": self.token(client), **(fields or {})}, **more)

    def state(self, number: int, client: TestClient | None = None) -> str:
        """The state of a pair as its page carries it."""
        page = (client or self.client).get(f"{ROUND}/pairs/{number}").text
        return re.search(r'name="based_on" value="([^"]*)"', page)[1]  # type: ignore[index]

    def save(self, number: int, fields: Mapping[str, Any], *, based_on: str | None = None, **more: Any) -> Any:
        """Save a pair the way its page does."""
        base = self.state(number) if based_on is None else based_on
        return self.post(f"{ROUND}/pairs/{number}", {"based_on": base, "has_transit": "yes", **fields}, **more)

    def kept(self, number: int, who: str = "oda") -> Any:
        """The pair as the draft holds it."""
        draft = self.book.find_draft("teo-1", who)
        return draft.find_pair(number) if draft else None


def whole(level: int = 3, **more: str) -> dict[str, str]:
    """Every place of a pair of the bench rubric at one level, the sound too."""
    line = {f"v.ride-line.{blade}-{at}": f"level {level}" for blade in ("thumb", "finger") for at in STATIONS}
    hair = {f"s.hair.{at}": f"level {level}" for at in STATIONS}
    rest = {"s.tips.tip": str(level), "s.finish.pair": str(level), "s.sound.pair": str(level)}
    return {**line, **hair, **rest, **more}


STATIONS = ("heel", "middle", "tip")


class Counter:
    """How many queries the book is asked while it looks."""

    def __init__(self, book: Book) -> None:
        self.engine = book._engine
        self.statements: list[str] = []

    def __enter__(self) -> Self:
        event.listen(self.engine, "before_cursor_execute", self._seen)
        return self

    def __exit__(self, *_: object) -> None:
        event.remove(self.engine, "before_cursor_execute", self._seen)

    def _seen(self, _connection, _cursor, statement, _parameters, _context, _many) -> None:
        if statement.lstrip().upper().startswith(("SELECT", "INSERT", "UPDATE", "DELETE", "WITH")):
            self.statements.append(statement)

    @property
    def n(self) -> int:
        return len(self.statements)


class Tags(HTMLParser):
    """Every tag of a page with its attributes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(page)

    def handle_starttag(self, tag, attrs) -> None:
        self.found.append((tag, dict(attrs)))

    def named(self, *names: str) -> list[dict[str, str | None]]:
        return [attributes for tag, attributes in self.found if tag in names]

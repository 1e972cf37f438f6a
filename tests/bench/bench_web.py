"""What a page of the marking pages costs on the server, in ratios measured in one run; and how it grows with the book.

Two measures to set a page against: its template alone, from the finished rows that it prints; and the whole page from
the book's rows in memory, its queries answered from what they answered before. Against them three looks: the first of
all, the first after a mark was saved on the round that is being marked, and one more with nothing changed. Then the
same pages on a book ten times as large. `python tests/bench/bench_web.py`
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import NamedTuple, Self

from jinja2 import Template

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from evalkit.book.book import Book
from tests.web.boxes import fill
from tests.web.site import JSON, PORT, Counter, Site

NOW = datetime(2026, 5, 4, tzinfo=UTC)
REPEATS = 15
TURNS = count(1)


def least_s(act: Callable[[], object]) -> float:
    """The least of several runs: what the work itself takes, whatever else the machine was doing."""
    took = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        act()
        took.append(time.perf_counter() - start)
    return min(took)


class Rendered:
    """Remembers the template and rows of the last page, so that the same can be rendered again."""

    def __init__(self) -> None:
        self.again: Callable[[], object] = lambda: None
        self._render = Template.render

    def __enter__(self) -> Self:
        def remembering(template: Template, *args: object, **rows: object) -> str:
            self.again = lambda: self._render(template, *args, **rows)
            return self._render(template, *args, **rows)

        Template.render = remembering  # type: ignore[method-assign,assignment]
        return self

    def __exit__(self, *_: object) -> None:
        Template.render = self._render  # type: ignore[method-assign]


class Asked:
    """One page asked of the app itself, with no client and no wire between."""

    def __init__(self, site: Site, path: str) -> None:
        where, _, query = path.partition("?")
        self.app = site.app
        self.scope = {
            "type": "http", "http_version": "1.1", "method": "GET", "path": where, "raw_path": where.encode(),
            "query_string": query.encode(), "scheme": "http", "server": ("127.0.0.1", PORT), "client": ("127.0.0.1", 1),
            "headers": [(b"host", f"127.0.0.1:{PORT}".encode()), (b"cookie", _cookies(site))], "root_path": "",
            "state": {}, "asgi": {"version": "3.0"},
        }  # fmt: skip

    async def __call__(self) -> int:
        status = 0

        async def receive() -> dict[str, object]:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: dict[str, object]) -> None:
            nonlocal status
            status = message.get("status", status)  # type: ignore[assignment]

        await self.app(dict(self.scope), receive, send)  # type: ignore[arg-type]
        return status


def _cookies(site: Site) -> bytes:
    site.token()
    return "; ".join(f"{name}={value}" for name, value in site.client.cookies.items()).encode()


class Remembering:
    """A book whose every answer is had from memory once it was given."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._answers: dict[str, object] = {}

    def __getattr__(self, name: str) -> object:
        there = getattr(self._book, name)

        def answer(*args: object, **named: object) -> object:
            key = repr((name, args, named))
            if key not in self._answers:
                self._answers[key] = there(*args, **named)
            return self._answers[key]

        return answer


class Cost(NamedTuple):
    """Of one page: queries, and seconds of each look; of its template alone; of the page from rows in memory."""

    queries: int
    first_s: float
    after_s: float
    again_s: float
    render_s: float
    in_memory_s: float


def measure(site: Site, path: str, marked: str) -> Cost:
    """`marked` is the address of a pair of the round that is being marked."""
    with Rendered() as rendered:
        site.page(path)
    desk = site.app.state.desk
    desk.forget()
    with Counter(site.book) as counted:
        site.page(path)

    def timed(prepare: Callable[[], object]) -> float:
        asked = Asked(site, path)

        async def once() -> float:
            start = time.perf_counter()
            assert await asked() == 200
            return time.perf_counter() - start

        took = []
        for _ in range(REPEATS):
            prepare()
            took.append(asyncio.run(once()))
        return min(took)

    first_s = timed(desk.forget)
    after_s = timed(lambda: mark(site, marked))
    again_s = timed(lambda: None)
    desk.book = Remembering(site.book)
    in_memory_s = timed(desk.forget)
    desk.book = site.book
    return Cost(counted.n, first_s, after_s, again_s, least_s(rendered.again), in_memory_s)


def mark(site: Site, path: str) -> None:
    """Change a word on a pair and save it, as its page does by itself while the mentor goes on."""
    based_on = re.search(r'name="based_on" value="([^"]*)"', site.page(path))
    assert based_on is not None
    words = f"Good {next(TURNS)}."
    answer = site.post(path, {"based_on": based_on[1], "has_transit": "yes", "keep": words}, headers=JSON)
    assert answer.status_code == 200, answer.text


def pages_of(n_rounds: int) -> dict[str, str]:
    last, done = f"/rounds/r-{n_rounds - 1:04}", f"/rounds/r-{n_rounds - 2:04}"
    return {
        "rounds": "/", "round": last, "pair": f"{last}/pairs/3", "new pair": f"{last}/pairs/9",
        "both views": f"{last}/pairs/1/both", "report": f"{done}/report", "stock": "/stock", "trainee": "/trainees/t0",
        "rubric": "/rubrics/shears/1", "second": f"{done}/second",
    }  # fmt: skip


def main() -> None:
    found: dict[int, dict[str, Cost]] = {}
    for n_rounds in (50, 500):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "book"
            with Book.create(path, lambda: NOW) as book:
                fill(book, n_rounds)
            site = Site(path)
            marked = f"/rounds/r-{n_rounds - 1:04}/pairs/4"
            found[n_rounds] = {name: measure(site, where, marked) for name, where in pages_of(n_rounds).items()}
            site.close()
    print(f"{'':12}{'':9}{'ms':>9}{'':27}{'':9}{'over the template':>27}{'over rows in memory':>27}")
    heads = ("queries", "template", "memory", "again", "after", "first", *("again", "after", "first") * 2, "x 10")
    print(f"{'page':12}" + "".join(f"{head:>9}" for head in heads))
    for name, cost in found[500].items():
        looks = (cost.again_s, cost.after_s, cost.first_s)
        ms = [1000 * one for one in (cost.render_s, cost.in_memory_s, *looks)]
        ratios = [look / over for over in (cost.render_s, cost.in_memory_s) for look in looks]
        ratios.append(cost.first_s / found[50][name].first_s)
        print(f"{name:12}{cost.queries:>9}" + "".join(f"{one:>9.2f}" for one in (*ms, *ratios)))


if __name__ == "__main__":
    main()

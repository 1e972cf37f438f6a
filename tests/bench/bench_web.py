"""What a page of the marking pages costs on the server, in ratios measured in one run; and how it grows with the book.

For each page: how many queries it asks, and its whole cost over the cost of rendering the same template from rows that
are in memory already. Then the same pages on a book ten times as large. `python tests/bench/bench_web.py`
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple, Self

from jinja2 import Template

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from evalkit.book.book import Book
from tests.web.boxes import fill
from tests.web.site import PORT, Counter, Site

NOW = datetime(2026, 5, 4, tzinfo=UTC)
REPEATS = 25


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
            "headers": [(b"host", f"127.0.0.1:{PORT}".encode())], "root_path": "", "state": {},
            "asgi": {"version": "3.0"},
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


class Cost(NamedTuple):
    """Of one page: queries and seconds when nothing was made before, seconds once more, seconds of its template."""

    queries: int
    first_s: float
    again_s: float
    render_s: float


def measure(site: Site, path: str) -> Cost:
    with Rendered() as rendered:
        site.page(path)
    forget = site.app.state.desk.forget
    forget()
    with Counter(site.book) as counted:
        site.page(path)

    async def timed(prepare: Callable[[], object]) -> float:
        asked, took = Asked(site, path), []
        for _ in range(REPEATS):
            prepare()
            start = time.perf_counter()
            assert await asked() == 200
            took.append(time.perf_counter() - start)
        return min(took)

    first_s = asyncio.run(timed(forget))
    again_s = asyncio.run(timed(lambda: None))
    return Cost(counted.n, first_s, again_s, least_s(rendered.again))


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
            found[n_rounds] = {name: measure(site, where) for name, where in pages_of(n_rounds).items()}
            site.close()
    heads = ("queries", "render ms", "again ms", "again x", "first ms", "first x", "500 over 50")
    print(f"{'page':12}" + "".join(f"{head:>12}" for head in heads))
    for name, cost in found[500].items():
        growth = cost.first_s / found[50][name].first_s
        figures = (
            f"{cost.queries}", f"{cost.render_s * 1000:.2f}", f"{cost.again_s * 1000:.2f}",
            f"{cost.again_s / cost.render_s:.2f}", f"{cost.first_s * 1000:.1f}", f"{cost.first_s / cost.render_s:.2f}",
            f"{growth:.2f}",
        )  # fmt: skip
        print(f"{name:12}" + "".join(f"{figure:>12}" for figure in figures))


if __name__ == "__main__":
    main()

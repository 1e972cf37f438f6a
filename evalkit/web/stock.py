"""The stock of practice pairs, and where each of them is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.web.visit import check_page

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.book.book import Book
    from evalkit.book.listing import StockLine
    from evalkit.web.visit import Visit

PER_PAGE = 50


def show_stock(visit: Visit) -> Response:
    """A page of the stock in the order of its tags."""
    number = visit.page_number()
    return visit.show("stock.html", 200, **visit.made(("stock", number), lambda: _rows(visit.book, number)))


def _rows(book: Book, number: int) -> dict[str, object]:
    lines = book.stock_lines(PER_PAGE + 1, (number - 1) * PER_PAGE)
    check_page(lines, number)
    retired = book.retired_pairs()
    rows = [
        (
            line.pair.tag,
            line.pair.words,
            line.pair.difficulty,
            ", ".join(fault.tag for fault in line.pair.faults),
            line.round_key or "",
            _place(line, is_retired=line.pair.tag in retired),
        )
        for line in lines[:PER_PAGE]
    ]
    return {"rows": rows, "page_number": number, "has_more": len(lines) > PER_PAGE}


def _place(line: StockLine, *, is_retired: bool) -> str:
    """'back with the mentor', 'never sent'; and 'retired' when it is sent no more."""
    where = line.state.value if line.state else "never sent"
    return f"{where}; retired" if is_retired else where

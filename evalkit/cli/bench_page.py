"""The bench book of a round, with what the trainee's last report said to practise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.round import Round


@dataclass(frozen=True, slots=True)
class BenchPage:
    """The page, and what went into it. The round holds only what its trainee may know."""

    round: Round
    practise: tuple[str, ...]
    html: str


def bench_page(book: Book, round_key: str) -> BenchPage:
    """The bench book as it would be sent now. Raises NotFoundError when there is no such round."""
    from evalkit.actions.sending import find_last_report, shown_to_trainee
    from evalkit.reports.practise import practise_lines
    from evalkit.reports.to_bench_book import bench_book

    round_ = book.get_round(round_key)
    last = find_last_report(book, round_)
    practise = practise_lines(last) if last else ()
    shown = shown_to_trainee(round_)
    return BenchPage(shown, practise, bench_book(shown, book.get_rubric_by_digest(round_.rubric_digest), practise))

"""The box of twelve that the bench book is tried with: every edge type twice, both hands, sizes known and unknown."""

from __future__ import annotations

import contextlib
import io
from datetime import UTC, datetime
from pathlib import Path

from evalkit.book.book import Book
from evalkit.cli.app import run
from evalkit.domain.round import Round
from evalkit.domain.rubric import Rubric

MINI = Path(__file__).parent.parent / "cli" / "mini.toml"

PAIRS = (
    ("S-101", "convex", "6.0", "--blade-length", "75"),
    ("S-102", "semi-convex", "5.5", "--blade-length", "68.5"),
    ("S-103", "bevel", "6.5"),
    ("S-104", "micro-serrated", "5.5", "--blade-length", "66"),
    ("S-105", "sword", "6.0", "--hand", "left"),
    ("S-106", "toothed", "6.0", "--teeth", "30"),
    ("S-107", "toothed", "5.5", "--teeth", "14", "--hand", "left"),
    ("S-108", "sword", "7.0", "--blade-length", "92"),
    ("S-109", "micro-serrated", "6.0"),
    ("S-110", "bevel", "5.0", "--blade-length", "60", "--hand", "left"),
    ("S-111", "semi-convex", "5.75"),
    ("S-112", "convex", "7.0", "--blade-length", "95"),
)
"""(tag, edge type, size in inches, what else is known)"""

SECRETS = ("throat-dip", "3.37", "SEK", "a drawer at Harrow Quay")
"""What the mentor knows of every pair and the trainee must find out alone, as the commands below write it down."""

KNOWN = (
    "--fault", "throat-dip:3:thumb:heel", "--difficulty", "5",
    "--value", "3.37", "--currency", "SEK", "--origin", "a drawer at Harrow Quay",
)  # fmt: skip

KEY = "teo-1"
TODAY = "2026-11-25"
"""The day for the commands; the browser has its own clock, so the box has arrived before either."""


def do(folder: Path, *words: str | Path, today: str = TODAY) -> str:
    """Run a command on the folder's book; it has to succeed. Answers what it said."""
    said, wrong = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(wrong):
        code = run(["--book", str(folder / "evalkit-book"), "--today", today, *map(str, words)])
    assert code == 0, f"{words}: {said.getvalue()}{wrong.getvalue()}"
    return said.getvalue()


def pack(folder: Path, rubric: str | Path = "shears", n_pairs: int = len(PAIRS)) -> None:
    """A book with one round, its box with the trainee since the spring."""
    do(folder, "book", "new", "--mentor", "oda", "--name", "Oda Ferrin")
    do(folder, "trainee", "add", "teo", "Teo Marsk")
    pairs = PAIRS[:n_pairs]
    for tag, edge, size, *more in pairs:
        do(folder, "pair", "add", tag, "--edge", edge, "--size", size, *KNOWN, *more)
    tags = ",".join(tag for tag, *_ in pairs)
    do(
        folder,
        "round",
        "plan",
        "teo",
        "--rubric",
        rubric,
        "--pairs",
        tags,
        "--called-for",
        "1=leave",
        "--on",
        "2026-04-01",
    )
    do(folder, "round", "send", KEY, "--on", "2026-04-02")
    do(folder, "round", "received", KEY, "--on", "2026-04-06")


def pack_small(folder: Path) -> None:
    """The same with two pairs and few criteria, for what needs no long round."""
    pack(folder, MINI, n_pairs=2)


def bench_book(folder: Path) -> Path:
    """The round's bench book, written by the command."""
    page = folder / f"{KEY}.html"
    do(folder, "round", "bench-book", KEY, "--out", page)
    return page


def opened(folder: Path) -> Book:
    return Book.open(folder / "evalkit-book", lambda: datetime(2026, 11, 25, tzinfo=UTC))


def round_in(folder: Path) -> tuple[Round, Rubric]:
    """The round as the book has it, and its rubric."""
    with contextlib.closing(opened(folder)) as book:
        round_ = book.get_round(KEY)
        return round_, book.get_rubric_by_digest(round_.rubric_digest)

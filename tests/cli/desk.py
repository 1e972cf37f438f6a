"""A desk to work at: a folder of its own, commands run inside this process, and what they answered."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from evalkit.book.book import Book
from evalkit.book.connect import FILE, PHOTOS
from evalkit.cli.app import run

MINI = Path(__file__).with_name("mini.toml")
TODAY = "2026-05-01"


@dataclass(frozen=True)
class Answer:
    """How a command ended and what it said."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@dataclass(frozen=True)
class State:
    """All that a refused act must leave alone: every row of the book, its history among them, and every picture."""

    rows: tuple[str, ...]
    photos: dict[str, str]


class Desk:
    """One test's folder; commands run in it with this day as today."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder = folder
        self.book = folder / "evalkit-book"
        self._capsys = capsys
        self._monkeypatch = monkeypatch

    def run(self, *words: str | Path, today: str = TODAY) -> Answer:
        self._capsys.readouterr()
        code = run(["--today", today, *map(str, words)])
        said = self._capsys.readouterr()
        return Answer(code, said.out, said.err)

    def do(self, *words: str | Path, today: str = TODAY) -> Answer:
        """Run a command that has to succeed, and says nothing on stderr."""
        answer = self.run(*words, today=today)
        assert (answer.code, answer.err) == (0, ""), answer
        return answer

    def refuse(self, *words: str | Path, today: str = TODAY) -> str:
        """Run a command that has to be refused, with the book left as it was; answers what it said on stderr."""
        before = self.state() if self.book.exists() else None
        answer = self.run(*words, today=today)
        assert answer.code != 0, answer
        assert answer.err.strip(), "it was refused without a word"
        assert "Traceback" not in answer.err
        assert before == (self.state() if self.book.exists() else None), "a refused act changed the book"
        return answer.err

    def state(self) -> State:
        connection = sqlite3.connect(self.book / FILE)
        try:
            rows = tuple(connection.iterdump())
        finally:
            connection.close()
        photos = [path for path in (self.book / PHOTOS).rglob("*") if path.is_file()]
        return State(rows, {str(path): hashlib.sha256(path.read_bytes()).hexdigest() for path in photos})

    def opened(self) -> Book:
        return Book.open(self.book, lambda: datetime(2026, 5, 1, tzinfo=UTC))

    def answers(self, *lines: str) -> list[str]:
        """What will be typed at the terminal; answers the list of questions, which fills as they are asked."""
        asked: list[str] = []
        waiting = list(lines)

        def typed(prompt: str = "") -> str:
            asked.append(prompt)
            if not waiting:
                raise EOFError
            return waiting.pop(0)

        self._monkeypatch.setattr("builtins.input", typed)
        return asked

    def answers_by(self, reply: Callable[[str], str]) -> None:
        """What will be typed at the terminal, made from each question."""
        self._monkeypatch.setattr("builtins.input", reply)

    def write(self, name: str, text: str) -> Path:
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return path


def fill(sheet: str, *changes: tuple[str, str]) -> str:
    """A sheet with lines changed: each old line (or part of one) stands in it, and its first place is taken."""
    for old, new in changes:
        assert old in sheet, f"{old!r} is not in the sheet"
        sheet = sheet.replace(old, new, 1)
    return sheet

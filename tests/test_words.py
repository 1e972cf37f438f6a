"""Holds the project's texts free of places that exist on one machine only."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# Built from pieces, so that this file does not contain what it looks for.
FORBIDDEN = (
    *("/" + name + "/" for name in ("work", "root", "home", "Users")),
    "\\Use" + "rs\\",
    ".py" + "env",
    "site-" + "packages/",
    "pypi" + ".org",
    "python" + "hosted.org",
    "debian" + ".org/debian",
    "npm" + "js.org",
    "npm" + "js.com",
)
MADE_BY_PROGRAMS = {"__pycache__", "build", "dist", "node_modules", "out"}
HIDDEN_BUT_OURS = {".ci", ".gitignore", ".gitattributes"}


def texts(top: Path) -> Iterator[tuple[Path, str]]:
    """Every text file of the project with its content; what is not UTF-8 is a picture or the like."""
    for folder, folders, names in os.walk(top):
        folders[:] = [name for name in folders if is_ours(name)]
        for name in filter(is_ours, names):
            path = Path(folder, name)
            try:
                yield path, path.read_text(encoding="utf-8")
            except UnicodeDecodeError:
                continue


def is_ours(name: str) -> bool:
    return name not in MADE_BY_PROGRAMS and (not name.startswith(".") or name in HIDDEN_BUT_OURS)


def finds(top: Path) -> list[str]:
    return [
        f"{path.relative_to(top)}:{number}: {word}"
        for path, text in texts(top)
        for number, line in enumerate(text.splitlines(), 1)
        for word in FORBIDDEN
        if word in line
    ]


def test_no_text_names_a_place_of_one_machine_or_a_registry() -> None:
    assert sum(1 for _ in texts(ROOT)) > 20, "hardly anything was read: is the project where this test looks?"
    assert finds(ROOT) == []


@pytest.mark.parametrize("word", FORBIDDEN)
def test_a_forbidden_word_is_found_wherever_it_hides(tmp_path: Path, word: str) -> None:
    (tmp_path / ".ci").mkdir()
    (tmp_path / ".ci" / "run").write_text(f"one\ntwo {word} three\n")
    (tmp_path / ".venv").mkdir()
    (tmp_path / ".venv" / "pyvenv.cfg").write_text(word)
    (tmp_path / "photo.jpg").write_bytes(b"\xff\xd8\xff" + word.encode())
    assert finds(tmp_path) == [f".ci/run:2: {word}"]

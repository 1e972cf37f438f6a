"""One apostrophe for every shown word: the straight one, as it is typed at a terminal, on sheets and in letters.

Commands, pages and sheets share their words, and stand beside what people typed; a curly one would be mixed on sight.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import evalkit
from evalkit.files.places import rubrics_dir, templates_dir

CURLY = "\u2018\u2019\u201b\u02bc"
PACKAGE = Path(evalkit.__file__).parent
READS_THEM = {"files/sheets/text.py"}
"""Takes a curly apostrophe that somebody typed for a straight one."""
VENDOR = "vendor"
"""What is not ours keeps its own signs."""


def templates() -> list[Path]:
    found = [path for kind in ("html", "md", "js") for path in templates_dir().rglob(f"*.{kind}")]
    return [path for path in (*found, *rubrics_dir().glob("*.toml")) if VENDOR not in path.parts]


def shown(path: Path) -> Iterator[tuple[int, str]]:
    """(line, words) of every string of a module, but for its docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.lineno, node.value


def finds(words: str) -> bool:
    return any(sign in words for sign in CURLY)


def test_templates_and_rubrics_have_straight_apostrophes():
    assert len(templates()) > 60, "hardly a template was read: are they where this test looks?"
    assert [path.name for path in templates() if finds(path.read_text(encoding="utf-8"))] == []


def test_words_of_commands_and_pages_have_straight_apostrophes():
    modules = [path for path in PACKAGE.rglob("*.py") if path.relative_to(PACKAGE).as_posix() not in READS_THEM]
    assert len(modules) > 200
    found = [f"{path.relative_to(PACKAGE)}:{line}" for path in modules for line, words in shown(path) if finds(words)]
    assert found == []


@pytest.mark.parametrize("sign", CURLY)
def test_a_curly_one_is_found(sign: str, tmp_path: Path):
    path = tmp_path / "one.py"
    path.write_text(f'"""A docstring’s."""\nname = f"the mentor{sign}s {{1}}"\n', encoding="utf-8")
    assert [line for line, words in shown(path) if finds(words)] == [2]

"""Holds the drawing of the layers true: every import inside `evalkit` runs downward, and none goes in a circle."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# From the bottom up. A room sees every row below its own; what stands on one line does not see its neighbour.
ROWS = (
    ("errors", "disk"),
    ("maths", "settings", "domain"),
    ("progress", "files", "book"),
    ("reports", "actions"),
    ("workbench",),
    ("cli", "web"),
    ("__main__",),
)
ROW = {room: row for row, rooms in enumerate(ROWS) for room in rooms}

SEES_MATHS = {"maths", "progress"}  # progress is the only bridge between numbers and the trade
SEES_WEB_INSIDE_A_COMMAND = {"cli"}  # `serve` starts the pages, and no other command pays for them
MAY_IMPORT_FROM_OUTSIDE = {
    "errors": set[str](),
    "disk": set[str](),
    "maths": {"numpy", "scipy", "numba"},
    "domain": {"pydantic"},
    "progress": {"pydantic"},  # pure: lists in, answers out
}
HEAVY = {
    "alembic",
    "bagit",
    "jinja2",
    "markdown_it",
    "mdit_py_plugins",
    "nh3",
    "numpy",
    "PIL",
    "scipy",
    "sqlalchemy",
    "starlette",
    "uvicorn",
    "weasyprint",
}


@dataclass(frozen=True)
class Import:
    """One import: who (`evalkit.cli.app`) asks for whom, where, and whether only when a function runs or for types."""

    importer: str
    target: str
    line: int
    is_inside_function: bool
    is_for_types: bool

    def __str__(self) -> str:
        return f"{self.importer}:{self.line} imports {self.target}"


def room_of(module: str) -> str:
    """`evalkit.cli.app` lives in the room `cli`; `evalkit` itself, which holds the version only, in none."""
    return module.split(".")[1] if "." in module else ""


def is_ours(module: str) -> bool:
    return module.partition(".")[0] == "evalkit"


# --- reading the imports ---------------------------------------------------------------------------------------------


def modules_in(top: Path) -> dict[str, Path]:
    """Every module below the folder `top`, by its dotted name; `top` itself is the package."""
    found = {}
    for path in top.rglob("*.py"):
        parts = path.relative_to(top.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imports_in(modules: dict[str, Path]) -> list[Import]:
    return [
        found
        for module, path in modules.items()
        for found in _Reader(module, path.name == "__init__.py", set(modules)).read(path.read_text(encoding="utf-8"))
    ]


class _Reader:
    """Walks one module's syntax tree and remembers whether it stands in a function or under `TYPE_CHECKING`."""

    def __init__(self, module: str, is_package: bool, known: set[str]) -> None:
        self.module = module
        self.package = module if is_package else module.rpartition(".")[0]
        self.known = known

    def read(self, source: str) -> Iterator[Import]:
        yield from self._walk(ast.parse(source), inside=False, types=False)

    def _walk(self, node: ast.AST, *, inside: bool, types: bool) -> Iterator[Import]:
        for target in self._targets(node):
            yield Import(self.module, target, node.lineno, inside, types)
        inside = inside or isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            for child in node.body:
                yield from self._walk(child, inside=inside, types=True)
            for child in node.orelse:
                yield from self._walk(child, inside=inside, types=types)
            return
        for child in ast.iter_child_nodes(node):
            yield from self._walk(child, inside=inside, types=types)

    def _targets(self, node: ast.AST) -> Iterator[str]:
        match node:
            case ast.Import():
                yield from (alias.name for alias in node.names)
            case ast.ImportFrom():
                base = self._base(node)
                for alias in node.names:
                    inner = f"{base}.{alias.name}"
                    yield inner if inner in self.known else base

    def _base(self, node: ast.ImportFrom) -> str:
        if not node.level:
            return node.module or ""
        parts = self.package.split(".")
        parts = parts[: len(parts) - node.level + 1]
        return ".".join([*parts, node.module] if node.module else parts)


# --- judging them ----------------------------------------------------------------------------------------------------


def fault_of(found: Import) -> str | None:
    """Why this import is against the drawing; None where it is not."""
    room, target = room_of(found.importer), found.target
    return _fault_inside(found, room, room_of(target)) if is_ours(target) else _fault_outside(room, target)


def _fault_inside(found: Import, room: str, other: str) -> str | None:
    if other in ("", room):
        return None
    if room not in ROW or other not in ROW:
        return "a room that the drawing does not have"
    if other == "web" and room in SEES_WEB_INSIDE_A_COMMAND:
        return None if found.is_inside_function else "web is imported inside the command that serves it"
    if ROW[other] >= ROW[room]:
        return "not downward"
    if other == "maths" and room not in SEES_MATHS:
        return "progress is the only bridge to maths"
    return None


def _fault_outside(room: str, target: str) -> str | None:
    library = target.partition(".")[0]
    if library in sys.stdlib_module_names or room not in MAY_IMPORT_FROM_OUTSIDE:
        return None
    return None if library in MAY_IMPORT_FROM_OUTSIDE[room] else f"{room} keeps to its few libraries"


def circle_in(imports: list[Import]) -> list[str]:
    """One ring of modules that import each other, first and last the same; empty where there is none."""
    sees: dict[str, set[str]] = {}
    for found in imports:
        if is_ours(found.target):
            sees.setdefault(found.importer, set()).add(found.target)
    done: set[str] = set()

    def ring_from(module: str, trail: list[str]) -> list[str]:
        if module in trail:
            return [*trail[trail.index(module) :], module]
        if module in done:
            return []
        for other in sorted(sees.get(module, ())):
            if ring := ring_from(other, [*trail, module]):
                return ring
        done.add(module)
        return []

    return next((ring for module in sorted(sees) if (ring := ring_from(module, []))), [])


def loaded_at_start(imports: list[Import], first: str) -> set[str]:
    """All modules, ours and others', that are loaded as soon as `first` is imported."""
    sees: dict[str, set[str]] = {}
    for found in imports:
        if not (found.is_inside_function or found.is_for_types):
            sees.setdefault(found.importer, set()).add(found.target)
    loaded, waiting = set[str](), [first]
    while waiting:
        module = waiting.pop()
        if module not in loaded:
            loaded.add(module)
            waiting += sees.get(module, ())
            waiting += [module.rpartition(".")[0]] if is_ours(module) and "." in module else []
    return loaded


# --- the package -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def imports() -> list[Import]:
    return imports_in(modules_in(ROOT / "evalkit"))


def test_every_import_runs_downward(imports: list[Import]) -> None:
    assert len(imports) > 20, "hardly anything was read: is the package where this test looks?"
    assert [f"{found}: {fault}" for found in imports if (fault := fault_of(found))] == []


def test_no_import_goes_in_a_circle(imports: list[Import]) -> None:
    assert circle_in(imports) == []


def test_every_module_lives_in_a_room_of_the_drawing() -> None:
    rooms = {room_of(module) for module in modules_in(ROOT / "evalkit")} - {""}
    assert rooms <= set(ROW)


def test_the_command_line_starts_without_heavy_libraries(imports: list[Import]) -> None:
    loaded = loaded_at_start(imports, "evalkit.__main__")
    assert "evalkit.cli.app" in loaded
    assert {module for module in loaded if module.partition(".")[0] in HEAVY} == set()


def test_the_package_itself_holds_the_version_only(imports: list[Import]) -> None:
    assert [str(found) for found in imports if found.importer == "evalkit"] == []


# --- the judge itself, on imports made up for it ---------------------------------------------------------------------


def read(module: str, source: str, *known: str) -> list[Import]:
    return list(_Reader(module, False, {module, *known}).read(source))


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("evalkit.domain.pair", "from evalkit.files import sheets"),
        ("evalkit.domain.pair", "import evalkit.book.rows"),
        ("evalkit.domain.pair", "def f():\n    from evalkit.maths.kappa import kappa"),
        ("evalkit.domain.pair", "import sqlalchemy"),
        ("evalkit.errors", "import pydantic"),
        (
            "evalkit.maths.kappa",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from evalkit.domain import pair",
        ),
        ("evalkit.maths.kappa", "import pydantic"),
        ("evalkit.maths.kappa", "from statsmodels.stats import inter_rater"),
        ("evalkit.progress.series", "from evalkit.book import book"),
        ("evalkit.progress.series", "import numpy as np"),
        ("evalkit.files.sheets", "from ..book import rows"),
        ("evalkit.files.sheets", "from .. import book"),
        ("evalkit.reports.rows", "from evalkit.actions import marking"),
        ("evalkit.reports.rows", "from evalkit.maths import kappa"),
        ("evalkit.workbench", "from evalkit.cli.app import main"),
        ("evalkit.cli.app", "from evalkit.web.app import create_app"),
        ("evalkit.web.app", "def f():\n    from evalkit.cli import app"),
        ("evalkit.actions.marking", "from evalkit.cellar import wine"),
    ],
)
def test_a_wrong_import_is_seen(module: str, source: str) -> None:
    known = ("evalkit.book", "evalkit.maths.kappa", "evalkit.domain.pair")
    assert [found for found in read(module, source, *known) if fault_of(found)]


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("evalkit.maths.kappa", "import math, numpy.linalg\nfrom scipy.stats import norm\nfrom . import ordinal"),
        (
            "evalkit.domain.pair",
            "from pydantic import BaseModel\nfrom evalkit.errors import InputError\nfrom .value import Value",
        ),
        ("evalkit.progress.series", "from evalkit.maths import kappa\nfrom evalkit.domain.round import Round"),
        ("evalkit.files.sheets", "from evalkit.domain.round import Round\nimport markdown_it"),
        ("evalkit.cli.web", "def serve():\n    from evalkit.web.app import create_app"),
        ("evalkit.cli.app", "from evalkit import __version__\nfrom evalkit.workbench import Workbench"),
        ("evalkit.__main__", "from evalkit.cli.app import main"),
    ],
)
def test_a_right_import_passes(module: str, source: str) -> None:
    found = read(module, source, "evalkit.maths.kappa")
    assert found
    assert [fault for one in found if (fault := fault_of(one))] == []


def test_a_circle_is_seen_even_when_it_is_for_types_or_late() -> None:
    ring = [
        *read("evalkit.domain.a", "from evalkit.domain.b import B"),
        *read("evalkit.domain.b", "if TYPE_CHECKING:\n    from .c import C"),
        *read("evalkit.domain.c", "def f():\n    from evalkit.domain import a", "evalkit.domain.a"),
    ]
    assert circle_in(ring) == ["evalkit.domain.a", "evalkit.domain.b", "evalkit.domain.c", "evalkit.domain.a"]
    assert circle_in(ring[:2]) == []


def test_what_is_loaded_at_start_leaves_out_types_and_what_functions_import() -> None:
    imports = [
        *read(
            "evalkit.cli.app", "from . import round\nif typing.TYPE_CHECKING:\n    import numpy", "evalkit.cli.round"
        ),
        *read("evalkit.cli.round", "import typer\ndef add():\n    import sqlalchemy"),
        *read("evalkit.cli", "import rich"),
    ]
    assert loaded_at_start(imports, "evalkit.cli.app") == {
        "evalkit", "evalkit.cli", "evalkit.cli.app", "evalkit.cli.round", "rich", "typer",
    }  # fmt: skip

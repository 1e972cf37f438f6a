"""The script of the bench: small files, joined once in a fixed order, so that a mentor needs nothing built."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from starlette.responses import Response

from evalkit.files.places import templates_dir

if TYPE_CHECKING:
    from evalkit.web.visit import Visit

SCRIPTS = ("places", "pad", "keeping", "told", "troubles", "taking_back", "hands")
"""What the page holds first, then what draws, keeps and tells, and last what listens and begins."""


def show_bench_script(visit: Visit) -> Response:
    """The script as one, in strict mode, inside one function, so that nothing leaks into the page."""
    del visit
    return Response(_joined(), media_type="text/javascript; charset=utf-8")


@cache
def _joined() -> str:
    folder = templates_dir() / "web" / "static" / "js"
    joined = "\n".join((folder / f"{name}.js").read_text(encoding="utf-8") for name in SCRIPTS)
    return f'(() => {{\n"use strict";\n{joined}}})();\n'

"""The command that runs the main job on an invented scenario."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evalkit.cli.frame import bench_of, say


def demo(
    context: typer.Context,
    folder: Annotated[Path, typer.Argument(help="Folder to make; it must be new or empty.")] = Path("evalkit-demo"),
) -> None:
    """Run the main job on an invented mentor, two trainees and twelve boxes; ends with the path of a report."""
    from evalkit.files.places import load_demo

    path = load_demo().main(folder, say, bench_of(context).run)
    say("", "Open this report:", str(path))

"""The command that opens the marking pages."""

from __future__ import annotations

from typing import Annotated

import typer

from evalkit.cli.frame import bench_of, say


def serve(
    context: typer.Context,
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Port to listen on; 0 takes any free one.")
    ] = 8537,
    lan: Annotated[
        bool,
        typer.Option("--lan", help="Let a tablet on your own network in, by a code; plain HTTP, see what it says."),
    ] = False,
) -> None:
    """Open the marking pages in a browser: check boxes in, mark pair by pair, compare, report.

    On this machine alone and without a log-in, unless --lan is given.
    """
    from evalkit.web.serving import serve as serve_pages

    workbench = bench_of(context).workbench
    with workbench.open_book() as book:
        serve_pages(workbench, book, port=port, is_on_network=lan, say=say)

"""What the commands that write reports share."""

from __future__ import annotations

from typing import Annotated

import typer

Over = Annotated[
    bool,
    typer.Option(
        "--over",
        help="Write over a file of that name even when it is something else. An earlier edition of the same report "
        "gives way without it.",
    ),
]

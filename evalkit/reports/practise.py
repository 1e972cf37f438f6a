"""The report's things to practise, one line each, for the next round's bench book."""

from __future__ import annotations

from textwrap import shorten

from evalkit.progress.results import RoundResult
from evalkit.reports.round_rows import priority_row

MAX_LINE = 200


def practise_lines(result: RoundResult) -> tuple[str, ...]:
    """The name of each criterion with what the report says of it, most important first."""
    rows = (priority_row(priority, result) for priority in result.tally.priorities)
    return tuple(shorten(f"{row.name}: {row.say}", MAX_LINE, placeholder=" …") for row in rows)

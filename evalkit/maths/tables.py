"""Counts of levels: whole numbers, square, over the full scale.

`table[i][j]` says how often the first observer said level i where the second said level j. A level that nobody used
keeps its empty row and column.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

Table = Sequence[Sequence[int]]


def paired_table(a: Iterable[int | None], b: Iterable[int | None], n_levels: int) -> tuple[tuple[int, ...], ...]:
    """Counts of levels 0..n_levels-1, rows from `a`, columns from `b`; where either is None the two are left out."""
    counts = [[0] * n_levels for _ in range(n_levels)]
    for first, second in zip(a, b, strict=True):
        for level in (first, second):
            if level is not None and not 0 <= level < n_levels:
                raise ValueError(f"level {level} is not on the scale; use 0 to {n_levels - 1}.")
        if first is not None and second is not None:
            counts[first][second] += 1
    return tuple(tuple(row) for row in counts)


def square_counts(table: Table) -> list[list[int]]:
    """The rows of a square table, each cell a count. Raises ValueError where it is not that."""
    rows = [[whole(count) for count in row] for row in table]
    if any(len(row) != len(rows) for row in rows):
        raise ValueError("the table must be square: one row and one column for each level of the full scale.")
    return rows


def whole(count: float) -> int:
    """A count as a whole number from 0; anything else raises ValueError."""
    if count < 0 or int(count) != count:
        raise ValueError(f"{count} is not a count; use whole numbers from 0.")
    return int(count)

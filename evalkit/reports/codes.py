"""QR codes as one path, so that pages and paper draw them as they draw everything else."""

from __future__ import annotations

from dataclasses import dataclass

QUIET_ZONE = 4
"""Light modules around a QR code (ISO/IEC 18004)."""


@dataclass(frozen=True, slots=True)
class CodeRow:
    """A code to draw: its content, its side in modules with the quiet zone, and the dark ones as an SVG path."""

    words: str
    side: int
    path: str


def code_of(words: str) -> CodeRow:
    """A QR code that still reads with 15 % of it dirty (level M)."""
    import segno

    matrix = tuple(segno.make_qr(words, error="m").matrix)
    runs = [
        f"M{x + QUIET_ZONE} {y + QUIET_ZONE}h{length}v1h-{length}z"
        for y, row in enumerate(matrix)
        for x, length in _runs(row)
    ]
    return CodeRow(words, len(matrix) + 2 * QUIET_ZONE, "".join(runs))


def _runs(row: bytes | bytearray) -> list[tuple[int, int]]:
    """Start and length of every stretch of dark modules."""
    found: list[tuple[int, int]] = []
    for x, module in enumerate(row):
        if not module:
            continue
        if found and sum(found[-1]) == x:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((x, 1))
    return found

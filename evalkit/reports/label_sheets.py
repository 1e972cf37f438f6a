"""Label sheets and card tags: their measures in millimetres. Common practice, no source; inches are 25.4 mm exactly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from evalkit.domain.measures import MM_PER_INCH
from evalkit.errors import InputError
from evalkit.settings import Paper

Item = TypeVar("Item")

PAPER_MM = {Paper.A4: (210.0, 297.0), Paper.LETTER: (8.5 * MM_PER_INCH, 11 * MM_PER_INCH)}
"""Width and height: A4 by ISO 216, Letter 8 1/2 by 11 in."""


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """Labels in columns and rows, the block of them in the middle of the paper. `is_card`: to be cut out and wired."""

    key: str
    paper: Paper
    n_columns: int
    n_rows: int
    width_mm: float
    height_mm: float
    gap_mm: float = 0.0
    """Between columns; between rows there is none."""
    is_card: bool = False

    @property
    def n_labels(self) -> int:
        return self.n_columns * self.n_rows

    @property
    def left_mm(self) -> float:
        used = self.n_columns * self.width_mm + (self.n_columns - 1) * self.gap_mm
        return (PAPER_MM[self.paper][0] - used) / 2

    @property
    def top_mm(self) -> float:
        return (PAPER_MM[self.paper][1] - self.n_rows * self.height_mm) / 2

    @property
    def code_mm(self) -> float:
        """Side of the code with its quiet zone."""
        return min(self.height_mm - 6.0, 30.0)

    @property
    def words(self) -> str:
        what, then = ("card tags", ", to cut out") if self.is_card else ("labels", "")
        return f"{self.n_labels} {what} of {self.width_mm:g} x {self.height_mm:g} mm on {self.paper}{then}"

    def place_of(self, position: int) -> tuple[float, float]:
        """Left and top of a label, row by row from 0, in mm from the paper's corner."""
        row, column = divmod(position, self.n_columns)
        return self.left_mm + column * (self.width_mm + self.gap_mm), self.top_mm + row * self.height_mm


SHEETS = {
    sheet.key: sheet
    for sheet in (
        LabelSheet("a4-3x8", Paper.A4, 3, 8, 70.0, 37.0),
        LabelSheet("a4-2x7", Paper.A4, 2, 7, 99.1, 38.1, 2.5),
        LabelSheet("letter-3x10", Paper.LETTER, 3, 10, 2.625 * MM_PER_INCH, MM_PER_INCH, 0.125 * MM_PER_INCH),
        LabelSheet("a4-cards", Paper.A4, 2, 5, 85.6, 54.0, is_card=True),
        LabelSheet("letter-cards", Paper.LETTER, 2, 4, 85.6, 54.0, is_card=True),
    )
}
"""By key. 2.625 x 1 in is 66.7 x 25.4 mm; 85.6 x 54 mm is the size of a bank card (ISO/IEC 7810 ID-1, from memory)."""

USUAL = {Paper.A4: "a4-3x8", Paper.LETTER: "letter-3x10"}


def get_sheet(key: str) -> LabelSheet:
    """Raises InputError with the keys there are."""
    if key not in SHEETS:
        known = "; ".join(f"{sheet.key} ({sheet.words})" for sheet in SHEETS.values())
        raise InputError(f"'{key}' is no label sheet.", mend=f"There are: {known}.")
    return SHEETS[key]


def paged(items: Sequence[Item], sheet: LabelSheet, first: int) -> tuple[tuple[tuple[int, Item], ...], ...]:
    """Items with their positions, sheet by sheet; `first` (from 1) is the first label that is still on the first sheet.

    Raises InputError when the sheet has no such label.
    """
    if not 1 <= first <= sheet.n_labels:
        raise InputError(
            f"there is no label {first} on {sheet.key}.", mend=f"Its labels are 1 to {sheet.n_labels}, row by row."
        )
    pages: dict[int, list[tuple[int, Item]]] = {}
    for at, item in enumerate(items, start=first - 1):
        page, position = divmod(at, sheet.n_labels)
        pages.setdefault(page, []).append((position, item))
    return tuple(tuple(page) for page in pages.values())

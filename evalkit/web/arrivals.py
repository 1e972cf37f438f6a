"""What became of each pair of a box on its ways, as its pages tell it: a shape and words."""

from __future__ import annotations

from dataclasses import dataclass

from evalkit.domain.arriving import NOT_BACK, losses_on
from evalkit.domain.round import LegKind, Round


@dataclass(frozen=True, slots=True)
class ArrivalRow:
    """One pair that did not come as it left. `shape`: damaged or missing."""

    shape: str
    words: str


def arrivals_of(round_: Round) -> dict[int, ArrivalRow]:
    """By number; a pair of which nothing is written down as damaged or missing has no row."""
    out, back = losses_on(round_, LegKind.RECEIVED), losses_on(round_, LegKind.RECEIVED_BACK)
    told = (
        (out.damaged, ArrivalRow("damaged", "damaged on the way out")),
        (out.missing, ArrivalRow("missing", "missing when the box reached the trainee")),
        (back.damaged, ArrivalRow("damaged", "damaged on the way back")),
        (back.missing, ArrivalRow("missing", NOT_BACK)),
    )
    return {number: row for numbers, row in told for number in numbers if number in round_.numbers}

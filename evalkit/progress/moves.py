"""Whether something rose or fell: a change with its doubt, and the word for it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

SURE = 1.96
"""A step or a drift is spoken of when it lies so many SDs from nought: 95 %, both sides."""


class Move(StrEnum):
    """What a change between two rounds, or over the whole history, amounts to."""

    UP = "rose"
    DOWN = "fell"
    NOT_SHOWN = "no change shown"


@dataclass(frozen=True, slots=True)
class Step:
    """A change with its doubt, in logits."""

    mean: float
    sd: float

    @property
    def move(self) -> Move:
        if abs(self.mean) <= SURE * self.sd:
            return Move.NOT_SHOWN
        return Move.UP if self.mean > 0 else Move.DOWN

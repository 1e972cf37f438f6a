"""What turns a measured value into a level: bands that earn one, and limits that cap it."""

from __future__ import annotations

from enum import StrEnum
from itertools import pairwise
from typing import Self

from pydantic import Field, model_validator

from evalkit.domain.value import Value


class Band(Value):
    """The values that earn a level: `from` and `to` (either may be open), or `within` so much of the target."""

    level: int = Field(ge=1, le=9)
    low: float | None = Field(default=None, alias="from")
    high: float | None = Field(default=None, alias="to")
    within: float | None = Field(default=None, gt=0)

    @model_validator(mode="after")
    def _has_ends(self) -> Self:
        if self.within is not None and (self.low is not None or self.high is not None):
            raise ValueError("a band says 'within' or 'from' and 'to', not both")
        if self.within is None and self.low is None and self.high is None:
            raise ValueError("a band needs 'from', 'to' or 'within'")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"band from {self.low:g} to {self.high:g} is upside down")
        return self


class LimitOf(StrEnum):
    """What a limit is put on. All are computed from the readings of one criterion."""

    SPREAD = "spread along a blade"
    BLADES = "difference between blades"
    RATIO = "widest over narrowest"
    FAILING = "places below fit"


class Limit(Value):
    """A cap on the level: the highest level whose `at_most` is kept; below the lowest one listed, one level less."""

    of: LimitOf
    at_most: dict[int, float] = Field(min_length=1)

    @model_validator(mode="after")
    def _eases_downward(self) -> Self:
        levels = sorted(self.at_most)
        if levels[0] < 1:
            raise ValueError("a limit is given for levels 1 and up; level 0 needs none")
        if any(self.at_most[a] < self.at_most[b] for a, b in pairwise(levels)):
            raise ValueError("a higher level may not allow more than a lower one")
        return self

    @property
    def floor(self) -> int:
        """The level left when no listed limit is kept."""
        return min(self.at_most) - 1

    def caps(self, top: int) -> set[int]:
        """Every cap that some figure would put on the level."""
        return {self.floor, *(self.cap(most, top) for most in self.at_most.values())}

    def cap(self, figure: float, top: int) -> int:
        """The highest level that `figure` allows; `top` when it keeps the strictest limit."""
        kept = [level for level, most in self.at_most.items() if figure <= most + 1e-9]
        if not kept:
            return self.floor
        return top if len(kept) == len(self.at_most) else max(kept)

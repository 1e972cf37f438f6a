"""One practice shear: two blades, what kind they are, what is known to be wrong with them."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, StringConstraints, model_validator

from evalkit.domain.value import Key, Line, Note, Value


class EdgeType(StrEnum):
    """How the edge is made. Kept as made: turning one into another is a fault, not a style."""

    CONVEX = "convex"
    SEMI_CONVEX = "semi-convex"
    BEVEL = "bevel"
    MICRO_SERRATED = "micro-serrated"
    SWORD = "sword"
    TOOTHED = "toothed"


class Blade(StrEnum):
    """Named by the ring it is joined to, so that no picture can turn it round."""

    THUMB = "thumb"
    FINGER = "finger"


class Station(StrEnum):
    """Thirds of the cutting edge, from the pivot outward."""

    HEEL = "heel"
    MIDDLE = "middle"
    TIP = "tip"


class Hand(StrEnum):
    """The hand it is made for: a left pair is a mirror, not a right pair held in the left hand."""

    RIGHT = "right"
    LEFT = "left"


class Make(StrEnum):
    """Often not to be told by eye: unknown is an honest answer."""

    FORGED = "forged"
    CAST = "cast"
    UNKNOWN = "unknown"


class Handle(StrEnum):
    """How the rings stand to each other."""

    LEVEL = "level"
    SEMI_OFFSET = "semi-offset"
    OFFSET = "offset"
    CRANE = "crane"
    SWIVEL = "swivel thumb"
    UNKNOWN = "unknown"


class SizeMethod(StrEnum):
    """The finger rest comes off, so a size without its method can be half an inch out."""

    WITHOUT_REST = "without rest"
    WITH_REST = "with rest"
    UNKNOWN = "unknown"


class EdgeLine(StrEnum):
    """The long curve of the edge from pivot to tip."""

    STRAIGHT = "straight"
    BAMBOO_LEAF = "bamboo-leaf"
    WILLOW_LEAF = "willow-leaf"
    UNKNOWN = "unknown"


class KnownFault(Value):
    """A fault the mentor knows of before the box leaves."""

    tag: Key
    severity: int = Field(default=2, ge=1, le=3, description="1 slight, 2 plain, 3 grave")
    blade: Blade | None = None
    station: Station | None = None
    note: Note = ""


class Pair(Value):
    """One shear of the stock. Its tag is never used again for another."""

    tag: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,19}$")]
    edge_type: EdgeType
    edge_line: EdgeLine = EdgeLine.UNKNOWN
    size_in: Decimal = Field(ge=4, le=10, description="nominal size in inches, in steps of a quarter")
    size_method: SizeMethod = SizeMethod.WITHOUT_REST
    blade_length_mm: float | None = Field(default=None, gt=20, lt=200)
    hand: Hand = Hand.RIGHT
    handle: Handle = Handle.UNKNOWN
    make: Make = Make.UNKNOWN
    teeth: int | None = Field(default=None, ge=3, le=80)
    pivot: Line = ""
    faults: tuple[KnownFault, ...] = ()
    difficulty: int = Field(default=2, ge=1, le=5)
    declared_value: Decimal | None = Field(default=None, ge=0, max_digits=9, decimal_places=2)
    currency: Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$")] | None = None
    origin: Note = ""
    weight_g: float | None = Field(default=None, gt=0, lt=2_000)

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if (self.size_in * 4) % 1:
            raise ValueError(f"size {self.size_in} in is not a step of a quarter inch")
        if self.teeth is not None and self.edge_type is not EdgeType.TOOTHED:
            raise ValueError(f"a {self.edge_type} pair has no teeth; leave teeth out or make it toothed")
        if (self.declared_value is None) != (self.currency is None):
            raise ValueError("a declared value needs its currency, and a currency its value")
        return self

    @property
    def words(self) -> str:
        """The pair in one line, as one would say it over the bench."""
        hand = ", left-handed" if self.hand is Hand.LEFT else ""
        teeth = f", {self.teeth} teeth" if self.teeth else ""
        return f"{self.edge_type}, {self.size_in} in{teeth}{hand}"

"""Units of the bench and how one becomes another. Nothing is stored without its unit or its convention."""

from __future__ import annotations

import math
from enum import StrEnum

from evalkit.errors import InputError

MM_PER_INCH = 25.4
"""Exact by definition (international inch, 1959)."""

RIGHT_ANGLE = 90.0


class Unit(StrEnum):
    """A unit, with the convention where a number alone would mislead."""

    MM = "mm"
    INCH = "in"
    DEG_INCLUDED = "deg included"
    DEG_DIAL = "deg dial"
    DEG_OPEN = "deg open"
    MM_TIP_GAP = "mm tip gap"
    COUNT = "count"


SHORT = {
    Unit.MM: "mm",
    Unit.INCH: "in",
    Unit.DEG_INCLUDED: "° included",
    Unit.DEG_DIAL: "° on the dial",
    Unit.DEG_OPEN: "° open",
    Unit.MM_TIP_GAP: "mm tip gap",
    Unit.COUNT: "counted",
}


def included_from_dial(dial_deg: float) -> float:
    """The bench dial reads 90 minus the included angle, so larger is finer there; 45 is 45 on both."""
    return RIGHT_ANGLE - dial_deg


def tip_gap_mm(open_deg: float, blade_length_mm: float) -> float:
    """The gap between the tips of blades of one length that stand `open_deg` apart: the chord of that angle."""
    return 2 * blade_length_mm * math.sin(math.radians(open_deg) / 2)


def open_deg_from_gap(gap_mm: float, blade_length_mm: float) -> float:
    """The angle whose chord is `gap_mm`. Raises InputError when the blades are too short for that gap."""
    share = gap_mm / (2 * blade_length_mm)
    if not 0 <= share <= 1:
        raise InputError(
            f"a tip gap of {gap_mm:g} mm is not possible with blades of {blade_length_mm:g} mm.",
            mend="Measure the gap again, or mend the blade length of the pair.",
        )
    return math.degrees(2 * math.asin(share))


def convert(number: float, unit: Unit, to: Unit, *, blade_length_mm: float | None = None) -> float:
    """`number` of `unit`, in `to`. Raises InputError when the two do not measure the same thing."""
    if unit is to:
        return number
    match (unit, to):
        case (Unit.INCH, Unit.MM):
            return number * MM_PER_INCH
        case (Unit.MM, Unit.INCH):
            return number / MM_PER_INCH
        case (Unit.DEG_DIAL, Unit.DEG_INCLUDED) | (Unit.DEG_INCLUDED, Unit.DEG_DIAL):
            return included_from_dial(number)
        case (Unit.MM_TIP_GAP, Unit.DEG_OPEN) if blade_length_mm is not None:
            return open_deg_from_gap(number, blade_length_mm)
        case (Unit.MM_TIP_GAP, Unit.DEG_OPEN):
            raise InputError(
                "a tip gap becomes an angle only with the blade length.", mend="Give the pair its blade length in mm."
            )
        case _:
            raise InputError(f"{unit} does not measure what {to} measures.", mend=f"Give the value in {to}.")


def doubt_in(
    doubt: float, unit: Unit, to: Unit, *, number: float | None = None, blade_length_mm: float | None = None
) -> float:
    """An expanded doubt (k = 2) of a value `number` of `unit`, carried into another unit to first order.

    Dial and included angles keep theirs. A tip gap needs its `number` and the blade length, because the angle that
    belongs to one mm grows as the blades open. Raises InputError without them, or when the units do not meet.
    """
    if unit is to or {unit, to} == {Unit.DEG_DIAL, Unit.DEG_INCLUDED}:
        return abs(doubt)
    if (unit, to) == (Unit.MM_TIP_GAP, Unit.DEG_OPEN) and number is not None and blade_length_mm is not None:
        half_rad = math.radians(open_deg_from_gap(number, blade_length_mm)) / 2
        return math.degrees(abs(doubt) / (blade_length_mm * max(math.cos(half_rad), 1e-6)))
    return abs(convert(doubt, unit, to))

"""Numbers, units and the drop method as they are written on a sheet: '0.40 ± 0.05 mm', '1/64 in', '45 dial'."""

from __future__ import annotations

import re

from pydantic import ValidationError

from evalkit.domain.criterion import CriterionOn
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade
from evalkit.domain.reading import SeenMeasure
from evalkit.errors import InputError
from evalkit.files.sheets.text import number_words, plain, quoted


class ValueWordsError(InputError):
    """Words that say nothing the criterion could take."""


NUMBER = r"-?(?:[0-9]+ +)?[0-9]+/[0-9]+|-?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
"""Pattern of a number: a point or a comma, or a fraction."""
_MEASURE = re.compile(rf"({NUMBER})([^0-9±+]*)(?:(?:±|\+/?-)\s*({NUMBER})([^0-9]*))?")
_DROP = re.compile(r"(?:(thumb|finger) ring)?(?:(?:(?<=ring),? )?from ([0-9.]+)(?: ?°| deg)?)?")
_LENGTH: dict[Unit, tuple[str, ...]] = {
    Unit.MM: ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    Unit.INCH: ("in", "inch", "inches", '"', "″"),
}
_ANGLE: dict[Unit, tuple[str, ...]] = {
    Unit.DEG_INCLUDED: ("included", "deg included", "incl", "inc"),
    Unit.DEG_DIAL: ("dial", "deg dial", "on the dial", "deg on the dial"),
}
_DROP_ANGLE: dict[Unit, tuple[str, ...]] = {
    Unit.DEG_OPEN: ("open", "deg open"),
    Unit.MM_TIP_GAP: ("mm tip gap", "mm gap", "mm"),
}
_FAMILIES: tuple[dict[Unit, tuple[str, ...]], ...] = (_LENGTH, _ANGLE, _DROP_ANGLE, {Unit.COUNT: ("count",)})
_UNIT_WORDS = {
    Unit.MM: "mm",
    Unit.INCH: "in",
    Unit.DEG_INCLUDED: "included",
    Unit.DEG_DIAL: "dial",
    Unit.DEG_OPEN: "open",
    Unit.MM_TIP_GAP: "mm tip gap",
    Unit.COUNT: "count",
}
_ANY_DEGREE = ("deg", "degree", "degrees")


def measure_of(on: CriterionOn, words: str) -> SeenMeasure | None:
    """A measured value with its unit and doubt; None when the words are no number. Raises ValueWordsError."""
    match = _MEASURE.fullmatch(words)
    if match is None:
        return None
    unit_words, doubt_words = match[2].strip(), (match[4] or "").strip()
    unit = _unit(on, unit_words or doubt_words)
    if unit_words and doubt_words and unit is not _unit(on, doubt_words):
        raise ValueWordsError(f"{quoted(words)} has two units.", mend="Give the value and its doubt in one unit.")
    doubt = number_of(match[3]) if match[3] else None
    try:
        return SeenMeasure(number=number_of(match[1]), unit=unit, doubt=doubt)
    except ValidationError as error:
        raise impossible(words, error) from None


def _unit(on: CriterionOn, words: str) -> Unit:
    """The unit of these words among those that measure the criterion; none, or degrees alone: the criterion's own."""
    family = next(units for units in _FAMILIES if on.unit in units)
    words = " ".join(words.replace("°", " deg ").split())
    words = re.sub(r"^degrees?\b", "deg", words)
    if on.unit is not None and (not words or (words in _ANY_DEGREE and on.unit.startswith("deg"))):
        return on.unit
    for unit, forms in family.items():
        if words in forms:
            return unit
    units = " or ".join(f"'{_UNIT_WORDS[unit]}'" for unit in family)
    raise ValueWordsError(f"{quoted(words)} does not measure '{on.name}'.", mend=f"Give it in {units}.")


def with_drop_method(seen: SeenMeasure, remarks: list[str]) -> tuple[SeenMeasure, list[str]]:
    """The drop test with ring and start angle, taken from the first remark when that is what it says."""
    method = _DROP.fullmatch(plain(remarks[0]))
    if method is None or seen.unit not in _DROP_ANGLE or not (method[1] or method[2]):
        return seen, remarks
    try:
        ring = Blade(method[1]) if method[1] else None
        start_deg = float(method[2]) if method[2] else None
        return SeenMeasure(**{**seen.model_dump(), "ring": ring, "start_deg": start_deg}), remarks[1:]
    except (ValidationError, ValueError):
        raise ValueWordsError(
            f"{quoted(remarks[0])} is no way to drop a blade.", mend="Write it like (finger ring, from 90)."
        ) from None


def is_drop_method(remark: str) -> bool:
    """True for a remark that `with_drop_method` would take for its own."""
    return _DROP.fullmatch(plain(remark)) is not None


def number_of(text: str) -> float:
    """A number with a point or a comma, or a fraction such as 1/64 or 1 1/2. Raises ValueWordsError on n/0."""
    whole, _, fraction = text.rpartition(" ")
    over, slash, under = fraction.partition("/")
    if not slash:
        return float(text.replace(",", "."))
    if not float(under):
        raise ValueWordsError(f"{quoted(text)} is not a number.", mend="Nothing can be parted by 0.")
    part = float(over) / float(under)
    return part if not whole else float(whole) + (-part if whole.startswith("-") else part)


def impossible(words: str, error: ValidationError) -> ValueWordsError:
    """What a value's own check says, as an error about the words."""
    first = error.errors()[0]["msg"].removeprefix("Value error, ")
    return ValueWordsError(f"{quoted(words)} cannot be: {first[:1].lower()}{first[1:]}.", mend="Look at it again.")


def measure_words(on: CriterionOn, seen: SeenMeasure) -> str:
    """A measured value in the words that `measure_of` and `with_drop_method` read back."""
    words = number_words(seen.number)
    if seen.doubt is not None:
        words += f" ± {number_words(seen.doubt)}"
    if seen.unit is not on.unit:
        words += f" {_UNIT_WORDS[seen.unit]}"
    ring = f"{seen.ring} ring" if seen.ring else ""
    start = f"from {number_words(seen.start_deg)}" if seen.start_deg is not None else ""
    method = ", ".join(part for part in (ring, start) if part)
    return f"{words} ({method})" if method else words

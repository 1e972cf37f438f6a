"""What is wrong with what was typed for a value, field by field, in plain words with an example."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from evalkit.domain.value import Value
from evalkit.errors import InputError
from evalkit.files.plain_words import nearest_words, shown_words

Model = TypeVar("Model", bound=Value)

NAMES = {
    "blade_length_mm": "blade length",
    "carrier_ref": "carrier reference",
    "declared_value": "value",
    "edge_line": "edge line",
    "edge_type": "edge type",
    "faults": "fault",
    "size_in": "size",
    "size_method": "size method",
    "weight_g": "weight",
}
"""Fields whose name is not what one would say."""
EXAMPLES = {
    "blade_length_mm": "Millimetres from tip to pivot centre, like 66.5.",
    "currency": "Three capital letters, like EUR.",
    "declared_value": "A sum with at most two decimals, like 40.50.",
    "difficulty": "A whole number from 1 (easy) to 5 (hard).",
    "edge_type": "For example: convex.",
    "key": "Small letters, digits and hyphens, like teo or summer-1.",
    "name": "For example: Teo Marsk.",
    "severity": "1 slight, 2 plain or 3 grave, like nick:2.",
    "size_in": "Inches in steps of a quarter, like 6.0 or 5.25.",
    "tag": "Letters, digits and hyphens, at most 20, like S-101.",
    "teeth": "A whole number, like 30.",
    "weight_g": "Grams of the pair alone, like 62.",
}
FAULT_TAG = "Small letters, digits and hyphens, like nick or dull-tip."
BOUNDS = {
    "greater_than_equal": ("at least", "ge"),
    "greater_than": ("more than", "gt"),
    "less_than_equal": ("at most", "le"),
    "less_than": ("less than", "lt"),
}
SAID = {
    **dict.fromkeys(
        ("decimal_parsing", "decimal_type", "float_parsing", "float_type", "finite_number"), "is no number."
    ),
    **dict.fromkeys(("int_parsing", "int_type", "int_from_float", "int_parsing_size"), "is no whole number."),
    **dict.fromkeys(("decimal_max_digits", "decimal_max_places", "decimal_whole_digits"), "has too many digits."),
}
CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")


def made_of(model: type[Model], fields: Mapping[str, object], *, where: str) -> Model:
    """A value from what was typed. Raises InputError with the first fault."""
    try:
        return model.model_validate(fields)
    except ValidationError as error:
        what, mend = faults_in_words(error)[0]
        raise InputError(what, mend=mend, where=where) from None


def faults_in_words(error: ValidationError, names: Mapping[str, str] = NAMES) -> list[tuple[str, str]]:
    """(what, how to mend it) of every fault, in the order of the fields; a field is called by its name in `names`."""
    return [_fault(one, names) for one in error.errors(include_url=False)]


def _fault(error: ErrorDetails, names: Mapping[str, str]) -> tuple[str, str]:
    where = _where(error["loc"], names)
    what, mend = _words(error)
    return (f"{where}: {what}" if where else what), mend


def _where(loc: tuple[int | str, ...], names: Mapping[str, str]) -> str:
    """'size', 'fault 1, severity'; '' for the whole."""
    words = ""
    for part in loc:
        if isinstance(part, int):
            words += f" {part + 1}"
        else:
            words += (", " if words else "") + names.get(part, part)
    return words


def _words(error: ErrorDetails) -> tuple[str, str]:
    kind, ctx, value = error["type"], error.get("ctx", {}), error["input"]
    mend = _example(error["loc"])
    if kind in BOUNDS:
        words, key = BOUNDS[kind]
        return f"{shown_words(value)} is not possible; it must be {words} {ctx[key]}.", mend
    match kind:
        case "missing" | "string_too_short":
            return ("it is missing." if kind == "missing" else "it is empty."), mend
        case "value_error":
            return f"{error['msg'].removeprefix('Value error, ')}.", mend
        case "enum":
            return f"{shown_words(value)} is not known here.", _choice_words(str(value), str(ctx["expected"]))
        case "string_too_long":
            return "it is too long.", f"It takes at most {ctx['max_length']} signs."
        case "string_pattern_mismatch":
            return _bad_text(value, mend)
        case _:
            return f"{shown_words(value)} {SAID.get(kind, 'cannot stand here.')}", mend


def _example(loc: tuple[int | str, ...]) -> str:
    field = loc[-1] if loc else ""
    if loc[:1] == ("faults",) and field == "tag":
        return FAULT_TAG
    return EXAMPLES.get(str(field), "Give another value.")


def _choice_words(said: str, expected: str) -> str:
    """'Did you mean ...?' where something is near, and all that it takes."""
    choices = re.findall(r"'([^']+)'", expected)
    takes = f"It takes: {', '.join(choices)}."
    near = nearest_words(said, choices, "It takes")
    return takes if near == takes else f"{near} {takes}"


def _bad_text(value: object, mend: str) -> tuple[str, str]:
    if CONTROL.search(str(value)):
        return "it holds a line break or a sign that no page can show.", "Write it on one line, in plain signs."
    return ("it is empty." if not str(value).strip() else f"{shown_words(value)} cannot stand here."), mend

"""What is wrong with the fields of a file, in words a craftsperson would use, each with its remedy."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterable, Iterator
from datetime import date, time
from difflib import get_close_matches
from types import NoneType
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from evalkit.domain.bands import Band, Limit
from evalkit.domain.causes import Pattern
from evalkit.domain.rubric_fault import FIELDS_ONLY, RubricFault
from evalkit.files.toml_text import Table

Model = TypeVar("Model", bound=BaseModel)
Loc = tuple[str | int, ...]

MAX_FAULTS = 100
"""Told of one file; who has more has given the wrong file, or will mend the first hundred first."""


def validated(model: type[Model], data: object, *, context: str | None = None) -> Model:
    """The model of a table, checked as JSON would be: a context may ask for fields only."""
    # By way of JSON: there pydantic can be strict ("8" is no number, 8.0 no whole one) and still make enums of text.
    text = json.dumps(data, default=lambda _moment: {})  # a date is no text, so it must not become one
    return model.model_validate_json(text, strict=True, context=context, by_alias=True, by_name=False)


def respell(model: type[BaseModel], data: Table) -> tuple[list[RubricFault], Table, dict[Loc, Loc]]:
    """Faults of unknown keys; `data` with each under the name that was surely meant, or left out; {right: wrong} paths.

    So one slip of the pen hides nothing else that is wrong, and makes nothing seem missing.
    """
    try:
        validated(model, data, context=FIELDS_ONLY)
    except ValidationError as error:
        locs = [one["loc"] for one in _first(error) if one["type"] == "extra_forbidden"]
    else:
        return [], data, {}
    data = copy.deepcopy(data)
    faults, renamed = [], {}
    for loc in locs:
        wrong = str(loc[-1])
        owner, _, _ = _owner(model, loc)
        known = _names(owner)
        faults.append(
            RubricFault(loc, f"{shown_words(wrong)} is not known here", nearest_words(wrong, known, "Known here"))
        )
        table = _value_at(data, loc[:-1])
        meant = get_close_matches(wrong, known, n=1)
        if meant and meant[0] not in table:
            table[meant[0]] = table.pop(wrong)
            renamed[(*loc[:-1], meant[0])] = loc
        elif owner not in REMEDIES:  # a band without its odd key would be another band, and seem wrong in other ways
            del table[wrong]
    return faults, data, renamed


def field_faults(model: type[BaseModel], data: Table) -> Iterator[RubricFault]:
    """Every fault of single fields, unknown keys left out."""
    try:
        validated(model, data, context=FIELDS_ONLY)
    except ValidationError as error:
        for one in _first(error):
            if one["type"] != "extra_forbidden" and not _is_echo(one, data):  # unknown keys are told by `respell`
                yield RubricFault(one["loc"], *_plain(model, one, data))


def _is_echo(error: ErrorDetails, data: Table) -> bool:
    """A list of which each part is faulty counts as empty for pydantic, but not for whoever wrote it."""
    return error["type"] == "too_short" and len(_value_at(data, error["loc"]) or ()) >= error["ctx"]["min_length"]


def _first(error: ValidationError) -> list[ErrorDetails]:
    return error.errors(include_url=False, include_input=False)[: 2 * MAX_FAULTS]


def _plain(model: type[BaseModel], error: ErrorDetails, data: Table) -> tuple[str, str]:
    """(what, how to mend it) of one of pydantic's errors, in words of the bench."""
    loc, ctx = error["loc"], error.get("ctx", {})
    is_key = bool(loc) and loc[-1] == "[key]"  # so pydantic says that the key of a table is wrong, not what it holds
    owner, field, here = _owner(model, loc[:-2] if is_key else loc)
    value = loc[-2] if is_key else _value_at(data, loc)
    example = EXAMPLES.get(f"{owner.__name__}.{field}") or EXAMPLES.get(field, f"{field} = ...")
    match error["type"]:
        case "missing":
            return f"'{field}' is missing", f"Add: {example}."
        case "value_error":
            return error["msg"].removeprefix("Value error, "), REMEDIES.get(here, "Mend this table.")
        case "enum":
            choices = re.findall(r"'([^']+)'", str(ctx["expected"]))
            return f"{shown_words(value)} cannot stand in '{field}'", nearest_words(str(value), choices, "It takes")
        case "int_parsing":
            return (
                f"{shown_words(value)} in '{field}' is no level",
                f"Levels are whole numbers, for example: {example}.",
            )
        case "finite_number":
            return f"'{field}' is {value}, which is no number of the bench", "Leave it out where there is no end."
        case "string_pattern_mismatch":
            return _bad_text(field, value, str(ctx["pattern"]))
        case kind if kind in TAKES:
            return f"'{field}' takes {TAKES[kind]}; here stands {_kind_of(value)}", f"For example: {example}."
        case _:
            return _bad_size(field, value, error, example)


def _bad_size(field: str, value: object, error: ErrorDetails, example: str) -> tuple[str, str]:
    kind, ctx = error["type"], error.get("ctx", {})
    if kind in BOUNDS:
        return f"'{field}' is {shown_words(value)}", f"It must be {BOUNDS[kind]} {next(iter(ctx.values())):g}."
    if kind in ("string_too_long", "too_long"):
        return f"'{field}' is too long", f"It takes at most {ctx['max_length']} {UNITS[kind]}."
    if kind in ("string_too_short", "too_short"):
        return f"'{field}' is empty or too short", f"For example: {example}."
    return f"'{field}': {error['msg']}", "Mend this line."


def _bad_text(field: str, value: object, pattern: str) -> tuple[str, str]:
    if "a-z" in pattern:
        slug = re.sub(r"[^a-z0-9]+", "-", str(value).lower()).strip("-")[:40].strip("-") or "dry-tissue"
        return (
            f"{shown_words(value)} in '{field}' cannot be a key",
            f"Small letters, digits and hyphens, at most 40 in all: for example '{slug}'.",
        )
    if r"\x00-\x1f" in pattern and {"\n", "\r"} & set(str(value)):
        return f"'{field}' runs over more than one line", "Write it on one line."
    return f"'{field}' holds a sign that no page can show (a control character)", "Take it out."


TAKES = {
    "string_type": "text, in quotes",
    "int_type": "a whole number, without quotes",
    "float_type": "a number, without quotes",
    "tuple_type": "a list, in [ ]",
    "dict_type": "a table, in { } or under a header",
    "model_type": "a table, in { } or under a header",
}
BOUNDS = {
    "greater_than_equal": "at least",
    "greater_than": "more than",
    "less_than_equal": "at most",
    "less_than": "less than",
}
UNITS = {"string_too_long": "signs", "too_long": "entries"}
REMEDIES: dict[object, str] = {
    Band: "For example: { level = 2, from = 20, to = 45 }, or { level = 2, within = 4 } of the target.",
    Limit: 'For example: { of = "widest over narrowest", at_most = { 3 = 1.5, 2 = 2.0 } }.',
    Pattern: 'For example: { criteria = ["hair"], cuts = ["push"] }, or { criteria = ["burr"], at_most = 1 }.',
}
EXAMPLES = {
    "about": 'about = "For the first rounds"',
    "above": "above = 45",
    "at_least": "at_least = 2",
    "at_most": "at_most = 1",
    "bands": "bands = [{ level = 3, to = 0.6 }, { level = 2, to = 1.0 }]",
    "below": "below = 45",
    "blades": 'blades = ["thumb", "finger"]',
    "Cause.causes": 'causes = ["nick", "burr"]',
    "Cause.edge_types": 'edge_types = ["convex", "semi-convex"]',
    "CauseMap.causes": "[[causes]], a header over each row",
    "criteria": "[[criteria]], a header over each criterion",
    "cuts": "cuts = { clean = 3, catch = 1, fold = 1, push = 1, tear = 0, 'not cut' = 0 }",
    "drop_test": 'drop_test = { ring = "finger", start_deg = 90 }',
    "edge_types": 'edge_types = ["convex", "semi-convex"]',
    "fit": "fit = 2",
    "format": "format = 1",
    "from": "from = 20",
    "harder_with": '[harder_with], a header, and under it: nick = ["burr", "wet-tissue"]',
    "key": 'key = "dry-tissue"',
    "level": "level = 2",
    "levels": 'levels = ["fails", "works in part", "fit for a customer", "as good as new"]',
    "Limit.at_most": "at_most = { 3 = 1.5, 2 = 2.0 }",
    "limits": 'limits = [{ of = "widest over narrowest", at_most = { 3 = 1.5, 2 = 2.0 } }]',
    "mark": "mark = 75",
    "media": 'media = ["hair"]',
    "must_pass": "must_pass = 2",
    "name": 'name = "Dry tissue"',
    "observed": 'observed = "Catches at one spot"',
    "of": 'of = "places below fit"',
    "Pattern.blades": 'blades = ["thumb"]',
    "Pattern.criteria": 'criteria = ["hair"]',
    "Pattern.cuts": 'cuts = ["push", "fold"]',
    "push_mm": "push_mm = { 3 = 0.5, 2 = 2 }",
    "ring": 'ring = "finger"',
    "say": 'say = "Tension first, then cut again."',
    "source": 'source = "from memory"',
    "start_deg": "start_deg = 90",
    "stations": 'stations = ["heel", "middle", "tip"]',
    "target": "target = 45",
    "to": "to = 45",
    "types": '[criteria.types.bevel], a header, and under it: use = "advisory"',
    "unless": 'unless = [{ criteria = ["hair"], cuts = ["fold"] }]',
    "weight": "weight = 8",
    "when": 'when = [{ criteria = ["hair"], cuts = ["push"] }]',
    "within": "within = 4",
}


def _names(model: type[BaseModel]) -> tuple[str, ...]:
    """The keys of a table as they stand in a file."""
    return tuple(info.alias or name for name, info in model.model_fields.items())


def _owner(model: type[BaseModel], loc: Loc) -> tuple[type[BaseModel], str, object]:
    """The innermost model on the way to `loc`, which of its keys leads on, and what type stands at `loc` itself."""
    owner, field, here = model, "", _given(model)
    for part in loc:
        if isinstance(here, type) and issubclass(here, BaseModel):
            owner, field = here, str(part)
            inner = (info.annotation for name, info in here.model_fields.items() if part == (info.alias or name))
            here = _given(next(inner, None))
        else:
            here = _given(next((one for one in reversed(get_args(here)) if one is not Ellipsis), None))
    return owner, field, here


def _given(annotation: object) -> object:
    """The type without its `| None`."""
    return (
        next((one for one in get_args(annotation) if one is not NoneType), None)
        if _is_optional(annotation)
        else annotation
    )


def _is_optional(annotation: object) -> bool:
    return NoneType in get_args(annotation)


def _value_at(data: Any, loc: Iterable[str | int]) -> Any:  # noqa: ANN401 -- whatever stands in the file
    for part in loc:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _kind_of(value: object) -> str:
    match value:
        case bool():
            return str(value).lower()
        case int() | float():
            return f"the number {value}"
        case str():
            return f"the text {shown_words(value)}"
        case list():
            return "a list"
        case date() | time():
            return "a date or time"
        case _:
            return "a table"


def shown_words(value: object) -> str:
    """In quotes, at most 40 signs, with everything escaped that could move a terminal's cursor."""
    text = str(value)
    text = text if len(text) <= 40 else text[:39] + "…"
    return "'" + "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text) + "'"


def nearest_words(said: str, known: Iterable[str], those: str) -> str:
    """'Did you mean …?' where something known is near, else what is known."""
    known = list(known)
    near = get_close_matches(said[:80], known, n=1)
    return f"Did you mean '{near[0]}'?" if near else f"{those}: {', '.join(known)}."


def sentence(words: str) -> str:
    """The same words with a capital and a full stop."""
    return words if words.endswith((".", "?")) else words + "."

"""Rubric files and cause maps read into their models: every fault of a file at once, each with line and remedy."""

from __future__ import annotations

import copy
import json
import os
import re
import tomllib
from collections.abc import Callable, Collection, Iterable, Iterator
from datetime import date, time
from difflib import get_close_matches
from pathlib import Path
from types import NoneType
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from evalkit.domain.causes import CauseMap, Pattern
from evalkit.domain.pair import EdgeType
from evalkit.domain.rubric import (
    FIELDS_ONLY,
    Band,
    Criterion,
    Limit,
    Rubric,
    RubricFault,
    criterion_faults,
    rubric_faults,
)
from evalkit.errors import Fault, FileFaultsError, InputError, NotFoundError
from evalkit.files.places import rubrics_dir
from evalkit.files.toml_lines import line_of, locate

MAX_BYTES = 1_000_000
MAX_FAULTS = 100
"""Told of one file; who has more has given the wrong file, or will mend the first hundred first."""
LONG_KEY = re.compile(
    r"""(?<![\w.-])(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')(?:[ \t]*+\.[ \t]*+(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')){40}"""
)
"""A dotted key of more than 40 parts. tomllib's time grows with the square of their number."""
CAUSES_FILE = "causes.toml"
TOO_DEEP = ("Here tables or lists stand in each other a dozen deep.", "No rubric needs more than five.")

Model = TypeVar("Model", bound=BaseModel)
Loc = tuple[str | int, ...]
Table = dict[str, Any]


# --- reading -------------------------------------------------------------------------------------------------------


def load_rubric(path: Path) -> Rubric:
    """The rubric of a TOML file. Raises FileFaultsError with every fault of it, InputError when it cannot be read."""
    return _load(path, Rubric, _rubric_content_faults)


def load_causes(path: Path, *, criteria: Collection[str] | None = None) -> CauseMap:
    """The cause map of a TOML file; errors as `load_rubric`.

    With `criteria`, the keys of all rubrics at hand, a row that speaks of any other criterion is a fault.
    """

    def content_faults(data: Table) -> Iterator[RubricFault]:
        yield from _twice_faults(data)
        yield from _unknown_criteria(data, criteria)

    return _load(path, CauseMap, content_faults)


def list_rubrics(directory: Path) -> tuple[Rubric, ...]:
    """Every rubric of a folder, by file name. Raises FileFaultsError with the faults of all files that have some."""
    rubrics, faults = _read_all(directory)
    if faults:
        raise FileFaultsError(faults)
    return tuple(rubrics)


def find_rubric(name_or_path: str, own: Path | None = None) -> Rubric:
    """A rubric by its file; or by its key, in your `own` folder first, then among the shipped ones.

    Raises NotFoundError where there is none, FileFaultsError where the file named so has faults.
    """
    if name_or_path.endswith(".toml") or {"/", os.sep} & set(name_or_path):
        return load_rubric(Path(name_or_path))
    known: list[str] = []
    broken: set[str] = set()
    for folder in (own, rubrics_dir()):
        if folder is None:
            continue
        rubrics, faults = _read_all(folder)
        for rubric in rubrics:
            if rubric.key == name_or_path:
                return rubric
        named_so = [fault for fault in faults if Path(fault.path).stem == name_or_path]
        if named_so:
            raise FileFaultsError(named_so)
        known += [rubric.key for rubric in rubrics if rubric.key not in known]
        broken |= {fault.path for fault in faults}
    also = f" These have faults and were not looked into: {', '.join(sorted(broken))}." if broken else ""
    raise NotFoundError(
        f"There is no rubric {_shown(name_or_path)}.", mend=_nearest(name_or_path, known, "There are") + also
    )


def _read_all(directory: Path) -> tuple[list[Rubric], list[Fault]]:
    if not directory.is_dir():
        raise InputError("This folder of rubrics does not exist.", mend="Name one that does.", where=str(directory))
    rubrics: list[Rubric] = []
    faults: list[Fault] = []
    for path in sorted(directory.glob("*.toml")):
        if path.name != CAUSES_FILE:
            try:
                rubrics.append(load_rubric(path))
            except FileFaultsError as error:
                faults.extend(error.faults)
    return rubrics, faults


def _load(path: Path, model: type[Model], content_faults: Callable[[Table], Iterable[RubricFault]]) -> Model:
    text = _text_of(path)
    try:
        unknown, data, renamed = _respell(model, _table_of(path, text))
        found = [*unknown, *_field_faults(model, data), *content_faults(data)]
        if not found:
            return _validated(model, data)
    except RecursionError:
        raise _refused(path, 0, *TOO_DEEP) from None
    lines: dict[Loc, int] = dict(locate(text))
    for right, wrong in renamed.items():
        lines |= {(*right, *loc[len(wrong) :]): at for loc, at in lines.items() if loc[: len(wrong)] == wrong}
    faults = sorted({Fault(str(path), line_of(lines, fault.at), _sentence(fault.what), fault.mend) for fault in found})
    if len(faults) > MAX_FAULTS:
        more = f"This file has more than {MAX_FAULTS} faults; the first {MAX_FAULTS} are told."
        faults = [*faults[:MAX_FAULTS], Fault(str(path), 0, more, "Is it the right file? Mend these and look again.")]
    raise FileFaultsError(faults)


def _validated(model: type[Model], data: object, *, context: str | None = None) -> Model:
    # By way of JSON: there pydantic can be strict ("8" is no number, 8.0 no whole one) and still make enums of text.
    text = json.dumps(data, default=lambda _moment: {})  # a date is no text, so it must not become one
    return model.model_validate_json(text, strict=True, context=context, by_alias=True, by_name=False)


def _text_of(path: Path) -> str:
    if not path.exists():
        raise NotFoundError("There is no such file.", mend="Check its name and folder.", where=str(path))
    if not path.is_file():
        raise InputError("This is not a file.", mend="Name a file that ends in .toml.", where=str(path))
    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise InputError(
            f"This file cannot be read ({error.strerror}).", mend="Check who may read it.", where=str(path)
        ) from None
    if len(raw) > MAX_BYTES:
        raise _refused(
            path, 0, "This file is larger than 1 MB.", "A rubric takes a few dozen kB: is it the right file?"
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _refused(
            path, line, "Here the text is not UTF-8.", "Save the file again with the encoding UTF-8."
        ) from None


def _table_of(path: Path, text: str) -> Table:
    if long := LONG_KEY.search(text):
        line = text.count("\n", 0, long.start()) + 1
        raise _refused(path, line, "This key has more than 40 parts.", "No rubric needs more than four.")
    try:
        table = tomllib.loads(text)
    except ValueError as error:  # tomllib's own error, and Python's for numbers of thousands of digits
        raise _refused(path, _syntax_line(str(error), text), *_syntax(str(error))) from None
    for name, value in table.items():
        if _is_deep(value):
            raise _refused(path, locate(text)[name,], *TOO_DEEP)
    return table


def _is_deep(value: object) -> bool:
    """More than a dozen tables or lists in each other; what checks the content stops at some 200."""
    level = [value]
    for _ in range(12):
        level = [
            part
            for one in level
            if isinstance(one, dict | list)
            for part in (one.values() if isinstance(one, dict) else one)
        ]
    return bool(level)


def _refused(path: Path, line: int, what: str, mend: str) -> FileFaultsError:
    return FileFaultsError([Fault(str(path), line, what, mend)])


def _syntax_line(message: str, text: str) -> int:
    if at := re.search(r"\(at line (\d+), column \d+\)$", message):
        return int(at[1])
    return len(text.splitlines()) if message.endswith("(at end of document)") else 0


SYNTAX = (
    ("Cannot overwrite", "This key has a value already.",
     "Keep one of the two; a criterion begins with [[criteria]], a cause with [[causes]], in double brackets."),
    ("Cannot declare", "This header stands twice.", "Keep one; each criterion begins with a new [[criteria]]."),
    ("Cannot mutate", "This table was closed before.", "Put the line where the table stands."),
    ("Expected '='", "There is no = after the key.", "Write: key = value. A remark begins with #."),
    ("after a statement", "Something follows the value on its line.", "One key on a line; a remark begins with #."),
    ("Unclosed", "A list or table is not closed.", "Close it with ] or }, and put a comma between its parts."),
    ("Unterminated", "A text is not closed.", "Close it with the quotes it began with."),
    ("Illegal character", "A text is not closed on its line, or holds a sign that may not stand there.",
     'Close it with a quote; a text over several lines stands between """ and """.'),
    ("Expected ']", "A header is not closed.", "Write [name] or, for each criterion, [[criteria]]."),
    ("Unescaped", "A backslash stands alone in a text.", "Write it twice."),
    ("Invalid initial character", "A key is missing here.", "Write: key = value. A remark begins with #."),
    ("Invalid statement", "This is no key, header or remark.", "Write: key = value. A remark begins with #."),
    ("Invalid value", "This value cannot be read.", "Text stands in quotes; numbers, true and false do not."),
    ("Invalid date", "There is no such date.", "Rubrics hold no dates; put text in quotes."),
    ("Duplicate inline", "A key stands twice in these braces.", "Keep one of the two."),
    ("digits", "A number is thousands of digits long.", "Write a number of the bench."),
)  # fmt: skip


def _syntax(message: str) -> tuple[str, str]:
    if message.endswith("(at end of document)"):
        return "The file ends inside a text, list or table.", "Close the quote or bracket that was opened last."
    for sign, what, mend in SYNTAX:
        if sign in message:
            return what, mend
    return f"This cannot be read as TOML: {message.partition(' (at ')[0]}.", "Mend this line."


# --- content -------------------------------------------------------------------------------------------------------


def _rubric_content_faults(data: Table) -> Iterator[RubricFault]:
    """What the models find wrong beyond single fields, in every criterion whose own fields are right."""
    raw = data.get("criteria")
    rows = raw[:60] if isinstance(raw, list) else []
    ladder = data.get("levels")
    criteria: list[object] = []
    for at, row in enumerate(rows):
        try:
            criterion = _validated(Criterion, row, context=FIELDS_ONLY)
        except ValidationError as error:
            criteria.append(_sound_part(row, at, ladder, {str(one["loc"][0]) for one in error.errors() if one["loc"]}))
        else:
            criteria.append(row)
            yield from (fault.under("criteria", at) for fault in criterion_faults(criterion))
    rubric = _as_far_as_it_goes({**data, "criteria": criteria})
    if rubric is not None:
        yield from rubric_faults(rubric)


def _sound_part(row: object, at: int, ladder: object, wrong: set[str]) -> Table:
    """What can still be held against the rest of the rubric: a criterion without those of its fields that are wrong.

    Fields that are judged together go together, and it is given a weight, so that nothing seems wrong by what left.
    """
    together = {"kind", "unit", "target", "bands", "types"}
    wrong = wrong | together if wrong & together else wrong
    sound = {name: value for name, value in row.items() if name not in wrong} if isinstance(row, dict) else {}
    return {"key": f"criterion-{at + 1}", "name": "", "levels": ladder, **sound, "weight": 1}


def _as_far_as_it_goes(data: Table) -> Rubric | None:
    """The rubric without those of its head's fields that are wrong; None when its ladder of levels is."""
    head = {"key": "rubric", "name": "", **data}
    try:
        return _validated(Rubric, head, context=FIELDS_ONLY)
    except ValidationError as error:
        wrong = {str(one["loc"][0]) for one in error.errors()}
    if wrong & {"levels", "criteria"}:
        return None
    sound = {**{name: value for name, value in head.items() if name not in wrong}, "key": "rubric", "name": ""}
    if "edge_types" in wrong and isinstance(head["edge_types"], list):
        sound["edge_types"] = [one for one in EdgeType if one.value in head["edge_types"]]
    try:
        return _validated(Rubric, sound, context=FIELDS_ONLY)
    except ValidationError:
        return None


def _rows(data: Table) -> Iterator[tuple[int, Table]]:
    rows = data.get("causes")
    yield from ((at, row) for at, row in enumerate(rows if isinstance(rows, list) else ()) if isinstance(row, dict))


def _twice_faults(data: Table) -> Iterator[RubricFault]:
    seen: set[str] = set()
    for at, row in _rows(data):
        key = row.get("key")
        if isinstance(key, str) and key in seen:
            yield RubricFault(("causes", at, "key"), f"the key {_shown(key)} stands twice", "Give one another key.")
        seen.add(str(key))


def _unknown_criteria(data: Table, known: Collection[str] | None) -> Iterator[RubricFault]:
    for at, row in _rows(data) if known is not None else ():
        for part in ("when", "unless"):
            patterns = row.get(part)
            for n, pattern in enumerate(patterns if isinstance(patterns, list) else ()):
                named = pattern.get("criteria") if isinstance(pattern, dict) else None
                for key in named if isinstance(named, list) else ():
                    if isinstance(key, str) and key not in (known or ()):
                        yield RubricFault(
                            ("causes", at, part, n, "criteria"),
                            f"no rubric here has a criterion {_shown(key)}",
                            _nearest(key, known or (), "Known here"),
                        )


# --- fields, in plain words ----------------------------------------------------------------------------------------


def _respell(model: type[BaseModel], data: Table) -> tuple[list[RubricFault], Table, dict[Loc, Loc]]:
    """Faults of unknown keys; `data` with each under the name that was surely meant, or left out; {right: wrong} paths.

    So one slip of the pen hides nothing else that is wrong, and makes nothing seem missing.
    """
    try:
        _validated(model, data, context=FIELDS_ONLY)
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
        faults.append(RubricFault(loc, f"{_shown(wrong)} is not known here", _nearest(wrong, known, "Known here")))
        table = _value_at(data, loc[:-1])
        meant = get_close_matches(wrong, known, n=1)
        if meant and meant[0] not in table:
            table[meant[0]] = table.pop(wrong)
            renamed[(*loc[:-1], meant[0])] = loc
        elif owner not in REMEDIES:  # a band without its odd key would be another band, and seem wrong in other ways
            del table[wrong]
    return faults, data, renamed


def _field_faults(model: type[BaseModel], data: Table) -> Iterator[RubricFault]:
    try:
        _validated(model, data, context=FIELDS_ONLY)
    except ValidationError as error:
        for one in _first(error):
            if one["type"] != "extra_forbidden" and not _is_echo(one, data):  # unknown keys are told by `_respell`
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
            return f"{_shown(value)} cannot stand in '{field}'", _nearest(str(value), choices, "It takes")
        case "int_parsing":
            return f"{_shown(value)} in '{field}' is no level", f"Levels are whole numbers, for example: {example}."
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
        return f"'{field}' is {_shown(value)}", f"It must be {BOUNDS[kind]} {next(iter(ctx.values())):g}."
    if kind in ("string_too_long", "too_long"):
        return f"'{field}' is too long", f"It takes at most {ctx['max_length']} {UNITS[kind]}."
    if kind in ("string_too_short", "too_short"):
        return f"'{field}' is empty or too short", f"For example: {example}."
    return f"'{field}': {error['msg']}", "Mend this line."


def _bad_text(field: str, value: object, pattern: str) -> tuple[str, str]:
    if "a-z" in pattern:
        slug = re.sub(r"[^a-z0-9]+", "-", str(value).lower()).strip("-")[:40].strip("-") or "dry-tissue"
        return (
            f"{_shown(value)} in '{field}' cannot be a key",
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
            return f"the text {_shown(value)}"
        case list():
            return "a list"
        case date() | time():
            return "a date or time"
        case _:
            return "a table"


def _shown(value: object) -> str:
    """In quotes, at most 40 signs, with everything escaped that could move a terminal's cursor."""
    text = str(value)
    text = text if len(text) <= 40 else text[:39] + "…"
    return "'" + "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text) + "'"


def _nearest(said: str, known: Iterable[str], those: str) -> str:
    known = list(known)
    near = get_close_matches(said[:80], known, n=1)
    return f"Did you mean '{near[0]}'?" if near else f"{those}: {', '.join(known)}."


def _sentence(words: str) -> str:
    return words if words.endswith((".", "?")) else words + "."


# --- schemas -------------------------------------------------------------------------------------------------------


def rubric_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a rubric file."""
    return _schema(Rubric)


def causes_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a cause map."""
    return _schema(CauseMap)


def write_schemas(folder: Path) -> tuple[Path, ...]:
    """Write both schemas into `folder`, which is made if need be; answers their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, schema in (("rubric", rubric_schema()), ("causes", causes_schema())):
        path = folder / f"{name}.schema.json"
        half = path.with_suffix(".part")
        half.write_text(json.dumps(schema, indent=2, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
        half.replace(path)
        written.append(path)
    return tuple(written)


def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **model.model_json_schema(by_alias=True, mode="validation"),
    }

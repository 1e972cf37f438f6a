"""Rubric files and cause maps read into their models: every fault of a file at once, each with line and remedy."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from pydantic import ValidationError

from evalkit.domain.causes import CauseMap
from evalkit.domain.criterion import Criterion, criterion_faults
from evalkit.domain.pair import EdgeType
from evalkit.domain.rubric import Rubric, rubric_faults
from evalkit.domain.rubric_fault import FIELDS_ONLY, RubricFault
from evalkit.errors import EvalkitError, Fault, FileFaultsError, InputError, NotFoundError
from evalkit.files.places import rubrics_dir
from evalkit.files.plain_words import (
    MAX_FAULTS,
    Loc,
    Model,
    field_faults,
    nearest_words,
    respell,
    sentence,
    shown_words,
    validated,
)
from evalkit.files.toml_lines import line_of, locate
from evalkit.files.toml_text import TOO_DEEP, Table, refused, table_of, text_of

MAX_BYTES = 1_000_000
CAUSES_FILE = "causes.toml"


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


def sound_rubrics(own: Path | None) -> tuple[Rubric, ...]:
    """Every rubric without a fault, your `own` folder first; a key that stands twice is there once."""
    found: dict[str, Rubric] = {}
    for folder in (own, rubrics_dir()):
        for path in sorted(folder.glob("*.toml")) if folder is not None else ():
            with suppress(EvalkitError):  # the cause map is none, and the command line tells the faults of a file
                rubric = load_rubric(path)
                found.setdefault(rubric.key, rubric)
    return tuple(found.values())


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
        f"There is no rubric {shown_words(name_or_path)}.", mend=nearest_words(name_or_path, known, "There are") + also
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
    text = text_of(path)
    try:
        unknown, data, renamed = respell(model, table_of(path, text))
        found = [*unknown, *field_faults(model, data), *content_faults(data)]
        if not found:
            return validated(model, data)
    except RecursionError:
        raise refused(path, 0, *TOO_DEEP) from None
    lines: dict[Loc, int] = dict(locate(text))
    for right, wrong in renamed.items():
        lines |= {(*right, *loc[len(wrong) :]): at for loc, at in lines.items() if loc[: len(wrong)] == wrong}
    faults = sorted({Fault(str(path), line_of(lines, fault.at), sentence(fault.what), fault.mend) for fault in found})
    if len(faults) > MAX_FAULTS:
        more = f"This file has more than {MAX_FAULTS} faults; the first {MAX_FAULTS} are told."
        faults = [*faults[:MAX_FAULTS], Fault(str(path), 0, more, "Is it the right file? Mend these and look again.")]
    raise FileFaultsError(faults)


def _rubric_content_faults(data: Table) -> Iterator[RubricFault]:
    """What the models find wrong beyond single fields, in every criterion whose own fields are right."""
    raw = data.get("criteria")
    rows = raw[:60] if isinstance(raw, list) else []
    ladder = data.get("levels")
    criteria: list[object] = []
    is_each_named = True
    for at, row in enumerate(rows):
        try:
            criterion = validated(Criterion, row, context=FIELDS_ONLY)
        except ValidationError as error:
            wrong = {str(one["loc"][0]) for one in error.errors() if one["loc"]}
            is_each_named = is_each_named and "key" not in wrong
            criteria.append(_sound_part(row, at, ladder, wrong))
        else:
            criteria.append(row)
            yield from (fault.under("criteria", at) for fault in criterion_faults(criterion))
    head = {**data, "criteria": criteria}
    if not is_each_named:  # what a fault makes harder may be the very criterion whose key is wrong
        head.pop("harder_with", None)
    rubric = _as_far_as_it_goes(head)
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
        return validated(Rubric, head, context=FIELDS_ONLY)
    except ValidationError as error:
        wrong = {str(one["loc"][0]) for one in error.errors()}
    if wrong & {"levels", "criteria"}:
        return None
    sound = {**{name: value for name, value in head.items() if name not in wrong}, "key": "rubric", "name": ""}
    if "edge_types" in wrong and isinstance(head["edge_types"], list):
        sound["edge_types"] = [one for one in EdgeType if one.value in head["edge_types"]]
    try:
        return validated(Rubric, sound, context=FIELDS_ONLY)
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
            yield RubricFault(
                ("causes", at, "key"), f"the key {shown_words(key)} stands twice", "Give one another key."
            )
        seen.add(str(key))


def _unknown_criteria(data: Table, known: Collection[str] | None) -> Iterator[RubricFault]:
    for at, row in _rows(data) if known is not None else ():
        for part in ("when", "needs", "never", "unless"):
            patterns = row.get(part)
            for n, pattern in enumerate(patterns if isinstance(patterns, list) else ()):
                named = pattern.get("criteria") if isinstance(pattern, dict) else None
                for key in named if isinstance(named, list) else ():
                    if isinstance(key, str) and key not in (known or ()):
                        yield RubricFault(
                            ("causes", at, part, n, "criteria"),
                            f"no rubric here has a criterion {shown_words(key)}",
                            nearest_words(key, known or (), "Known here"),
                        )

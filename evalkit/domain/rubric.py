"""The list to judge by: criteria with stable keys on one ladder of levels, and what holds for all of them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from functools import cached_property
from itertools import pairwise
from typing import Self

from pydantic import Field, ValidationInfo, model_validator

from evalkit.domain.criterion import Criterion, CriterionOn, Use, Words
from evalkit.domain.pair import Blade, EdgeType
from evalkit.domain.rubric_fault import RubricFault, refuse
from evalkit.domain.value import Key, Line, Prose, Value

FORMAT = 1
"""Number of the rubric format. 1: first."""


class DropMethod(Value):
    """The one way the drop test is done under this rubric; another way is not comparable."""

    ring: Blade
    start_deg: float = Field(default=90, gt=0, le=180)


class Rubric(Value):
    """Criteria to judge a pair by. `fit` is the level fit for a customer; `mark` the score a pair must reach."""

    format_number: int = Field(default=FORMAT, alias="format", ge=1, le=FORMAT)
    key: Key
    name: Line
    about: Prose = ""
    levels: tuple[Words, ...] = Field(min_length=2, max_length=10)
    fit: int = Field(default=2, ge=1)
    mark: int = Field(default=75, ge=0, le=100)
    edge_types: tuple[EdgeType, ...] = tuple(EdgeType)
    drop_test: DropMethod | None = None
    criteria: tuple[Criterion, ...] = Field(min_length=1, max_length=60)
    harder_with: dict[Key, tuple[Key, ...]] = Field(default_factory=dict, max_length=60)
    """What a known fault of a pair makes harder: the fault's tag, and the keys of the criteria on which a pair that has
    it is expected to reach less than another pair of its difficulty."""

    @property
    def top(self) -> int:
        """The highest level, L."""
        return len(self.levels) - 1

    @cached_property
    def content(self) -> str:
        """One JSON text for what it says, in whatever order it was said.

        `harder_with` is younger than the first books: where nothing is said it does not stand here, so that what was
        frozen before keeps its digest. A further field must do the same.
        """
        plain = self.model_dump(mode="json", by_alias=True)
        if not self.harder_with:
            del plain["harder_with"]
        return json.dumps(plain, sort_keys=True, ensure_ascii=False)

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the content: the same words in another order of keys are the same rubric."""
        return hashlib.sha256(self.content.encode()).hexdigest()

    @cached_property
    def by_key(self) -> dict[str, Criterion]:
        return {criterion.key: criterion for criterion in self.criteria}

    @cached_property
    def _on(self) -> dict[EdgeType, tuple[CriterionOn, ...]]:
        return {kind: tuple(criterion.on(kind) for criterion in self.criteria) for kind in EdgeType}

    def on(self, edge_type: EdgeType) -> tuple[CriterionOn, ...]:
        """All criteria as they stand for one edge type, in the rubric's order."""
        return self._on[edge_type]

    @model_validator(mode="after")
    def _hangs_together(self, info: ValidationInfo) -> Self:
        refuse(rubric_faults(self), info)
        return self


def rubric_faults(rubric: Rubric) -> Iterator[RubricFault]:
    """What a whole rubric may get wrong though each criterion alone is right."""
    if rubric.fit > rubric.top:
        yield RubricFault(
            ("fit",), f"fit is level {rubric.fit}, but the ladder ends at {rubric.top}", f"Give 1 to {rubric.top}."
        )
    if not rubric.edge_types or len(set(rubric.edge_types)) < len(rubric.edge_types):
        yield RubricFault(
            ("edge_types",), "edge_types is empty or names one twice", "Name each edge type that it serves once."
        )
    seen: set[str] = set()
    for at, criterion in enumerate(rubric.criteria):
        here = ("criteria", at)
        if criterion.key in seen:
            yield RubricFault((*here, "key"), f"criterion '{criterion.key}' stands twice", "Give one another key.")
        seen.add(criterion.key)
        yield from (fault.under(*here) for fault in _ladder_faults(rubric, criterion))
    yield from _harder_faults(rubric)
    for kind in rubric.edge_types:
        if not any(criterion.on(kind).weight for criterion in rubric.criteria):
            yield RubricFault(
                ("criteria",), f"nothing counts for a {kind} pair", "Give a criterion a weight, or drop the edge type."
            )


def _harder_faults(rubric: Rubric) -> Iterator[RubricFault]:
    known = [criterion.key for criterion in rubric.criteria]
    for tag, keys in rubric.harder_with.items():
        here = ("harder_with", tag)
        if not keys:
            yield RubricFault(here, f"'{tag}' makes no criterion harder", "Name some, or take the line out.")
        if len(set(keys)) < len(keys):
            yield RubricFault(here, f"'{tag}' names a criterion twice", "Name each once.")
        for key in dict.fromkeys(keys):
            if key not in known:
                yield RubricFault(
                    here, f"'{tag}' names '{key}', which is no criterion here", f"The criteria are: {', '.join(known)}."
                )


def _ladder_faults(rubric: Rubric, criterion: Criterion) -> Iterator[RubricFault]:
    n = rubric.top + 1
    same = f"Word {n} levels, lowest first, as many as the rubric's own `levels`."
    if len(criterion.levels) != n:
        yield RubricFault(
            ("levels",), f"'{criterion.key}' words {len(criterion.levels)} levels, the ladder has {n}", same
        )
    for where, levels in _levels_named(criterion):
        if any(not 0 <= level <= rubric.top for level in levels):
            yield RubricFault(
                where, f"'{criterion.key}' names a level off the ladder", f"The levels are 0 to {rubric.top}."
            )
    said: set[str] = set()
    for kind in EdgeType:
        special = criterion.types.get(kind)
        if special is not None and special.levels is not None and len(special.levels) != n:
            yield RubricFault(
                ("types", kind.value, "levels"),
                f"'{criterion.key}' words {len(special.levels)} levels for {kind}",
                same,
            )
        if kind in rubric.edge_types and (special is None or special.use is not Use.NOT_APPLICABLE):
            own_bands = special is not None and (special.bands is not None or special.target is not None)
            where = ("types", kind.value) if own_bands else ("bands",)
            faults = [fault for fault in _band_faults(rubric, criterion.on(kind)) if own_bands or fault[0] not in said]
            said |= set() if own_bands else {what for what, _ in faults}
            yield from (RubricFault(where, *fault) for fault in faults)


def _levels_named(criterion: Criterion) -> Iterator[tuple[tuple[str | int, ...], tuple[int, ...]]]:
    yield ("must_pass",), (criterion.must_pass or 0,)
    yield ("cuts",), tuple(criterion.cuts.values())
    yield ("push_mm",), tuple(criterion.push_mm)
    for at, limit in enumerate(criterion.limits):
        yield ("limits", at), tuple(limit.at_most)
    for kind, special in criterion.types.items():
        yield ("types", kind.value, "push_mm"), tuple(special.push_mm or ())


def _band_faults(rubric: Rubric, on: CriterionOn) -> Iterator[tuple[str, str]]:
    """(what, how to mend it), the same words for every edge type that has the same bands."""
    if on.target is None and any(low == -high == float("-inf") for _, low, high in on.bands):
        yield f"'{on.key}' has bands 'within' a target, but no target", "Give a target, or bands with 'from' and 'to'."
        return
    levels = [level for level, _, _ in on.bands]
    if len(set(levels)) < len(levels):
        yield f"'{on.key}' has two bands for one level", "Leave one band for each level."
    if levels and levels[0] > rubric.top:
        yield f"'{on.key}' has a band for level {levels[0]}, off the ladder", f"The levels are 0 to {rubric.top}."
    elif levels and levels[0] < rubric.top:
        yield (
            f"'{on.key}' has no band for the top level {rubric.top}, so no pair could reach it",
            f"Add a band for level {rubric.top}.",
        )
    for (upper, low, high), (lower, low_2, high_2) in pairwise(on.bands):
        if low < low_2 or high > high_2:
            yield (
                f"'{on.key}': the band of level {upper} reaches outside that of level {lower}",
                "Make the lower level's band the wider one.",
            )

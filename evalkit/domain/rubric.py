"""The list to judge by: criteria with stable keys, ladders of levels, bands, must-pass, and where each applies."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from typing import Annotated, NamedTuple, Self

from pydantic import Field, StringConstraints, ValidationInfo, model_validator

from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import CutResult, Medium, Place
from evalkit.domain.value import Key, Line, Note, Prose, Value

FORMAT = 1
"""Number of the rubric format. 1: first."""

FIELDS_ONLY = "fields only"
"""Validation context that checks each field alone, so that whoever reads a file can ask `criterion_faults` and
`rubric_faults` for all the rest at once instead of being stopped by the first. Never keep a value made so."""

Words = Annotated[str, StringConstraints(min_length=1, max_length=240, strip_whitespace=True)]


class Kind(StrEnum):
    """How a criterion is read. A level by eye is allowed on every kind."""

    JUDGED = "judged"
    MEASURED = "measured"
    CUT = "cut"


class Combine(StrEnum):
    """How the places of one criterion become one level; median and mean are rounded down."""

    WORST = "worst"
    MEDIAN = "median"
    MEAN = "mean"


class Use(StrEnum):
    """What a criterion is for one edge type."""

    COUNTS = "counts"
    ADVISORY = "advisory"
    NOT_APPLICABLE = "not applicable"


class LimitOf(StrEnum):
    """What a limit is put on. All are computed from the readings of one criterion."""

    SPREAD = "spread along a blade"
    BLADES = "difference between blades"
    RATIO = "widest over narrowest"
    FAILING = "places below fit"


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


class OnType(Value):
    """What is different for one edge type. What is left out is as the criterion says."""

    use: Use = Use.COUNTS
    blades: tuple[Blade, ...] | None = None
    stations: tuple[Station, ...] | None = None
    target: float | None = None
    bands: tuple[Band, ...] | None = None
    push_mm: dict[int, float] | None = None
    levels: tuple[Words, ...] | None = None
    why: Note = ""


class DropMethod(Value):
    """The one way the drop test is done under this rubric; another way is not comparable."""

    ring: Blade
    start_deg: float = Field(default=90, gt=0, le=180)


class Criterion(Value):
    """One line of the rubric. `levels` says in the bench's words what earns each rung, lowest first."""

    key: Key
    name: Line
    kind: Kind = Kind.JUDGED
    ask: Prose = ""
    levels: tuple[Words, ...]
    blades: tuple[Blade, ...] = ()
    stations: tuple[Station, ...] = ()
    combine: Combine = Combine.WORST
    weight: int = Field(default=0, ge=0, le=1000)
    must_pass: int | None = Field(default=None, ge=1, le=9)
    unit: Unit | None = None
    target: float | None = None
    bands: tuple[Band, ...] = ()
    media: tuple[Medium, ...] = ()
    cuts: dict[CutResult, int] = Field(default_factory=dict)
    push_mm: dict[int, float] = Field(default_factory=dict)
    limits: tuple[Limit, ...] = ()
    types: dict[EdgeType, OnType] = Field(default_factory=dict)
    source: Note = ""

    @model_validator(mode="after")
    def _fits_its_kind(self, info: ValidationInfo) -> Self:
        _raise_any(criterion_faults(self), info)
        return self

    def on(self, edge_type: EdgeType) -> CriterionOn:
        """This criterion as it stands for one edge type."""
        special = self.types.get(edge_type, OnType())
        blades = self.blades if special.blades is None else special.blades
        stations = self.stations if special.stations is None else special.stations
        return CriterionOn(
            criterion=self,
            edge_type=edge_type,
            use=Use.ADVISORY if special.use is Use.COUNTS and self.weight == 0 else special.use,
            places=tuple(Place(blade, station) for blade in blades or (None,) for station in stations or (None,)),
            target=self.target if special.target is None else special.target,
            bands=self.bands if special.bands is None else special.bands,
            push_mm=self.push_mm if special.push_mm is None else special.push_mm,
            levels=self.levels if special.levels is None else special.levels,
        )


class CriterionOn:
    """A criterion resolved for one edge type: what grading reads, prepared once.

    `bands` come highest level first, each as (level, low, high); `must_pass` is None where it does not count.
    """

    __slots__ = (
        "bands", "combine", "criterion", "cuts", "edge_type", "key", "kind", "levels", "limits", "must_pass", "name",
        "places", "push_mm", "target", "unit", "use", "weight",
    )  # fmt: skip

    def __init__(
        self,
        *,
        criterion: Criterion,
        edge_type: EdgeType,
        use: Use,
        places: tuple[Place, ...],
        target: float | None,
        bands: tuple[Band, ...],
        push_mm: dict[int, float],
        levels: tuple[str, ...],
    ) -> None:
        self.criterion = criterion
        self.edge_type = edge_type
        self.key = criterion.key
        self.name = criterion.name
        self.kind = criterion.kind
        self.unit = criterion.unit
        self.combine = criterion.combine
        self.cuts = criterion.cuts
        self.limits = criterion.limits
        self.use = use
        self.places = places
        self.target = target
        self.levels = levels
        self.weight = criterion.weight if use is Use.COUNTS else 0
        self.must_pass = criterion.must_pass if use is Use.COUNTS else None
        self.push_mm = tuple(sorted(push_mm.items(), reverse=True))
        self.bands = tuple(
            (band.level, *_ends(band, target)) for band in sorted(bands, key=lambda band: band.level, reverse=True)
        )

    def band_of(self, level: int) -> tuple[float, float] | None:
        """The interval that earns `level` or better; None where the rubric gives none. Ends may be infinite."""
        return next(((low, high) for at, low, high in reversed(self.bands) if at >= level), None)


def _ends(band: Band, target: float | None) -> tuple[float, float]:
    if band.within is not None and target is not None:
        return target - band.within, target + band.within
    return (
        float("-inf") if band.low is None else band.low,
        float("inf") if band.high is None else band.high,
    )


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

    @property
    def top(self) -> int:
        """The highest level, L."""
        return len(self.levels) - 1

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the content: the same words in another order of keys are the same rubric."""
        plain = self.model_dump(mode="json", by_alias=True)
        return hashlib.sha256(json.dumps(plain, sort_keys=True, ensure_ascii=False).encode()).hexdigest()

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
        _raise_any(rubric_faults(self), info)
        return self


class RubricFault(NamedTuple):
    """One fault of content: where it stands (keys and indexes, from the value that was asked), what, how to mend it."""

    at: tuple[str | int, ...]
    what: str
    mend: str

    def under(self, *above: str | int) -> RubricFault:
        """The same fault, seen from further up."""
        return self._replace(at=(*above, *self.at))


def _raise_any(faults: Iterator[RubricFault], info: ValidationInfo) -> None:
    if info.context != FIELDS_ONLY and (found := [fault.what for fault in faults]):
        raise ValueError("; ".join(found))


def criterion_faults(criterion: Criterion) -> Iterator[RubricFault]:
    """What one criterion may get wrong though each of its fields alone is right."""
    yield from _kind_faults(criterion)
    for name, places in (("blades", criterion.blades), ("stations", criterion.stations)):
        if len(set(places)) < len(places):
            yield RubricFault((name,), f"{name} names a place twice", "Name each once.")
    if criterion.must_pass is not None and criterion.weight == 0:
        yield RubricFault(("must_pass",), "a must-pass criterion needs a weight", "Give it a weight, or no must_pass.")
    yield from _push_faults(criterion.push_mm, ("push_mm",))
    for edge_type, special in criterion.types.items():
        yield from (fault.under("types", edge_type.value) for fault in _special_faults(criterion, special))


def _kind_faults(criterion: Criterion) -> Iterator[RubricFault]:
    is_measured, is_cut = criterion.kind is Kind.MEASURED, criterion.kind is Kind.CUT
    if is_measured and (criterion.unit is None or not criterion.bands):
        yield RubricFault(
            ("kind",),
            "a measured criterion needs a unit and bands",
            'Add for example unit = "mm" and bands = [{ level = 3, to = 0.6 }, { level = 2, to = 1.0 }].',
        )
    if is_cut and (not criterion.media or not criterion.cuts):
        yield RubricFault(
            ("kind",),
            "a cut criterion needs media and cuts (which result earns which level)",
            'Add for example media = ["hair"] and cuts = { clean = 3, catch = 1, fold = 1, push = 1, tear = 0, '
            '"not cut" = 0 }.',
        )
    for name in ("unit", "bands", "target"):
        if not is_measured and getattr(criterion, name) not in (None, ()):
            yield RubricFault(
                (name,), f"{name} belongs to a measured criterion, this one is {criterion.kind}",
                'Take it out, or say kind = "measured".',
            )  # fmt: skip
    for name in ("media", "cuts", "push_mm"):
        if not is_cut and getattr(criterion, name):
            yield RubricFault(
                (name,), f"{name} belongs to a cut criterion, this one is {criterion.kind}",
                'Take it out, or say kind = "cut".',
            )  # fmt: skip
    missing = [cut.value for cut in CutResult if cut not in criterion.cuts]
    if is_cut and criterion.cuts and missing:
        yield RubricFault(("cuts",), f"cuts does not say what these earn: {', '.join(missing)}", "Give each its level.")
    for at, limit in enumerate(criterion.limits):
        if not is_measured and limit.of is not LimitOf.FAILING:
            yield RubricFault(
                ("limits", at), f"'{limit.of}' is worked out from measured values, this criterion is {criterion.kind}",
                'Take the limit out, or use "places below fit".',
            )  # fmt: skip


def _special_faults(criterion: Criterion, special: OnType) -> Iterator[RubricFault]:
    """What one edge type may change in a criterion, and what not."""
    for name, places in (("blades", special.blades or ()), ("stations", special.stations or ())):
        if len(set(places)) < len(places):
            yield RubricFault((name,), f"{name} names a place twice", "Name each once.")
    for name in ("bands", "target"):
        if getattr(special, name) is not None and criterion.kind is not Kind.MEASURED:
            yield RubricFault((name,), f"{name} belongs to a measured criterion", "Take it out.")
    if special.bands == () and criterion.kind is Kind.MEASURED:
        yield RubricFault(("bands",), "a measured criterion needs bands", "Give bands, or leave this line out.")
    if special.push_mm is not None and criterion.kind is not Kind.CUT:
        yield RubricFault(("push_mm",), "push_mm belongs to a cut criterion", "Take it out.")
    yield from _push_faults(special.push_mm or {}, ("push_mm",))


def _push_faults(push_mm: dict[int, float], at: tuple[str, ...]) -> Iterator[RubricFault]:
    levels = sorted(push_mm)
    if levels and levels[0] < 1:
        yield RubricFault(at, "push_mm is given for levels 1 and up", "Leave level 0 out: it is what remains.")
    if any(push < 0 for push in push_mm.values()):
        yield RubricFault(at, "a push cannot be less than 0 mm", "Give 0 or more.")
    if any(push_mm[low] < push_mm[high] for low, high in pairwise(levels)):
        yield RubricFault(
            at, "push_mm allows a higher level more push than a lower one", "Give the higher level fewer mm."
        )


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
    for kind in rubric.edge_types:
        if not any(criterion.on(kind).weight for criterion in rubric.criteria):
            yield RubricFault(
                ("criteria",), f"nothing counts for a {kind} pair", "Give a criterion a weight, or drop the edge type."
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

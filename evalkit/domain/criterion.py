"""One line of a rubric: its ladder of levels, its places, what earns what, and what is different for an edge type."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from itertools import pairwise
from typing import Annotated, Self

from pydantic import Field, StringConstraints, ValidationInfo, model_validator

from evalkit.domain.bands import Band, Limit, LimitOf
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import CutResult, Medium, Place
from evalkit.domain.rubric_fault import RubricFault, refuse
from evalkit.domain.value import Key, Line, Note, Prose, Value

Words = Annotated[str, StringConstraints(min_length=1, max_length=240, strip_whitespace=True)]
"""What earns one rung of a ladder, in the bench's words."""


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
        refuse(criterion_faults(self), info)
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

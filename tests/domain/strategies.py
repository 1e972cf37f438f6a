"""Small rubrics, pairs and readings of every sort, for hypothesis to draw from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from hypothesis import strategies as st

from evalkit.domain.bands import Band, Limit, LimitOf
from evalkit.domain.criterion import Combine, Criterion, CriterionOn, Kind, OnType, Use
from evalkit.domain.grading import PairGrade, grade_pair
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Pair, Station
from evalkit.domain.reading import (
    CutResult,
    Medium,
    NotSeen,
    Place,
    Reading,
    Seen,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Stage,
    Unseen,
)
from evalkit.domain.rubric import DropMethod, Rubric

NUMBER = 3
STAGE = Stage.AS_RETURNED
TARGET = 45.0
BLADE_LENGTH_MM = 70.0
PLACES = (
    ((), ()),
    ((), (Station.TIP,)),
    ((), tuple(Station)),
    ((Blade.THUMB,), (Station.HEEL, Station.TIP)),
    (tuple(Blade), ()),
    (tuple(Blade), (Station.HEEL, Station.TIP)),
)
SPREADS = (0.0, 0.5, 1.0, 2.0, 4.0)
RATIOS = (1.0, 1.02, 1.05, 1.1)
COUNTS = (0.0, 1.0, 2.0)
ALIKE = {
    Unit.MM: (Unit.MM, Unit.INCH),
    Unit.DEG_INCLUDED: (Unit.DEG_INCLUDED, Unit.DEG_DIAL),
    Unit.DEG_OPEN: (Unit.DEG_OPEN, Unit.MM_TIP_GAP),
    Unit.COUNT: (Unit.COUNT,),
}


@dataclass(frozen=True)
class Case:
    """One pair to grade. `readings` are all of one pair at one stage and fit the rubric."""

    rubric: Rubric
    pair: Pair
    readings: tuple[Reading, ...]
    transit: tuple[str, ...] = ()

    def grade(self) -> PairGrade:
        return grade_pair(self.rubric, self.pair, self.readings, number=NUMBER, stage=STAGE, transit=self.transit)

    def with_reading(self, reading: Reading) -> Case:
        """This case with one place read in another way."""
        others = (one for one in self.readings if (one.criterion, one.place) != (reading.criterion, reading.place))
        return replace(self, readings=(*others, reading))


def words(n: int) -> tuple[str, ...]:
    return tuple(f"rung {level}" for level in range(n))


def falling(levels: list[int], amounts: list[float]) -> dict[int, float]:
    """The highest level gets the smallest amount."""
    return dict(zip(sorted(levels, reverse=True), sorted(amounts), strict=True))


@st.composite
def allowances(draw: st.DrawFn, top: int, pool: tuple[float, ...]) -> dict[int, float]:
    """Amounts for some of the levels 1 to `top`, the higher level never the larger one."""
    levels = draw(st.lists(st.integers(1, top), min_size=1, max_size=top, unique=True))
    return falling(levels, draw(st.lists(st.sampled_from(pool), min_size=len(levels), max_size=len(levels))))


@st.composite
def limits(draw: st.DrawFn, top: int, kind: Kind) -> tuple[Limit, ...]:
    kinds = list(LimitOf) if kind is Kind.MEASURED else [LimitOf.FAILING]
    chosen = draw(st.lists(st.sampled_from(kinds), max_size=2, unique=True))
    pools = {LimitOf.FAILING: COUNTS, LimitOf.RATIO: RATIOS, LimitOf.SPREAD: SPREADS, LimitOf.BLADES: SPREADS}
    return tuple(Limit(of=of, at_most=draw(allowances(top, pools[of]))) for of in chosen)


@st.composite
def bands(draw: st.DrawFn, top: int) -> tuple[Band, ...]:
    """Nested bands for the top level and some below it: around the target, between two ends, or open upward."""
    lower = draw(st.lists(st.integers(1, top - 1), max_size=top - 1, unique=True)) if top > 1 else []
    widths = falling([top, *lower], draw(st.lists(st.sampled_from((0.5, 1.0, 2.0, 4.0, 8.0)),
                                                  min_size=len(lower) + 1, max_size=len(lower) + 1)))  # fmt: skip
    shape = draw(st.sampled_from(("within", "between", "open")))
    made = [
        Band(level=level, within=width)
        if shape == "within"
        else Band(level=level, low=TARGET - width, high=TARGET + width if shape == "between" else None)
        for level, width in widths.items()
    ]
    return tuple(draw(st.permutations(made)))


@st.composite
def criteria(draw: st.DrawFn, key: str, top: int, edge_type: EdgeType, *, must_count: bool) -> Criterion:
    """One criterion of any kind, with or without something of its own for `edge_type`."""
    kind = draw(st.sampled_from(Kind))
    weight = draw(st.integers(1 if must_count else 0, 4))
    blades, stations = draw(st.sampled_from(PLACES))
    own: dict[str, object] = {}
    if kind is Kind.MEASURED:
        own = {"unit": draw(st.sampled_from(list(ALIKE))), "target": TARGET, "bands": draw(bands(top))}
    if kind is Kind.CUT:
        cuts = {cut: draw(st.integers(0, top)) for cut in CutResult} | {CutResult.CLEAN: top}
        push_mm = draw(st.one_of(st.just({}), allowances(top, SPREADS)))
        own = {"media": tuple(Medium)[:2], "cuts": cuts, "push_mm": push_mm}
    special = draw(st.one_of(st.none(), specials(top, kind, must_count=must_count)))
    return Criterion(
        key=key,
        name=key.title(),
        kind=kind,
        levels=words(top + 1),
        blades=blades,
        stations=stations,
        combine=draw(st.sampled_from(Combine)),
        weight=weight,
        must_pass=draw(st.one_of(st.none(), st.integers(1, top))) if weight else None,
        limits=draw(limits(top, kind)),
        types={} if special is None else {edge_type: special},
        **own,
    )


@st.composite
def specials(draw: st.DrawFn, top: int, kind: Kind, *, must_count: bool) -> OnType:
    blades, stations = draw(st.sampled_from(((None, None), *PLACES)))
    is_measured, is_cut = kind is Kind.MEASURED, kind is Kind.CUT
    return OnType(
        use=Use.COUNTS if must_count else draw(st.sampled_from(Use)),
        blades=blades,
        stations=stations,
        target=draw(st.sampled_from((None, TARGET - 1))) if is_measured else None,
        bands=draw(st.one_of(st.none(), bands(top))) if is_measured else None,
        push_mm=draw(st.one_of(st.none(), allowances(top, SPREADS))) if is_cut else None,
    )


@st.composite
def rubrics(draw: st.DrawFn, *, max_criteria: int = 3, max_top: int = 3) -> Rubric:
    """A rubric for one edge type, of one criterion or more; the first counts."""
    top = draw(st.integers(1, max_top))
    edge_type = draw(st.sampled_from(EdgeType))
    n = draw(st.integers(1, max_criteria))
    drop = DropMethod(ring=Blade.THUMB, start_deg=90)
    return Rubric(
        key="drawn",
        name="Drawn",
        levels=words(top + 1),
        fit=draw(st.integers(1, top)),
        mark=draw(st.sampled_from((0, 50, 60, 67, 75, 90))),
        edge_types=(edge_type,),
        drop_test=draw(st.sampled_from((None, drop))),
        criteria=tuple(draw(criteria(f"c{at}", top, edge_type, must_count=at == 0)) for at in range(n)),
    )


def pair_of(edge_type: EdgeType, tag: str = "P1") -> Pair:
    return Pair(tag=tag, edge_type=edge_type, size_in=Decimal(6), blade_length_mm=BLADE_LENGTH_MM)


@st.composite
def seen(draw: st.DrawFn, on: CriterionOn, top: int) -> Seen:
    """Something seen at one place: a level by eye on any criterion, or what its kind asks for; more good than bad."""
    by_eye = st.sampled_from([*range(top + 1), *[top] * 4]).map(lambda level: SeenLevel(level=level))
    if on.kind is Kind.CUT:
        return draw(st.one_of(by_eye, cuts(on)))
    if on.kind is Kind.MEASURED:
        return draw(st.one_of(by_eye, measures(on), measures(on)))
    return draw(by_eye)


@st.composite
def cuts(draw: st.DrawFn, on: CriterionOn) -> SeenCut:
    result = draw(st.sampled_from([*CutResult, *[CutResult.CLEAN] * 4, CutResult.PUSH]))
    push_mm = draw(st.sampled_from((None, 0.0, 0.5, 1.5, 9.0))) if result is CutResult.PUSH else None
    return SeenCut(medium=draw(st.sampled_from(on.criterion.media)), result=result, push_mm=push_mm)


@st.composite
def measures(draw: st.DrawFn, on: CriterionOn) -> SeenMeasure:
    """A value near the target, also at the very end of a band; a drop test is done the rubric's way or another."""
    assert on.unit is not None
    unit = draw(st.sampled_from(ALIKE[on.unit]))
    number = TARGET + draw(st.sampled_from((-10, -4, -2, -1, -0.5, 0, 0, 0.25, 0.5, 1, 1.5, 4, 8.5)))
    if unit is Unit.INCH:
        number = number / 25.4
    if unit is Unit.DEG_DIAL:
        number = 90 - number
    is_drop = unit in (Unit.DEG_OPEN, Unit.MM_TIP_GAP)
    return SeenMeasure(
        number=number,
        unit=unit,
        doubt=draw(st.sampled_from((None, 0.5))),
        ring=draw(st.sampled_from((None, Blade.THUMB, Blade.FINGER))) if is_drop else None,
        start_deg=draw(st.sampled_from((None, 90.0, 60.0))) if is_drop else None,
    )


def reading_of(key: str, place: Place, what: Seen) -> Reading:
    return Reading(number=NUMBER, stage=STAGE, criterion=key, blade=place.blade, station=place.station, seen=what)


@st.composite
def not_seen(draw: st.DrawFn, on: CriterionOn) -> NotSeen:
    """A reason; a must-pass is never put aside, because `fault_of` refuses such a reading."""
    reasons = [why for why in Unseen if why is not Unseen.NOT_APPLICABLE or on.must_pass is None]
    return NotSeen(why=draw(st.sampled_from(reasons)))


@st.composite
def readings(draw: st.DrawFn, rubric: Rubric, edge_type: EdgeType, n_unseen: tuple[int, int]) -> tuple[Reading, ...]:
    """Readings that fit; a number of places within `n_unseen` are left out or stand as not seen."""
    wanted = [(on, place) for on in rubric.on(edge_type) if on.use is not Use.NOT_APPLICABLE for place in on.places]
    fewest, most = (min(n, len(wanted)) for n in n_unseen)
    left = draw(st.sets(st.sampled_from(range(len(wanted))), min_size=fewest, max_size=most))
    found = []
    for at, (on, place) in enumerate(wanted):
        if at not in left:
            found.append(reading_of(on.key, place, draw(seen(on, rubric.top))))
        elif draw(st.booleans()):
            found.append(reading_of(on.key, place, draw(not_seen(on))))
    return tuple(found)


@st.composite
def cases(
    draw: st.DrawFn,
    *,
    max_criteria: int = 3,
    max_top: int = 3,
    n_unseen: tuple[int, int] = (0, 5),
    transit: bool = False,
) -> Case:
    """One pair with its rubric and readings."""
    rubric = draw(rubrics(max_criteria=max_criteria, max_top=max_top))
    edge_type = rubric.edge_types[0]
    return Case(
        rubric=rubric,
        pair=pair_of(edge_type),
        readings=draw(readings(rubric, edge_type, n_unseen)),
        transit=tuple(sorted(draw(st.sets(st.sampled_from(list(rubric.by_key)), max_size=2)))) if transit else (),
    )

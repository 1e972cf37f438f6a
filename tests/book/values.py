"""Invented values for the tests of the book: one plain round, one full one, and any that the domain allows."""

from __future__ import annotations

import string
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from evalkit.domain.assessment import Angle, AssessedPair, Assessment, GritScale, Photo, WorkLog, WorkStep
from evalkit.domain.criterion import Criterion
from evalkit.domain.intake import Intake, IntakePair
from evalkit.domain.marking import Answer, Comment, MarkedPair, Marking
from evalkit.domain.measures import Unit
from evalkit.domain.pair import (
    Blade,
    EdgeLine,
    EdgeType,
    Hand,
    Handle,
    KnownFault,
    Make,
    Pair,
    SizeMethod,
    Station,
)
from evalkit.domain.reading import (
    CutResult,
    Medium,
    NotSeen,
    Reading,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Stage,
    Unseen,
)
from evalkit.domain.round import Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.signoff import SignOff
from evalkit.domain.triage import Decision, IntakeClass
from evalkit.domain.verdict import Verdict

START = datetime(2026, 3, 2, 9, 30, 0, 123456, tzinfo=UTC)
ODA = Person(key="oda", name="Oda Brink")
SECOND = Person(key="berit", name="Berit Vang")
NIA = Person(key="nia", name="Nia Solheim")
LADDER = ("fails", "works in part", "fit for a customer", "as new")
PHOTO = ("ab" * 32, "image/jpeg", 1234, 640, 480)
LAID_OUT = ("ac" * 32, "image/jpeg", 2345, 640, 480)
SHELF = ("ad" * 32, "image/jpeg", 3456, 640, 480)


class TickingClock:
    """A second later at each look."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


def rubric_of(*keys: str, key: str = "bench", mark: int = 75) -> Rubric:
    criteria = tuple(
        Criterion(
            key=one, name=one, levels=LADDER, weight=10, blades=tuple(Blade), stations=tuple(Station), must_pass=2
        )
        for one in keys
    )
    return Rubric(key=key, name="Bench rubric", levels=LADDER, mark=mark, criteria=criteria)


RUBRIC = rubric_of("rod-line", "tension")
PAIRS = (
    Pair(
        tag="S-101",
        edge_type=EdgeType.CONVEX,
        size_in=Decimal("5.50"),
        blade_length_mm=63.7,
        faults=(KnownFault(tag="nick", blade=Blade.THUMB, station=Station.TIP), KnownFault(tag="burr", severity=3)),
        declared_value=Decimal("40.10"),
        currency="NOK",
    ),
    Pair(tag="S-102", edge_type=EdgeType.TOOTHED, size_in=Decimal(6), teeth=30, origin="a drawer"),
    Pair(tag="S-103", edge_type=EdgeType.BEVEL, size_in=Decimal("6.25")),
)


def round_of(key: str = "nia-1", rubric: Rubric = RUBRIC, pairs: tuple[Pair, ...] = PAIRS, version: int = 1) -> Round:
    return Round(
        key=key,
        trainee=NIA,
        mentor=ODA,
        rubric_key=rubric.key,
        rubric_version=version,
        rubric_digest=rubric.digest,
        planned_on=date(2026, 3, 2),
        pairs=tuple(
            NumberedPair(number=number, pair=pair, called_for=Decision.SHARPEN if number == 1 else None)
            for number, pair in enumerate(pairs, start=1)
        ),
    )


JOURNEY = tuple(
    Leg(kind=kind, happened_on=date(2026, 3, 3 + day), carrier_ref=f"ref {day}", condition="dry" if day else "")
    for day, kind in enumerate((LegKind.SENT, LegKind.RECEIVED, LegKind.RETURNED, LegKind.RECEIVED_BACK))
)


def readings_of(number: int, stage: Stage, keys: tuple[str, ...], *, level: int = 2) -> tuple[Reading, ...]:
    """Every criterion at all six places."""
    return tuple(
        Reading(number=number, stage=stage, criterion=key, blade=blade, station=station, seen=SeenLevel(level=level))
        for key in keys
        for blade in Blade
        for station in Station
    )


MIXED = (
    Reading(number=1, stage=Stage.AS_RECEIVED, criterion="tension", seen=NotSeen(why=Unseen.COULD_NOT), note="stiff"),
    Reading(
        number=1,
        stage=Stage.AS_FINISHED,
        criterion="tension",
        seen=SeenMeasure(number=40.1, unit=Unit.DEG_OPEN, doubt=2.5, ring=Blade.FINGER, start_deg=90),
    ),
    Reading(
        number=1,
        stage=Stage.AS_FINISHED,
        criterion="cut",
        station=Station.TIP,
        seen=SeenCut(medium=Medium.HAIR, result=CutResult.PUSH, push_mm=1.5),
    ),
)


def assessment_of(round_: Round, *, letter: str = "", level: int = 1) -> Assessment:
    first = AssessedPair(
        number=1,
        readings=(*MIXED, *readings_of(1, Stage.AS_FINISHED, ("rod-line",), level=level)),
        stated_class=IntakeClass.B,
        decision=Decision.SHARPEN,
        work=WorkLog(
            steps=(WorkStep(what="flatten", grit=3000, scale=GritScale.MESH), WorkStep(what="strop")),
            angle=Angle(number=50, unit=Unit.DEG_DIAL),
            parts=("washer",),
            minutes=35,
            width_before_mm={Station.TIP: 4.1, Station.HEEL: 8.2},
            width_after_mm={Station.TIP: 4.0},
        ),
        verdict=Verdict.ACCEPTED,
        notes="*better* than before",
        questions=("why at the tip?", "and the heel?"),
        photos=(Photo(file=PHOTO[0], caption="the tip"),),
    )
    second = AssessedPair(number=2, decision=Decision.LEAVE, reason="beyond repair")
    return Assessment(
        round_key=round_.key,
        trainee_key=round_.trainee.key,
        rubric_digest=round_.rubric_digest,
        written_on=date(2026, 3, 20),
        pairs=(second, first),
        letter=letter,
    )


def marked(number: int, *, level: int = 2, **more: Any) -> MarkedPair:
    return MarkedPair(
        number=number,
        readings=readings_of(number, Stage.AS_RETURNED, ("rod-line",), level=level),
        transit=("tension",),
        transit_note="loose",
        called_for=Decision.SHARPEN,
        comments=(Comment(criterion="rod-line", text="good line"),),
        keep="the line",
        change="the tip",
        answers=(Answer(question=2, text="slower"), Answer(question=1, text="pressure")),
        **more,
    )


def marking_of(round_: Round, *, level: int = 2, letter: str = "well done", mentor: Person = ODA) -> Marking:
    return Marking(
        round_key=round_.key,
        mentor_key=mentor.key,
        rubric_digest=round_.rubric_digest,
        marked_on=date(2026, 4, 1),
        pairs=tuple(marked(number, level=level) for number in (1, 2, 3)),
        letter=letter,
    )


def intake_of(round_: Round, *, level: int = 1, notes: str = "seen on the bench") -> Intake:
    """Pair 1 read at every place of one criterion, with a picture; pair 2 not touched."""
    remark = Reading(
        number=1, stage=Stage.AS_RECEIVED, criterion="tension", seen=SeenLevel(level=0), note="screw half out"
    )
    first = IntakePair(
        number=1,
        readings=(*readings_of(1, Stage.AS_RECEIVED, ("rod-line",), level=level), remark),
        notes=notes,
        photos=(Photo(file=LAID_OUT[0], caption="before it went"),),
    )
    return Intake(
        round_key=round_.key,
        mentor_key=round_.mentor.key,
        rubric_digest=round_.rubric_digest,
        read_on=date(2026, 3, 2),
        pairs=(first, IntakePair(number=2)),
    )


# --- whatever the domain allows -------------------------------------------------------------------------------------

texts = st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from("\t\r\n"), max_size=30)
lines = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=30)
full_lines = lines.filter(lambda line: line.strip() != "")
keys = st.text(string.ascii_lowercase + string.digits, min_size=1, max_size=20)
digests = st.text("0123456789abcdef", min_size=64, max_size=64)
blades, stations = st.sampled_from(Blade), st.sampled_from(Station)


def sign_off_of(*edge_types: str, trainee: Person = NIA, mentor: Person = ODA) -> SignOff:
    kinds = tuple(EdgeType(kind) for kind in edge_types)
    return SignOff(
        trainee_key=trainee.key,
        mentor_key=mentor.key,
        edge_types=kinds,
        signed_on=date(2026, 5, 4),
        answers=dict.fromkeys(kinds, "ready"),
        evidence='{"format": 1, "edge_types": {}}',
        note="as steady as they come",
    )


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


def floats(low: float, high: float, **more: Any) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False, **more)


faults = st.builds(
    KnownFault, tag=keys, severity=st.integers(1, 3), blade=maybe(blades), station=maybe(stations), note=texts
)
decimals = st.decimals(0, 99999, places=2, allow_nan=False, allow_infinity=False)


@st.composite
def pairs(draw: st.DrawFn, tag: str | None = None) -> Pair:
    edge_type = draw(st.sampled_from(EdgeType))
    value = draw(maybe(decimals))
    size = Decimal(draw(st.integers(16, 40))) / 4
    return Pair(
        tag=draw(st.text(string.ascii_letters + string.digits, min_size=1, max_size=20)) if tag is None else tag,
        edge_type=edge_type,
        edge_line=draw(st.sampled_from(EdgeLine)),
        size_in=draw(st.sampled_from([size, size.quantize(Decimal("0.0000"))])),
        size_method=draw(st.sampled_from(SizeMethod)),
        blade_length_mm=draw(maybe(floats(20, 200, exclude_min=True, exclude_max=True))),
        hand=draw(st.sampled_from(Hand)),
        handle=draw(st.sampled_from(Handle)),
        make=draw(st.sampled_from(Make)),
        teeth=draw(maybe(st.integers(3, 80))) if edge_type is EdgeType.TOOTHED else None,
        pivot=draw(lines),
        faults=draw(st.lists(faults, max_size=3).map(tuple)),
        difficulty=draw(st.integers(1, 5)),
        declared_value=value,
        currency=None if value is None else draw(st.text(string.ascii_uppercase, min_size=3, max_size=3)),
        origin=draw(texts),
        weight_g=draw(maybe(floats(0, 2000, exclude_min=True, exclude_max=True))),
    )


@st.composite
def measures(draw: st.DrawFn) -> SeenMeasure:
    unit = draw(st.sampled_from(Unit))
    highest = {Unit.DEG_INCLUDED: 120.0, Unit.DEG_DIAL: 90.0, Unit.DEG_OPEN: 180.0}.get(unit, 1000.0)
    return SeenMeasure(
        number=draw(floats(-0.0, highest)),
        unit=unit,
        doubt=draw(maybe(floats(-0.0, 1e6))),
        ring=draw(maybe(blades)),
        start_deg=draw(maybe(floats(0, 180, exclude_min=True))),
    )


@st.composite
def cuts(draw: st.DrawFn) -> SeenCut:
    result = draw(st.sampled_from(CutResult))
    push_mm = draw(maybe(floats(-0.0, 100))) if result is CutResult.PUSH else None
    return SeenCut(medium=draw(st.sampled_from(Medium)), result=result, push_mm=push_mm)


seen = (
    st.builds(SeenLevel, level=st.integers(0, 9))
    | measures()
    | cuts()
    | st.builds(NotSeen, why=st.sampled_from(Unseen))
)


def readings(number: int, stages: list[Stage]) -> st.SearchStrategy[tuple[Reading, ...]]:
    one = st.builds(
        Reading,
        number=st.just(number),
        stage=st.sampled_from(stages),
        criterion=keys,
        blade=maybe(blades),
        station=maybe(stations),
        seen=seen,
        note=texts,
    )
    return st.lists(one, max_size=5, unique_by=lambda it: (it.stage, it.criterion, it.place)).map(tuple)


@st.composite
def works(draw: st.DrawFn) -> WorkLog:
    steps = []
    for what in draw(st.lists(full_lines, max_size=3)):
        scale = draw(maybe(st.sampled_from(GritScale)))
        steps.append(WorkStep(what=what, scale=scale, grit=None if scale is None else draw(floats(0.1, 100_000))))
    widths = st.dictionaries(stations, floats(30, 59.9))
    return WorkLog(
        steps=tuple(steps),
        angle=draw(
            maybe(st.builds(Angle, number=floats(1, 89), unit=st.sampled_from([Unit.DEG_INCLUDED, Unit.DEG_DIAL])))
        ),
        parts=draw(st.lists(lines, max_size=3).map(tuple)),
        minutes=draw(maybe(st.integers(0, 6000))),
        width_before_mm=draw(widths),
        width_after_mm=draw(st.dictionaries(stations, floats(0.001, 29))),
        length_before_mm=draw(maybe(floats(100, 299))),
        length_after_mm=draw(maybe(floats(1, 100))),
    )


def photos(names: list[str]) -> st.SearchStrategy[tuple[Photo, ...]]:
    return st.lists(st.builds(Photo, file=st.sampled_from(names), caption=lines), max_size=3).map(tuple)


@st.composite
def assessed_pairs(draw: st.DrawFn, number: int, photo_names: list[str]) -> AssessedPair:
    decision = draw(maybe(st.sampled_from(Decision)))
    return AssessedPair(
        number=number,
        readings=draw(readings(number, [Stage.AS_RECEIVED, Stage.AS_FINISHED])),
        stated_class=draw(maybe(st.sampled_from(IntakeClass))),
        decision=decision,
        reason=draw(full_lines if decision is Decision.LEAVE else texts),
        work=draw(works()),
        verdict=draw(maybe(st.sampled_from([Verdict.ACCEPTED, Verdict.REWORK]))),
        notes=draw(texts),
        questions=draw(st.lists(lines, max_size=3).map(tuple)),
        lessons=draw(texts),
        photos=draw(photos(photo_names)),
    )


@st.composite
def assessments(draw: st.DrawFn, round_: Round, photo_names: list[str]) -> Assessment:
    numbers = draw(st.lists(st.sampled_from(round_.numbers), unique=True))
    return Assessment(
        round_key=round_.key,
        trainee_key=round_.trainee.key,
        rubric_digest=round_.rubric_digest,
        written_on=draw(maybe(st.dates())),
        disinfected_with=draw(texts),
        pairs=tuple(draw(assessed_pairs(number, photo_names)) for number in numbers),
        letter=draw(texts),
        is_transcribed=draw(st.booleans()),
    )


@st.composite
def marked_pairs(draw: st.DrawFn, number: int, photo_names: list[str]) -> MarkedPair:
    questions = draw(st.lists(st.integers(1, 20), unique=True, max_size=3))
    return MarkedPair(
        number=number,
        readings=draw(readings(number, [Stage.AS_RETURNED])),
        transit=draw(st.lists(keys, max_size=3).map(tuple)),
        transit_note=draw(texts),
        called_for=draw(maybe(st.sampled_from(Decision))),
        comments=draw(st.lists(st.builds(Comment, criterion=keys, text=texts), max_size=3).map(tuple)),
        keep=draw(lines),
        change=draw(lines),
        answers=tuple(Answer(question=question, text=draw(texts)) for question in questions),
        notes=draw(texts),
        photos=draw(photos(photo_names)),
        was_opened=draw(st.booleans()),
    )


@st.composite
def intakes(draw: st.DrawFn, round_: Round, photo_names: list[str]) -> Intake:
    numbers = draw(st.lists(st.sampled_from(round_.numbers), unique=True))
    return Intake(
        round_key=round_.key,
        mentor_key=round_.mentor.key,
        rubric_digest=round_.rubric_digest,
        read_on=draw(maybe(st.dates())),
        pairs=tuple(
            IntakePair(
                number=number,
                readings=draw(readings(number, [Stage.AS_RECEIVED])),
                notes=draw(texts),
                photos=draw(photos(photo_names)),
            )
            for number in numbers
        ),
    )


@st.composite
def markings(draw: st.DrawFn, round_: Round, photo_names: list[str]) -> Marking:
    numbers = draw(st.lists(st.sampled_from(round_.numbers), unique=True))
    return Marking(
        round_key=round_.key,
        mentor_key=round_.mentor.key,
        rubric_digest=round_.rubric_digest,
        marked_on=draw(maybe(st.dates())),
        pairs=tuple(draw(marked_pairs(number, photo_names)) for number in numbers),
        letter=draw(texts),
    )

"""A rubric with awkward names, a round of all edge types, and assessments and markings full of awkward words."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from hypothesis import strategies as st

from evalkit.domain.assessment import Angle, AssessedPair, Assessment, GritScale, Photo, WorkLog, WorkStep
from evalkit.domain.bands import Band
from evalkit.domain.criterion import Criterion, CriterionOn, Kind, OnType, Use
from evalkit.domain.marking import Answer, Comment, MarkedPair, Marking
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Hand, Pair, Station
from evalkit.domain.reading import (
    WHOLE_PAIR,
    CutResult,
    Medium,
    NotSeen,
    Reading,
    Seen,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Stage,
    Unseen,
)
from evalkit.domain.round import NumberedPair, Person, Round
from evalkit.domain.rubric import DropMethod, Rubric
from evalkit.domain.triage import Decision, IntakeClass
from evalkit.domain.verdict import Verdict

PLANNED = date(2026, 1, 5)
LEVELS = ("fails", "works in part", "fit for a customer", "as new")
ALIKE = {
    Unit.MM: (Unit.MM, Unit.INCH),
    Unit.INCH: (Unit.MM, Unit.INCH),
    Unit.DEG_INCLUDED: (Unit.DEG_INCLUDED, Unit.DEG_DIAL),
    Unit.DEG_DIAL: (Unit.DEG_INCLUDED, Unit.DEG_DIAL),
    Unit.DEG_OPEN: (Unit.DEG_OPEN, Unit.MM_TIP_GAP),
    Unit.MM_TIP_GAP: (Unit.DEG_OPEN, Unit.MM_TIP_GAP),
    Unit.COUNT: (Unit.COUNT,),
}


def criterion(key: str, name: str, kind: Kind = Kind.JUDGED, **more: object) -> Criterion:
    own: dict[str, object] = {"weight": 5, **more}
    if kind is Kind.MEASURED:
        own |= {"bands": (Band(level=3, high=20), Band(level=2, high=45))}
    if kind is Kind.CUT:
        own |= {"media": more.get("media", (Medium.DRY_TISSUE,)), "cuts": dict.fromkeys(CutResult, 0)}
    return Criterion(key=key, name=name, kind=kind, levels=LEVELS, **own)


def plain_rubric() -> Rubric:
    """Five criteria as a mentor would name them, one for each way in which places are laid out."""
    all_stations = tuple(Station)
    return Rubric(
        key="small",
        name="Small",
        levels=LEVELS,
        drop_test=DropMethod(ring=Blade.FINGER),
        criteria=(
            criterion("dry-tissue", "Dry tissue", Kind.CUT, stations=all_stations, must_pass=2),
            criterion("hair", "Hair", Kind.CUT, stations=all_stations, media=(Medium.HAIR, Medium.SYNTHETIC_HAIR)),
            criterion(
                "wet-tissue", "Wet tissue", Kind.CUT, stations=all_stations, media=(Medium.WET_TISSUE,),
                types={EdgeType.BEVEL: OnType(use=Use.NOT_APPLICABLE)},
            ),
            criterion("tips", "Tips", stations=(Station.TIP,), must_pass=2),
            criterion(
                "ride-line", "Ride line", Kind.MEASURED, unit=Unit.MM, blades=tuple(Blade), stations=all_stations
            ),
            criterion("burr", "Burr and nicks", Kind.MEASURED, unit=Unit.COUNT, blades=tuple(Blade)),
            criterion("tension", "Tension", Kind.MEASURED, unit=Unit.DEG_OPEN, weight=0),
        ),
    )  # fmt: skip


def odd_rubric() -> Rubric:
    """Names that clash with each other, with the sheet's own lines and with the signs of Markdown."""
    all_stations = tuple(Station)
    both = tuple(Blade)
    return Rubric(
        key="odd",
        name="Odd",
        levels=("0\n## Pair 9", "> 1", "<b>2</b>", "3 &#40;"),
        drop_test=DropMethod(ring=Blade.THUMB, start_deg=45.5),
        criteria=(
            criterion("tips", "Tips", stations=(Station.TIP,)),
            criterion("tips-2", "Tips", blades=both),
            criterion("class", "Class", blades=both, stations=all_stations),
            criterion("own", "own  VERDICT"),
            criterion("clean-oil", "Clean, finish; oil", weight=0),
            criterion("set", "Set: half-moon", stations=all_stations),
            criterion("set-2", "Set", blades=(Blade.THUMB,), stations=all_stations),
            criterion("rod", "Ride line (rod line)", Kind.MEASURED, unit=Unit.INCH, blades=both, stations=all_stations),
            criterion("marks", "&#40;`*odd*` [x](y) <i>", Kind.MEASURED, unit=Unit.COUNT, blades=both),
            criterion("bracket", "[tips-2] Tips", Kind.MEASURED, unit=Unit.DEG_INCLUDED, stations=all_stations),
            criterion("dial", "Dial", Kind.MEASURED, unit=Unit.DEG_DIAL),
            criterion("gap", "Gap", Kind.MEASURED, unit=Unit.MM_TIP_GAP),
            criterion("drop", "- - -", Kind.MEASURED, unit=Unit.DEG_OPEN, weight=0),
            criterion("nameless", ""),
            criterion(
                "cut", "Dry tissue: and hair", Kind.CUT, stations=all_stations,
                media=(Medium.SYNTHETIC_HAIR, Medium.HAIR, Medium.DRY_TISSUE),
                types={EdgeType.SWORD: OnType(use=Use.NOT_APPLICABLE), EdgeType.BEVEL: OnType(stations=())},
            ),
        ),
    )  # fmt: skip


def round_for(rubric: Rubric, edge_types: tuple[EdgeType, ...] = tuple(EdgeType), *, first: int = 1) -> Round:
    """One pair of each edge type, numbered from `first` on."""
    return Round(
        key="teo-3",
        trainee=Person(key="teo", name="Teo Marsk"),
        mentor=Person(key="ines", name="Ines Vael"),
        rubric_key=rubric.key,
        rubric_version=2,
        rubric_digest=rubric.digest,
        planned_on=PLANNED,
        pairs=tuple(
            NumberedPair(number=at, pair=_pair(at, edge_type)) for at, edge_type in enumerate(edge_types, first)
        ),
    )


def _pair(at: int, edge_type: EdgeType) -> Pair:
    return Pair(
        tag=f"S-{100 + at}",
        edge_type=edge_type,
        size_in=Decimal("6.0"),
        teeth=30 if edge_type is EdgeType.TOOTHED else None,
        hand=Hand.LEFT if at % 2 else Hand.RIGHT,
    )


# --- words -----------------------------------------------------------------------------------------------------------

FRAGMENTS = (
    "# a", "## Pair 1", "### Notes", "#### mine", "```", "~~~", "~~~ as written", "---", "===", "- ", "* ", "1. ", "> ",
    "[x]: /y", "<script>alert(1)</script>", "<!--", "&#40;", "&#38;#41;", "&amp;", "?", "(", ")", "\t", "    ", " ",
    "–", "– x", ":", ",", ";", ", 15 micron", "none", "not tested", "finger ring", "from 90", "\u00a0", "\u202e", "é",
    "\\", "![a](b)", "%20", "%", "- Tips: 2", "  - thumb: heel 1", "{{ 7*7 }}", "=cmd|' /C calc'!A0", "__proto__", "a",
)  # fmt: skip
SIGNS = st.characters(exclude_categories=("Cs", "Cc"))
ROWS = st.one_of(
    st.lists(st.sampled_from(FRAGMENTS), max_size=6).map("".join), st.text(SIGNS, max_size=20), st.just("")
).map(lambda text: text[:200])
LINES = ROWS.map(lambda text: text.replace("\t", " "))
PROSE = st.lists(ROWS, max_size=7).map("\n".join)
NOTES = st.one_of(st.just(""), PROSE)
SAID = PROSE.filter(bool)
NUMBERS = st.one_of(st.sampled_from((0.0, 0.4, 1 / 64, 1e-7, 45.0)), st.floats(0, 89, allow_subnormal=False))
WIDTHS = st.floats(0.1, 59, allow_subnormal=False)
DAYS = st.one_of(st.none(), st.dates(PLANNED, date(2027, 1, 1)))


# --- what was seen ---------------------------------------------------------------------------------------------------


def seen(on: CriterionOn) -> st.SearchStrategy[Seen]:
    """Anything that the criterion takes."""
    kinds: list[st.SearchStrategy[Seen]] = [st.integers(0, 3).map(lambda level: SeenLevel(level=level)), not_seen(on)]
    if on.kind is Kind.CUT:
        kinds.append(cuts(on))
    if on.kind is Kind.MEASURED:
        kinds.append(measures(on))
    return st.one_of(kinds)


def not_seen(on: CriterionOn) -> st.SearchStrategy[Seen]:
    whys = [why for why in Unseen if why is not Unseen.NOT_APPLICABLE or on.must_pass is None]
    return st.sampled_from(whys).map(lambda why: NotSeen(why=why))


@st.composite
def cuts(draw: st.DrawFn, on: CriterionOn) -> Seen:
    result = draw(st.sampled_from(CutResult))
    push_mm = draw(st.one_of(st.none(), st.floats(0, 100))) if result is CutResult.PUSH else None
    return SeenCut(medium=draw(st.sampled_from(on.criterion.media)), result=result, push_mm=push_mm)


@st.composite
def measures(draw: st.DrawFn, on: CriterionOn) -> Seen:
    assert on.unit is not None
    unit = draw(st.sampled_from(ALIKE[on.unit]))
    is_drop = unit in (Unit.DEG_OPEN, Unit.MM_TIP_GAP)
    return SeenMeasure(
        number=draw(NUMBERS),
        unit=unit,
        doubt=draw(st.one_of(st.none(), NUMBERS)),
        ring=draw(st.sampled_from((None, *Blade))) if is_drop else None,
        start_deg=draw(st.sampled_from((None, 90.0, 44.5))) if is_drop else None,
    )


@st.composite
def readings(draw: st.DrawFn, rubric: Rubric, numbered: NumberedPair, stage: Stage) -> tuple[Reading, ...]:
    """Readings of one pair at one stage in the rubric's order, many places left blank."""
    found = []
    for on in rubric.on(numbered.pair.edge_type):
        if on.use is Use.NOT_APPLICABLE or draw(st.integers(0, 3)) == 0:
            continue
        whole = [] if WHOLE_PAIR in on.places else [WHOLE_PAIR]
        for place in (*whole, *on.places):
            if draw(st.integers(0, 2)) == 0:
                what = not_seen(on) if place in whole else seen(on)
                found.append(
                    Reading(
                        number=numbered.number, stage=stage, criterion=on.key, blade=place.blade, station=place.station,
                        seen=draw(what), note=draw(NOTES),
                    )
                )  # fmt: skip
    return tuple(found)


@st.composite
def works(draw: st.DrawFn) -> WorkLog:
    before = draw(st.dictionaries(st.sampled_from(Station), WIDTHS, max_size=3))
    after = {station: width for station, width in before.items() if draw(st.booleans())}
    grit = st.tuples(st.floats(0.001, 100_000), st.sampled_from(GritScale))
    angle = st.builds(Angle, number=st.floats(0.5, 89), unit=st.sampled_from((Unit.DEG_INCLUDED, Unit.DEG_DIAL)))
    whats = LINES.filter(lambda text: text.strip())
    steps = draw(st.lists(st.tuples(whats, st.one_of(st.just((None, None)), grit)), max_size=3))
    return WorkLog(
        steps=tuple(WorkStep(what=what, grit=grit, scale=scale) for what, (grit, scale) in steps),
        angle=draw(st.one_of(st.none(), angle)),
        parts=tuple(draw(st.lists(LINES, max_size=3))),
        minutes=draw(st.one_of(st.none(), st.integers(0, 6000))),
        width_before_mm=before,
        width_after_mm=after,
        length_before_mm=draw(st.one_of(st.none(), st.floats(100, 200))),
        length_after_mm=draw(st.one_of(st.none(), st.floats(1, 100))),
    )


PHOTOS = st.lists(st.builds(Photo, file=LINES.filter(lambda text: text.strip()), caption=LINES), max_size=2).map(tuple)


@st.composite
def assessments(draw: st.DrawFn, rubric: Rubric, round_: Round) -> Assessment:
    return Assessment(
        round_key=round_.key,
        trainee_key=round_.trainee.key,
        rubric_digest=round_.rubric_digest,
        written_on=draw(DAYS),
        disinfected_with=draw(NOTES),
        pairs=tuple(draw(assessed_pairs(rubric, numbered)) for numbered in round_.pairs),
        letter=draw(PROSE),
    )


@st.composite
def assessed_pairs(draw: st.DrawFn, rubric: Rubric, numbered: NumberedPair) -> AssessedPair:
    decision = draw(st.one_of(st.none(), st.sampled_from(Decision)))
    reason = draw(NOTES)
    return AssessedPair(
        number=numbered.number,
        readings=draw(readings(rubric, numbered, Stage.AS_RECEIVED))
        + draw(readings(rubric, numbered, Stage.AS_FINISHED)),
        stated_class=draw(st.one_of(st.none(), st.sampled_from(IntakeClass))),
        decision=decision if reason.strip() else None,
        reason=reason,
        work=draw(works()),
        verdict=draw(st.sampled_from((None, Verdict.ACCEPTED, Verdict.REWORK))),
        notes=draw(PROSE),
        questions=tuple(draw(st.lists(LINES, max_size=3))),
        lessons=draw(PROSE),
        photos=draw(PHOTOS),
    )


@st.composite
def markings(draw: st.DrawFn, rubric: Rubric, round_: Round) -> Marking:
    return Marking(
        round_key=round_.key,
        mentor_key=draw(st.sampled_from(("ines", "second-eye"))),
        rubric_digest=round_.rubric_digest,
        marked_on=draw(DAYS),
        pairs=tuple(draw(marked_pairs(rubric, numbered)) for numbered in round_.pairs),
        letter=draw(PROSE),
    )


@st.composite
def marked_pairs(draw: st.DrawFn, rubric: Rubric, numbered: NumberedPair) -> MarkedPair:
    keys = st.sampled_from([one.key for one in rubric.criteria])
    numbers = sorted(draw(st.sets(st.integers(1, 20), max_size=3)))
    return MarkedPair(
        number=numbered.number,
        readings=draw(readings(rubric, numbered, Stage.AS_RETURNED)),
        transit=tuple(draw(st.lists(keys, max_size=4, unique=True))),
        transit_note=draw(NOTES),
        called_for=draw(st.one_of(st.none(), st.sampled_from(Decision))),
        comments=tuple(draw(st.lists(st.builds(Comment, criterion=keys, text=SAID), max_size=3))),
        keep=draw(LINES),
        change=draw(LINES),
        answers=tuple(Answer(question=number, text=draw(SAID)) for number in numbers),
        notes=draw(PROSE),
        photos=draw(PHOTOS),
    )

"""A small round with fixed days and three pairs, one of each verdict, and every kind of word and number in it.

Pair 1 would have gone out: the trainee accepts it, the mentor sends it back. Pair 2 is accepted by both, though its
finish came back worse. Pair 3 is not shown: its hair was not cut at the tip, and it was not tested as received.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from evalkit.book.kept import PhotoRow
from evalkit.domain.assessment import Angle, AssessedPair, Assessment, GritScale, Photo, WorkLog, WorkStep
from evalkit.domain.bands import Band, Limit, LimitOf
from evalkit.domain.causes import Cause, CauseMap, Pattern
from evalkit.domain.criterion import Criterion, Kind, OnType, Use
from evalkit.domain.marking import Answer, Comment, MarkedPair, Marking
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Hand, KnownFault, Pair, Station
from evalkit.domain.reading import (
    WHOLE_PAIR,
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
from evalkit.domain.round import Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision
from evalkit.domain.verdict import Verdict
from evalkit.progress.results import RoundResult, answer_round

LADDER = ("fails", "works in part", "fit for a customer", "as new")
MADE_ON = date(2026, 5, 4)
RED_DOT = (
    "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAIAAACQd1PeAAAADElEQVR42mP4z8AAAAMBAQDJ/pLvAAAAAElFTkSuQmCC"
)

RUBRIC = Rubric(
    key="bench",
    name="Bench rubric",
    about="Four criteria that count and one that advises.",
    levels=LADDER,
    criteria=(
        Criterion(
            key="ride-line",
            name="Ride line",
            kind=Kind.MEASURED,
            levels=("missing", "broken or too wide", "unbroken, even enough", "unbroken, even"),
            blades=tuple(Blade),
            stations=tuple(Station),
            weight=14,
            must_pass=2,
            unit=Unit.MM,
            bands=(
                Band(level=3, low=0.2, high=0.6),
                Band(level=2, low=0.05, high=1.0),
                Band(level=1, low=0.01),
            ),
            limits=(Limit(of=LimitOf.RATIO, at_most={3: 1.5, 2: 2.0}),),
        ),
        Criterion(
            key="tips",
            name="Tip condition",
            levels=("cross", "meet, fold", "meet, cut", "meet exactly"),
            stations=(Station.TIP,),
            weight=10,
            must_pass=2,
        ),
        Criterion(key="finish", name="Cleanliness", levels=("dirty", "residue", "clean", "clean, oiled"), weight=6),
        Criterion(
            key="hair",
            name="Hair swatch",
            kind=Kind.CUT,
            levels=("pulls", "pushes over the band", "pushes within the band", "no push"),
            stations=tuple(Station),
            weight=20,
            must_pass=2,
            media=(Medium.HAIR,),
            cuts=dict(zip(CutResult, (3, 1, 1, 1, 0, 0), strict=True)),
            push_mm={3: 0.5, 2: 2},
        ),
        Criterion(
            key="sound",
            name="Sound",
            levels=("grates", "rough", "slight noise", "silent"),
            weight=4,
            types={kind: OnType(use=Use.ADVISORY) for kind in EdgeType},
        ),
    ),
)

CAUSES = CauseMap(
    causes=(
        Cause(
            key="tip-high",
            observed="hair pushed at the tip",
            causes=("angle opened toward the tip", "pressure let go"),
            say="Keep the angle to the very end of the stroke.",
            when=(Pattern(criteria=("hair",), cuts=(CutResult.PUSH,), stations=(Station.TIP,)),),
            source="common practice, no source",
        ),
        Cause(
            key="line-uneven",
            observed="the ride line is wider at one end",
            causes=("uneven pressure on the stone",),
            say="Three strokes at each third, the same weight.",
            when=(Pattern(criteria=("ride-line",), figure=LimitOf.RATIO, above=2.0),),
            source="common practice, no source",
        ),
    )
)

PAIRS = (
    Pair(
        tag="S-101", edge_type=EdgeType.CONVEX, size_in=Decimal("6.0"), faults=(KnownFault(tag="nick"),), difficulty=3
    ),
    Pair(tag="S-102", edge_type=EdgeType.BEVEL, size_in=Decimal("5.5")),
    Pair(tag="S-103", edge_type=EdgeType.SEMI_CONVEX, size_in=Decimal("6.5"), hand=Hand.LEFT),
)
TEO = Person(key="teo", name="Teo Marsk")
ODA = Person(key="oda", name="Oda Ferrin")
LINE = tuple(Place(blade, station) for blade in Blade for station in Station)
CUTS = tuple(Place(None, station) for station in Station)
TIP = (Place(None, Station.TIP),)
WHOLE = (WHOLE_PAIR,)


def level(number: int) -> SeenLevel:
    return SeenLevel(level=number)


def mm(number: float, doubt: float | None = None) -> SeenMeasure:
    return SeenMeasure(number=number, unit=Unit.MM, doubt=doubt)


def cut(result: CutResult = CutResult.CLEAN, push_mm: float | None = None) -> SeenCut:
    return SeenCut(medium=Medium.HAIR, result=result, push_mm=push_mm)


def readings(
    number: int, stage: Stage, key: str, places: tuple[Place, ...], *seen: Seen, note: str = ""
) -> tuple[Reading, ...]:
    """One thing seen at each place; a single one stands for all places."""
    each = seen * len(places) if len(seen) == 1 else seen
    return tuple(
        Reading(
            number=number, stage=stage, criterion=key, blade=place.blade, station=place.station, seen=one, note=note
        )
        for place, one in zip(places, each, strict=True)
    )


def round_of(pairs: tuple[Pair, ...] = PAIRS, rubric: Rubric = RUBRIC) -> Round:
    days = (LegKind.SENT, 3), (LegKind.RECEIVED, 9), (LegKind.RETURNED, 20), (LegKind.RECEIVED_BACK, 27)
    return Round(
        key="teo-1",
        trainee=TEO,
        mentor=ODA,
        rubric_key=rubric.key,
        rubric_version=1,
        rubric_digest=rubric.digest,
        planned_on=date(2026, 4, 1),
        pairs=tuple(NumberedPair(number=number, pair=pair) for number, pair in enumerate(pairs, start=1)),
        legs=tuple(
            Leg(kind=kind, happened_on=date(2026, 4, day), condition="dry, all guarded" if day == 27 else "")
            for kind, day in days
        ),
    )


def _assessed_1() -> AssessedPair:
    before, after = Stage.AS_RECEIVED, Stage.AS_FINISHED
    return AssessedPair(
        number=1,
        readings=(
            *readings(1, before, "ride-line", LINE, level(1)),
            *readings(1, before, "tips", TIP, level(1)),
            *readings(1, before, "hair", CUTS[:2], cut()),
            *readings(1, before, "hair", CUTS[2:], cut(CutResult.FOLD), note="folds at the very tip"),
            *readings(1, after, "ride-line", LINE, mm(0.4)),
            *readings(1, after, "tips", TIP, level(2)),
            *readings(1, after, "finish", WHOLE, level(3)),
            *readings(1, after, "hair", CUTS, cut()),
        ),
        decision=Decision.SHARPEN,
        work=WorkLog(
            steps=(
                WorkStep(what="water stone, ride side", grit=3000, scale=GritScale.STONE),
                WorkStep(what="deburred on leather"),
            ),
            angle=Angle(number=45, unit=Unit.DEG_INCLUDED),
            parts=("bumper",),
            minutes=70,
            width_before_mm={Station.HEEL: 8.0, Station.TIP: 4.0},
            width_after_mm={Station.HEEL: 7.9, Station.TIP: 3.75},
        ),
        verdict=Verdict.ACCEPTED,
        notes="Went *well*.\n\n- slow at the tip\n- see https://example.org/x",
        questions=("How even is even enough?", "May I use the finer stone?"),
        lessons="Weigh the strokes.",
        photos=(Photo(file="ab" * 32, caption="thumb blade, heel"),),
    )


def _assessed_2() -> AssessedPair:
    before, after = Stage.AS_RECEIVED, Stage.AS_FINISHED
    return AssessedPair(
        number=2,
        readings=(
            *readings(2, before, "tips", TIP, level(1)),
            *readings(2, before, "finish", WHOLE, level(3)),
            *readings(2, before, "hair", CUTS, cut(CutResult.PUSH, 4)),
            *readings(2, after, "ride-line", LINE, level(2)),
            *readings(2, after, "tips", TIP, level(3)),
            *readings(2, after, "finish", WHOLE, level(3)),
            *readings(2, after, "hair", CUTS, cut()),
        ),
        decision=Decision.SHARPEN,
        verdict=Verdict.ACCEPTED,
    )


def _assessed_3() -> AssessedPair:
    after = Stage.AS_FINISHED
    return AssessedPair(
        number=3,
        readings=(
            *readings(3, after, "ride-line", LINE, level(2)),
            *readings(3, after, "tips", TIP, level(1)),
            *readings(3, after, "finish", WHOLE, NotSeen(why=Unseen.NOT_TESTED)),
        ),
        decision=Decision.SHARPEN,
    )


def assessment_of(round_: Round) -> Assessment:
    return Assessment(
        round_key=round_.key,
        trainee_key=round_.trainee.key,
        rubric_digest=round_.rubric_digest,
        written_on=date(2026, 4, 19),
        pairs=(_assessed_1(), _assessed_2(), _assessed_3()),
        letter="Dear Oda,\n\nthe third one fought me.",
    )


def _marked() -> tuple[MarkedPair, ...]:
    now = Stage.AS_RETURNED
    return (
        MarkedPair(
            number=1,
            readings=(
                *readings(1, now, "ride-line", LINE, mm(0.4, 0.05), mm(0.4), mm(0.5), mm(0.3), mm(0.3), mm(0.9)),
                *readings(1, now, "tips", TIP, level(2)),
                *readings(1, now, "finish", WHOLE, level(3)),
                *readings(1, now, "hair", CUTS, cut(), cut(), cut(CutResult.PUSH, 3)),
                *readings(1, now, "sound", WHOLE, level(1)),
            ),
            comments=(Comment(criterion="ride-line", text="look at the finger tip"),),
            keep="the finish",
            change="the last third of the finger blade",
            answers=(Answer(question=1, text="Widest at most twice the narrowest."),),
            notes="Good light helps.",
        ),
        MarkedPair(
            number=2,
            readings=(
                *readings(2, now, "ride-line", LINE, mm(0.4)),
                *readings(2, now, "tips", TIP, level(3)),
                *readings(2, now, "finish", WHOLE, level(2)),
                *readings(2, now, "hair", CUTS, cut()),
            ),
        ),
        MarkedPair(
            number=3,
            readings=(
                *readings(3, now, "ride-line", LINE, level(2)),
                *readings(3, now, "tips", TIP, level(2)),
                *readings(3, now, "finish", WHOLE, level(1)),
                *readings(3, now, "hair", CUTS, cut(), cut(), NotSeen(why=Unseen.COULD_NOT)),
            ),
            transit=("finish",),
            transit_note="The pocket was wet.",
            was_opened=True,
        ),
    )


def marking_of(round_: Round) -> Marking:
    return Marking(
        round_key=round_.key,
        mentor_key=round_.mentor.key,
        rubric_digest=round_.rubric_digest,
        marked_on=date(2026, 4, 28),
        pairs=_marked(),
        letter="Dear Teo,\n\nyou are close.",
    )


def result_of() -> RoundResult:
    round_ = round_of()
    return answer_round(round_, RUBRIC, assessment_of(round_), marking_of(round_), CAUSES)


PHOTO_ROW = PhotoRow("ab" * 32, "image/jpeg", 1234, 640, 480)


def picture_of(name: str) -> str:
    return RED_DOT

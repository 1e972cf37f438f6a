"""What the trainee types in a round of twelve, made up beforehand, with what the record must then hold."""

from __future__ import annotations

import random
from collections.abc import Container

from evalkit.domain.assessment import Angle, AssessedPair, GritScale, Photo, WorkLog, WorkStep
from evalkit.domain.criterion import CriterionOn, Kind, Use
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, Pair, Station
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
from evalkit.domain.round import NumberedPair, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision, IntakeClass
from evalkit.domain.verdict import Verdict
from tests.browser.typed import PairStory, Typed, TypedWork

PUSHES = {"": None, "0,5": 0.5, "1": 1.0, "2.5": 2.5, "12": 12.0}
"""Millimetres of push as typed and as meant."""

LENGTHS = {"0.4": 0.4, "0,35": 0.35, ".8": 0.8, "1": 1.0, "1.25": 1.25}
INCHES = {"1/64": 0.015625, "0.02": 0.02, "1/32": 0.03125}
ANGLES = {"45": 45.0, "47.5": 47.5, "52": 52.0}
DROPS = {"30": 30.0, "44,5": 44.5, "72": 72.0, "0": 0.0}
COUNTS = {"0": 0.0, "2": 2.0, "11": 11.0}

REMARKS = (
    "",
    "",
    "",
    "",
    "",
    "heard it, did not see it",
    "again after wiping: the same",
    "lamp at 20 % – see photo 1 “edge”",
)
NOTES = (
    "Folded at the *tip* first.\n\nThen took the screw a click tighter and cut again:\n- heel fine\n- tip no better",
    "Zwölf Striche je Seite; Öse klemmt – 0,3 mm 'zu viel' & <b>nicht</b> fett.\n\n1. naß\n2. trocken",
    "   Leading blanks stay.   \n\tSo does a tab.",
    "試験 🙂 اختبار",
    "",
)
QUESTIONS = (
    ("How slow is slow?", "Does a bevel ever cut “wet” cleanly?"),
    (),
    ("One more: <script>alert(1)</script>?",),
)
LESSONS = ("Set the tension FIRST.", "", "Do not stop at the first clean cut;\ncut three.")
LETTER = "Dear Oda,\n\nthe box came whole. Pair 6 was wet.\n\n> I dried it before I read it.\n\nTeo"
N_PART = 5
"""So many places are read where a stage is read in part; the rest is then said to be not tested."""

CAPTIONS = {1: ("the whole pair", ""), 4: ("tip, 10 ×",), 12: ("", "heel “before” <i>")}
"""What the photos show, by pair."""

DISINFECTED = {"product": "Blue Dip (invented)", "contact": "10", "from": "08:10", "to": "08:22"}
DISINFECTED_WORDS = "Blue Dip (invented), label 10 min, from 08:10, to 08:22"
"""The product, the label's contact time, start and end, as the record says them."""


def story_of(round_: Round, rubric: Rubric) -> list[PairStory]:
    """The first pairs are read everywhere as received, the very first as finished too, the rest in part."""
    n_whole = len(round_.pairs) // 6
    return [
        _Teller(rubric, numbered, CAPTIONS).pair(None if at < n_whole else N_PART, None if at == 0 else N_PART)
        for at, numbered in enumerate(round_.pairs)
    ]


def story_of_some(round_: Round, rubric: Rubric, numbers: Container[int]) -> list[PairStory]:
    """These pairs are read everywhere as received and in part as finished; of the others nothing is said at all."""
    return [
        _Teller(rubric, numbered, {}).pair(None, N_PART)
        if numbered.number in numbers
        else PairStory((), (), TypedWork(WorkLog()), AssessedPair(number=numbered.number))
        for numbered in round_.pairs
    ]


def short_story_of(round_: Round, rubric: Rubric) -> list[PairStory]:
    """Every place is read, there are no photos: for rounds of few pairs and criteria."""
    return [_Teller(rubric, numbered, {}).pair(None, None) for numbered in round_.pairs]


class _Teller:
    """Makes one pair's story up."""

    def __init__(self, rubric: Rubric, numbered: NumberedPair, captions: dict[int, tuple[str, ...]]) -> None:
        self.rubric = rubric
        self.number = numbered.number
        self.pair_itself: Pair = numbered.pair
        self.captions = captions.get(numbered.number, ())
        self.dice = random.Random(11_000 + numbered.number)

    def pair(self, n_received: int | None, n_finished: int | None) -> PairStory:
        number, dice = self.number, self.dice
        decision = {5: Decision.ADJUST_ONLY, 8: Decision.LEAVE, 11: Decision.ADJUST_ONLY}.get(number, Decision.SHARPEN)
        is_left = decision is Decision.LEAVE
        received, rest = self._stage(Stage.AS_RECEIVED, n_received)
        finished, rest_2 = ((), ()) if is_left else self._stage(Stage.AS_FINISHED, n_finished)
        work = TypedWork(WorkLog()) if is_left else self._work(is_sharpened=decision is Decision.SHARPEN)
        told = AssessedPair(
            number=number,
            readings=(*(typed.reading for typed in received), *rest, *(typed.reading for typed in finished), *rest_2),
            stated_class=IntakeClass.X if is_left else dice.choice(list(IntakeClass)[:5]),
            decision=decision,
            reason="Crack at the pivot: not safe to work on." if is_left else dice.choice(("", "", "as the cuts say")),
            work=work.log,
            verdict=None if is_left else dice.choice((Verdict.ACCEPTED, Verdict.REWORK)),
            notes=NOTES[number % len(NOTES)],
            questions=QUESTIONS[number % len(QUESTIONS)],
            lessons=LESSONS[number % len(LESSONS)],
            photos=tuple(Photo(file=f"{at}.jpg", caption=caption) for at, caption in enumerate(self.captions)),
        )
        return PairStory(received, finished, work, told)

    # --- readings ---

    def _stage(self, stage: Stage, n_places: int | None) -> tuple[tuple[Typed, ...], tuple[Reading, ...]]:
        """(what is typed, what is then said to be not tested), in the rubric's order."""
        everywhere = [
            (on, place)
            for on in self.rubric.on(self.pair_itself.edge_type)
            if on.use is not Use.NOT_APPLICABLE
            for place in on.places
        ]
        n_places = len(everywhere) if n_places is None else n_places
        typed = tuple(self._typed(stage, on, place) for on, place in everywhere[:n_places])
        untested = NotSeen(why=Unseen.NOT_TESTED)
        return typed, tuple(self._reading(stage, on, place, untested) for on, place in everywhere[n_places:])

    def _reading(self, stage: Stage, on: CriterionOn, place: Place, seen: Seen, note: str = "") -> Reading:
        return Reading(
            number=self.number,
            stage=stage,
            criterion=on.key,
            blade=place.blade,
            station=place.station,
            seen=seen,
            note=note,
        )

    def _typed(self, stage: Stage, on: CriterionOn, place: Place) -> Typed:
        dice = self.dice
        if dice.random() < 0.05:
            fitting = [why for why in Unseen if why is not Unseen.NOT_APPLICABLE or _may_be_put_aside(on)]
            return Typed(self._reading(stage, on, place, NotSeen(why=dice.choice(fitting))))
        note = dice.choice(REMARKS)
        if on.kind is Kind.CUT and dice.random() < 0.85:
            return self._cut(stage, on, place, note)
        if on.kind is Kind.MEASURED and dice.random() < 0.85:
            return self._measured(stage, on, place, note)
        return Typed(self._reading(stage, on, place, SeenLevel(level=dice.randint(0, self.rubric.top)), note))

    def _cut(self, stage: Stage, on: CriterionOn, place: Place, note: str) -> Typed:
        result = self.dice.choice(list(CutResult))
        text = self.dice.choice(list(PUSHES)) if result is CutResult.PUSH else ""
        medium: Medium = self.dice.choice(on.criterion.media)
        seen = SeenCut(medium=medium, result=result, push_mm=PUSHES[text])
        return Typed(self._reading(stage, on, place, seen, note), number=text)

    def _measured(self, stage: Stage, on: CriterionOn, place: Place, note: str) -> Typed:
        unit, numbers = self._unit(on)
        text = self.dice.choice(list(numbers))
        doubt = self.dice.choice(("", "", "", "0,05")) if unit is not Unit.COUNT else ""
        ring, start = (None, "")
        if on.unit is Unit.DEG_OPEN:
            ring, start = self.dice.choice(
                ((None, ""), (Blade.FINGER, "90"), (Blade.FINGER, "90"), (Blade.THUMB, "45"))
            )
        seen = SeenMeasure(
            number=numbers[text],
            unit=unit,
            doubt=0.05 if doubt else None,
            ring=ring,
            start_deg=float(start) if start else None,
        )
        return Typed(self._reading(stage, on, place, seen, note), number=text, doubt=doubt, start=start)

    def _unit(self, on: CriterionOn) -> tuple[Unit, dict[str, float]]:
        own = Unit(on.unit or "")
        if own is Unit.MM and self.number % 4 == 3:
            return Unit.INCH, INCHES
        if own is Unit.DEG_INCLUDED and self.number % 2 == 0:
            return Unit.DEG_DIAL, ANGLES
        if own is Unit.DEG_OPEN and self.pair_itself.blade_length_mm and self.number % 3 == 1:
            return Unit.MM_TIP_GAP, {"41": 41.0, "10.5": 10.5}
        return own, {Unit.MM: LENGTHS, Unit.DEG_INCLUDED: ANGLES, Unit.DEG_OPEN: DROPS, Unit.COUNT: COUNTS}[own]

    # --- work ---

    def _work(self, *, is_sharpened: bool) -> TypedWork:
        """Widths in inches on every fourth pair; a pair that was only adjusted loses nothing."""
        if not is_sharpened:
            steps = (WorkStep(what="clean, oil, reassemble"), WorkStep(what="set tension"))
            return TypedWork(WorkLog(steps=steps, minutes=12, parts=("bumper",)), grits=("", ""))
        dial = self.number % 2 == 0
        steps = (
            WorkStep(what="strip and clean"),
            WorkStep(what="sharpen outside", grit=15, scale=GritScale.MICRON),
            WorkStep(what="a few strokes, loosely; “by feel”", grit=2.5, scale=GritScale.OTHER),
            WorkStep(what="hone the ride line", grit=3000, scale=GritScale.STONE),
        )
        is_in_inches = self.number % 4 == 3
        log = WorkLog(
            steps=steps,
            angle=Angle(number=48.5, unit=Unit.DEG_DIAL if dial else Unit.DEG_INCLUDED),
            parts=("bumper", "washer", "a spring of brass") if self.number % 3 == 0 else ("washer",),
            minutes=40 + self.number,
            **_mm(is_in_inches=is_in_inches),
        )
        return TypedWork(
            log, ("", "15", "2,5", "3000"), "48,5", is_in_inches, *_typed_lengths(is_in_inches=is_in_inches)
        )


def _may_be_put_aside(on: CriterionOn) -> bool:
    """Never a must-pass, nor what the rubric says something of for this very edge type: that applies."""
    special = on.criterion.types.get(on.edge_type)
    return on.must_pass is None and not (special and special.why)


def _mm(*, is_in_inches: bool) -> dict[str, object]:
    """The widths and lengths of `_typed_lengths` in mm, worked out here by 25.4 mm to the inch."""
    if is_in_inches:
        before, after = (0.25 * 25.4, 0.375 * 25.4, 0.5 * 25.4), (0.25 * 25.4, 0.37 * 25.4, 0.495 * 25.4)
        lengths = (2.8125 * 25.4, 2.8125 * 25.4)
    else:
        before, after, lengths = (7.25, 6.8, 4.4), (7.2, 6.75, 4.3), (75.0, 74.9)
    return {
        "width_before_mm": dict(zip(Station, before, strict=True)),
        "width_after_mm": dict(zip(Station, after, strict=True)),
        "length_before_mm": lengths[0],
        "length_after_mm": lengths[1],
    }


def _typed_lengths(*, is_in_inches: bool) -> tuple[tuple[str, ...], tuple[str, ...], str, str]:
    if is_in_inches:
        return ("1/4", "3/8", "0,5"), (".25", "0.37", "0.495"), "2 13/16", "2.8125"
    return ("7,25", "6.8", "4.4"), ("7.2", "6.75", "4.3"), "75", "74,9"

"""What scenario.toml and stock.csv say: the people, the boxes, and everything that was written by hand."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import Literal

from pydantic import Field

from evalkit.domain.assessment import Angle, WorkStep
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, Pair, Station
from evalkit.domain.reading import Seen, Stage
from evalkit.domain.round import Person
from evalkit.domain.triage import Decision, IntakeClass
from evalkit.domain.value import Key, Line, Note, Prose, Value
from evalkit.domain.verdict import Verdict
from evalkit.files.stock import read_stock

STOCK_FILE = "stock.csv"
SCENARIO_FILE = "scenario.toml"

Phrases = dict[str, tuple[str, ...]]


class DrawnPhoto(Value):
    """A picture to draw: whose it is, what it shows (a name in `photos.DRAWINGS`), and its caption."""

    by: Literal["trainee", "mentor"]
    draw: Key
    caption: Line


class SpokenReading(Value):
    """A reading written by hand; its stage says whose it is."""

    stage: Stage
    criterion: Key
    blade: Blade | None = None
    station: Station | None = None
    seen: Seen
    note: Note = ""


class SpokenAngle(Value):
    """One angle at every place, in degrees included: what the trainee believes and what the mentor measures."""

    trainee: float
    mentor: float


class ScriptedPair(Value):
    """What was written by hand of one pair in one box; the rest is filled in."""

    number: int
    called_for: Decision | None = None
    found_to_call_for: Decision | None = None
    intake: IntakeClass | None = None
    stated_class: IntakeClass | None = None
    decision: Decision = Decision.SHARPEN
    reason: Note = ""
    spot: str = ""
    levels: dict[Key, int] = Field(default_factory=dict)
    own_levels: dict[Key, int] = Field(default_factory=dict)
    untested: tuple[Key, ...] = ()
    mentor_untested: tuple[Key, ...] = ()
    mentor_untested_note: Note = ""
    not_closed_note: Note = ""
    readings: tuple[SpokenReading, ...] = ()
    every_angle: SpokenAngle | None = None
    verdict: Verdict | None = None
    is_going_out: bool = False
    is_pushing: bool = False
    has_no_new_parts: bool = False
    minutes: int | None = None
    removed_mm: float | None = None
    angle: Angle | None = None
    notes: Prose = ""
    questions: tuple[Line, ...] = ()
    lessons: Prose = ""
    transit: tuple[Key, ...] = ()
    transit_note: Note = ""
    comments: dict[Key, Note] = Field(default_factory=dict)
    keep: Line = ""
    change: Line = ""
    answers: tuple[Note, ...] = ()
    mentor_notes: Prose = ""
    photos: tuple[DrawnPhoto, ...] = ()


class ScriptedRound(Value):
    """One box: its pairs, its journey, how good the hands were and how kind the eyes, and its two letters."""

    key: Key
    trainee: Key
    rubric: Key
    pairs: tuple[str, ...]
    planned_on: date
    sent_on: date
    received_on: date
    assessed_on: date
    returned_on: date
    back_on: date
    marked_on: date
    has_intake: bool = False
    """Whether the mentor read the pairs before she posted the box."""
    out_ref: Line
    back_ref: Line
    out_condition: Line
    back_condition: Line
    skill: float
    bias: float
    minutes: int
    n_hair_untested: int
    never_tested: tuple[Key, ...] = ()
    never_tested_note: Note = ""
    disinfected_with: Note
    letter: Prose
    mentor_letter: Prose
    scripted: tuple[ScriptedPair, ...]

    def find_script(self, number: int) -> ScriptedPair | None:
        """What was written by hand of one number; None where everything is filled in."""
        return next((pair for pair in self.scripted if pair.number == number), None)

    @property
    def called_for(self) -> dict[int, Decision]:
        """What the mentor thought a pair needs when she packed it."""
        return {pair.number: pair.called_for for pair in self.scripted if pair.called_for is not None}


class ScriptedTrainee(Person):
    """A trainee: which criteria come easier, where the eyes are too kind, how a pair is worked."""

    angle_unit: Literal[Unit.DEG_INCLUDED, Unit.DEG_DIAL]
    steps: tuple[WorkStep, ...]
    skills: dict[Key, float]
    habits: dict[Key, float]


class FillerWords(Value):
    """Sentences for the pages not written by hand, by criterion or by fault; `{where}` is a place."""

    keep: Phrases
    change: Phrases
    nothing: Phrases
    notes: Phrases


class Scenario(Value):
    """Everything that the demo plays."""

    place: Line
    seed: int
    mentor: Person
    trainees: tuple[ScriptedTrainee, ...]
    rounds: tuple[ScriptedRound, ...]
    phrases: FillerWords
    stock: tuple[Pair, ...]

    def get_round(self, key: str) -> ScriptedRound:
        """The box of that key; KeyError when there is none."""
        return {one.key: one for one in self.rounds}[key]

    def get_trainee(self, key: str) -> ScriptedTrainee:
        """The trainee of that key; KeyError when there is none."""
        return {one.key: one for one in self.trainees}[key]

    def get_pair(self, tag: str) -> Pair:
        """The pair of the stock under that tag; KeyError when there is none."""
        return {pair.tag: pair for pair in self.stock}[tag]


def load_scenario(folder: Path) -> Scenario:
    """The scenario that lies in `folder`. Raises pydantic's or the stock file's own error on the first fault."""
    text = (folder / SCENARIO_FILE).read_text(encoding="utf-8")
    return Scenario.model_validate({**tomllib.loads(text), "stock": read_stock(folder / STOCK_FILE)})

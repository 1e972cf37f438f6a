"""Plays the scenario through the real commands, day by day, in the order in which a mentor would give them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import date
from io import StringIO
from pathlib import Path
from shlex import join

from evalkit.domain.rubric import Rubric
from evalkit.errors import EvalkitError, InputError
from evalkit.files.rubrics import load_rubric

from .photos import draw_photo
from .scenario import assessment_of, intake_of, marking_of, photo_name, round_of
from .script import STOCK_FILE, Scenario, ScriptedRound, load_scenario

HERE = Path(__file__).resolve().parent
SHOWN_FIRST = "lin-5"
"""The report to open: the box in which most can be seen."""

FORMATS = "html,md,json"
STOCK_DAY = date(2026, 1, 5)

Say = Callable[..., None]
Run = Callable[[Sequence[str]], int]


@dataclass(frozen=True, slots=True)
class Desk:
    """The mentor's desk: where the book lies and the post arrives, and how a command is given."""

    folder: Path
    scenario: Scenario
    rubrics: dict[str, Rubric]
    run: Run
    log: Path

    @property
    def book(self) -> Path:
        return self.folder / "book"

    @property
    def reports(self) -> Path:
        return self.folder / "reports"

    def post(self, key: str) -> Path:
        """The folder in which what came with a round lies."""
        return self.folder / "post" / key

    def give(self, day: date, *words: str) -> None:
        """Give one command on a day. What it answers goes to the log. Raises EvalkitError when it fails."""
        told = StringIO()
        with self.log.open("a", encoding="utf-8") as log, redirect_stdout(log), redirect_stderr(told):
            print(f"\n[{day}] $ evalkit {join(words)}", flush=True)  # noqa: T201 -- into the log
            code = self.run(["--book", str(self.book), "--today", day.isoformat(), *words])
        if code:
            raise EvalkitError(
                f"the command 'evalkit {join(words)}' ended with {code}: "
                + " ".join(told.getvalue().removeprefix("evalkit: ").split()),
                mend=f"What the others said stands in {self.log}.",
                where=str(self.folder),
            )


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happens to one box on one day."""

    day: date
    box: ScriptedRound
    act: Callable[[Desk, ScriptedRound], None]


def main(folder: Path, say: Say, run: Run) -> Path:
    """Play the whole scenario into `folder` (new or empty) and answer the path of a report to open.

    `run` gives one command to evalkit and answers its exit code; `say` tells how far it is.
    """
    scenario = load_scenario(HERE)
    desk = Desk(folder, scenario, _rubrics(scenario), run, folder / "commands.log")
    _clear(folder)
    _open_book(desk)
    say(f"{scenario.place}: {scenario.mentor.name} has {len(scenario.stock)} practice pairs and two trainees.")
    for event in events_of(scenario):
        event.act(desk, event.box)
        if event.act is _report:
            say(_told(scenario, event.box))
    say(f"Every command and its answer: {desk.log}", f"All reports: {desk.reports}")
    return report_path(desk.reports, SHOWN_FIRST)


def events_of(scenario: Scenario) -> tuple[Event, ...]:
    """Everything that happens to all boxes, by day; on one day in the order of the acts."""
    events = [
        Event(day, box, act)
        for box in scenario.rounds
        for day, act in (
            (box.planned_on, _plan),
            *([(box.planned_on, _take_in_intake)] if box.has_intake else []),
            (box.sent_on, _send),
            (box.received_on, _receive),
            (box.returned_on, _take_in_assessment),
            (box.returned_on, _return),
            (box.back_on, _check_in),
            (box.marked_on, _take_in_marking),
            (box.marked_on, _report),
        )
    ]
    return tuple(sorted(events, key=lambda event: event.day))


def report_path(reports: Path, key: str) -> Path:
    """The HTML report of a round, however its file is named. Raises InputError when there is none."""
    found = sorted(reports.rglob(f"*{key}*.html"))
    if not found:
        raise InputError(f"there is no report of {key}.", mend="Run the demo again.", where=str(reports))
    return found[0]


def _rubrics(scenario: Scenario) -> dict[str, Rubric]:
    from evalkit.files.places import rubrics_dir

    keys = sorted({box.rubric for box in scenario.rounds})
    return {key: load_rubric(rubrics_dir() / f"{key}.toml") for key in keys}


def _clear(folder: Path) -> None:
    if folder.exists() and any(folder.iterdir()):
        raise InputError("the folder is not empty.", mend="Name a new folder for the demo.", where=str(folder))
    (folder / "post").mkdir(parents=True, exist_ok=True)
    (folder / "reports").mkdir()


def _open_book(desk: Desk) -> None:
    mentor = desk.scenario.mentor
    desk.give(STOCK_DAY, "book", "new", str(desk.book), "--mentor", mentor.key, "--name", mentor.name)
    for trainee in desk.scenario.trainees:
        desk.give(STOCK_DAY, "trainee", "add", trainee.key, trainee.name)
    desk.give(STOCK_DAY, "pair", "import", str(HERE / STOCK_FILE))


def _plan(desk: Desk, box: ScriptedRound) -> None:
    words = ["round", "plan", box.trainee, "--rubric", box.rubric, "--pairs", ",".join(box.pairs), "--key", box.key]
    if box.called_for:
        words += ["--called-for", ",".join(f"{number}={decision}" for number, decision in box.called_for.items())]
    desk.give(box.planned_on, *words)
    desk.post(box.key).mkdir()
    desk.give(box.planned_on, "round", "sheet", box.key, "--out", str(desk.post(box.key) / f"{box.key}-empty.md"))


def _take_in_intake(desk: Desk, box: ScriptedRound) -> None:
    """The mentor reads the box before it goes; the sheet stays at home."""
    from evalkit.files.sheets import write_intake_sheet

    rubric = desk.rubrics[box.rubric]
    sheet = desk.post(box.key) / f"{box.key}-intake.md"
    text = write_intake_sheet(
        round_of(desk.scenario, box.key, rubric), rubric, intake_of(desk.scenario, box.key, rubric)
    )
    sheet.write_text(text, encoding="utf-8", newline="\n")
    desk.give(box.planned_on, "intake", "take-in", str(sheet))


def _send(desk: Desk, box: ScriptedRound) -> None:
    desk.give(box.sent_on, "round", "send", box.key, "--ref", box.out_ref, "--condition", box.out_condition)


def _receive(desk: Desk, box: ScriptedRound) -> None:
    desk.give(box.received_on, "round", "received", box.key)


def _return(desk: Desk, box: ScriptedRound) -> None:
    desk.give(box.returned_on, "round", "returned", box.key, "--ref", box.back_ref)


def _check_in(desk: Desk, box: ScriptedRound) -> None:
    desk.give(box.back_on, "round", "check-in", box.key, "--condition", box.back_condition)


def _take_in_assessment(desk: Desk, box: ScriptedRound) -> None:
    from evalkit.files.sheets import write_assessment_sheet

    rubric = desk.rubrics[box.rubric]
    sheet = desk.post(box.key) / f"{box.key}-assessment.md"
    text = write_assessment_sheet(
        round_of(desk.scenario, box.key, rubric), rubric, assessment_of(desk.scenario, box.key, rubric)
    )
    sheet.write_text(text, encoding="utf-8", newline="\n")
    _draw_photos(desk, box, "trainee")
    desk.give(box.returned_on, "assessment", "take-in", str(sheet))


def _take_in_marking(desk: Desk, box: ScriptedRound) -> None:
    from evalkit.files.sheets import write_marking_sheet

    rubric = desk.rubrics[box.rubric]
    sheet = desk.post(box.key) / f"{box.key}-marking.md"
    questions = {pair.number: pair.questions for pair in box.scripted if pair.questions}
    text = write_marking_sheet(
        round_of(desk.scenario, box.key, rubric), rubric, marking_of(desk.scenario, box.key, rubric), questions
    )
    sheet.write_text(text, encoding="utf-8", newline="\n")
    _draw_photos(desk, box, "mentor")
    desk.give(box.marked_on, "marking", "take-in", str(sheet))


def _draw_photos(desk: Desk, box: ScriptedRound, by: str) -> None:
    for pair in box.scripted:
        for photo in pair.photos:
            if photo.by == by:
                name = photo_name(box.key, pair.number, photo)
                (desk.post(box.key) / name).write_bytes(draw_photo(photo.draw, name))


def _report(desk: Desk, box: ScriptedRound) -> None:
    desk.give(box.marked_on, "report", box.key, "--out", str(desk.reports), "--format", FORMATS)


def _told(scenario: Scenario, box: ScriptedRound) -> str:
    name = scenario.get_trainee(box.trainee).name
    return f"  {box.key}: out {box.sent_on}, back {box.back_on}, marked {box.marked_on} ({name}, by {box.rubric})"

"""The school on one page: rows, document and job."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from evalkit.domain.amounts import amount_words
from evalkit.domain.school_values import SchoolValues
from evalkit.domain.value import Value
from evalkit.progress.school import School, TraineeStanding
from evalkit.reports.figures import NOTHING, day_words, list_words, share_words
from evalkit.reports.learnt_words import learnt_words
from evalkit.reports.pages import environment
from evalkit.reports.progress_document import learnt_document
from evalkit.reports.progress_edges import SHAPES
from evalkit.reports.progress_rounds import gone_out_words
from evalkit.reports.progress_shapes import LearntDocument, ReadinessDocument
from evalkit.reports.progress_words import DECISION, HEADLINES, joint_words, need_words
from evalkit.reports.readiness_document import readiness_document
from evalkit.settings import Paper

REMARK = (
    "What the figures say here takes all edge types of a trainee together, as if they were alike: no ground to sign "
    "off any of them. The answers by edge type stand on the trainee's own progress page. Passes: every must-pass "
    "reached. Counted: pairs on which that is shown, with a 95 % interval. Would have gone out: of the pairs the "
    "trainee accepted and the mentor accepts or sends back; open: her marking leaves it so. A dash is not known, never "
    "nought."
)

FORMAT = 1
"""Number of the school format. 1: first."""


@dataclass(frozen=True, slots=True)
class TraineeRow:
    """One trainee in the table."""

    name: str
    key: str
    answer: str
    shape: str
    pairs: str
    chance: str
    counted: str
    gone_out: str
    box: str
    signed_off: str
    remark: str


@dataclass(frozen=True, slots=True)
class NextRow:
    """One trainee who needs a box, and what it should do."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class SchoolRow:
    """The whole page."""

    title: str
    made_on: str
    decision: str
    remark: str
    trainees: tuple[TraineeRow, ...]
    next_boxes: tuple[NextRow, ...]
    to_mark: tuple[str, ...]


class TraineeDocument(Value):
    """One trainee for other programs. `days_overdue`: by round, the days since the last step of a box overdue."""

    trainee: str
    name: str
    readiness: ReadinessDocument
    box: str
    round: str | None
    waits_days: int | None
    has_alarm: bool
    has_fallen: bool
    days_overdue: dict[str, int]
    signed_off_for: tuple[str, ...]


class SchoolDocument(Value):
    """The school for other programs. `next_boxes` names who needs a box, most pressing first."""

    format: int = FORMAT
    made_on: date
    trainees: tuple[TraineeDocument, ...]
    next_boxes: tuple[str, ...]
    to_mark: tuple[str, ...]
    learnt_from_school: LearntDocument | None


@dataclass(frozen=True)
class SchoolJob:
    """One overview; made once and only when a format asks."""

    school: School
    paper: Paper

    @property
    def stem(self) -> str:
        return "school"

    @cached_property
    def row(self) -> SchoolRow:
        return school_row(self.school)

    @cached_property
    def page(self) -> str:
        return environment().get_template("school.html").render(report=self.row, paper=self.paper.value)

    @cached_property
    def text(self) -> str:
        return re.sub(r"\n{3,}", "\n\n", environment().get_template("school.md").render(report=self.row))

    @cached_property
    def data(self) -> str:
        return school_document(self.school).model_dump_json(indent=2) + "\n"


def school_row(school: School) -> SchoolRow:
    """Everything the page says."""
    return SchoolRow(
        title="The school",
        made_on=day_words(school.on),
        decision=DECISION,
        remark=" ".join([REMARK, *learnt_words(_values(school))]),
        trainees=tuple(_trainee(one) for one in school.trainees),
        next_boxes=tuple(NextRow(one.history.trainee.name, _why(one)) for one in school.next_boxes),
        to_mark=tuple(f"{one.history.trainee.name}: round {one.round_key} is back" for one in school.to_mark),
    )


def school_document(school: School) -> SchoolDocument:
    """The document of one overview."""
    return SchoolDocument(
        made_on=school.on,
        trainees=tuple(
            TraineeDocument(
                trainee=one.history.trainee.key,
                name=one.history.trainee.name,
                readiness=readiness_document(one.history.readiness),
                box=one.box.value,
                round=one.round_key,
                waits_days=one.waits_days,
                has_alarm=one.has_alarm,
                has_fallen=one.has_fallen,
                days_overdue=dict(one.overdue),
                signed_off_for=_signed_off(one),
            )
            for one in school.trainees
        ),
        next_boxes=tuple(one.history.trainee.key for one in school.next_boxes),
        to_mark=tuple(one.history.trainee.key for one in school.to_mark),
        learnt_from_school=learnt_document(_values(school)),
    )


def _values(school: School) -> SchoolValues | None:
    """What any of the answers reckons with."""
    return next((one.history.values for one in school.trainees if one.history.values), None)


def school_schema() -> str:
    """The JSON Schema (draft 2020-12) of the school document."""
    schema = SchoolDocument.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _signed_off(one: TraineeStanding) -> tuple[str, ...]:
    kinds = [kind.value for sign_off in one.history.sign_offs if sign_off.stands for kind in sign_off.edge_types]
    return tuple(dict.fromkeys(kinds))


def _trainee(one: TraineeStanding) -> TraineeRow:
    history, found = one.history, one.history.readiness
    last = history.counts[-1] if history.counts else None
    remarks = ["alarm since the sign-off"] if one.has_alarm else []
    remarks += ["skill fell in the latest round"] if one.has_fallen else []
    remarks += [f"box {key} is overdue, {amount_words(days, 'day')} without a step" for key, days in one.overdue]
    return TraineeRow(
        name=history.trainee.name,
        key=history.trainee.key,
        answer=HEADLINES[found.answer],
        shape=SHAPES[found.answer],
        pairs=f"{found.n_pairs} in {amount_words(found.n_rounds, 'round')}",
        chance=joint_words(found),
        counted=share_words(history.latest.last_rounds),
        gone_out=gone_out_words(last) if last else NOTHING,
        box=one.box.value + (f" ({one.round_key})" if one.round_key else ""),
        signed_off=list_words(list(_signed_off(one))) or NOTHING,
        remark="; ".join(remarks),
    )


def _why(one: TraineeStanding) -> str:
    words = ["no box came back yet" if one.waits_days is None else f"the last box came back {_ago(one.waits_days)}"]
    if one.has_alarm:
        words.insert(0, "the alarm has rung since the sign-off")
    if one.has_fallen:
        words.insert(0, "skill fell in the latest round")
    needs = need_words(one.history.readiness)
    return f"{'; '.join(words).capitalize()}." + (f" {needs[0]}" if needs else "")


def _ago(days: int) -> str:
    return "today" if days == 0 else f"{amount_words(days, 'day')} ago"

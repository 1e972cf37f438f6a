"""The mentor's sign-off, given or withdrawn beside the figures: they advise, she decides, and says why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.actions.progressing import history_from, sign_off, withdraw
from evalkit.domain.pair import EdgeType
from evalkit.errors import ChangedError, InputError
from evalkit.reports.figures import day_words, list_words
from evalkit.reports.progress_words import HEADLINES
from evalkit.web.trainees import find_worked

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.domain.signoff import SignOff
    from evalkit.progress.history import History
    from evalkit.web.visit import Visit

MAX_NOTE = 2_000


@dataclass(frozen=True, slots=True)
class EdgeChoice:
    """One edge type that may be signed off, and what the figures say of it."""

    value: str
    says: str


@dataclass(frozen=True, slots=True)
class SignOffRow:
    """One sign-off; with the day and the reason if it was withdrawn."""

    kinds: str
    on: str
    by: str
    note: str
    edge: str
    withdrawn_on: str
    reason: str


def show_sign_off(visit: Visit) -> Response:
    """What stands, what the figures say, and the form of the decision."""
    person = visit.book.get_person("trainee", visit.key)
    worked = find_worked(visit)
    given = [kept.sign_off for kept in visit.book.list_sign_offs(person.key)]
    standing = [one for one in given if one.stands]
    mentors = {mentor.key: mentor.name for mentor in visit.mentors}
    taken = {kind for one in standing if one.mentor_key == visit.who for kind in one.edge_types}
    is_fresh = worked is not None and worked.at_act == visit.act
    return visit.show(
        "sign_off.html",
        200,
        person=person,
        report=worked.job.row if worked else None,
        is_fresh=is_fresh,
        choices=_choices(worked.job.history, taken) if worked and is_fresh else (),
        standing=tuple(_row(one, mentors) for one in standing),
        withdrawn=tuple(_row(one, mentors) for one in given if not one.stands),
        note=visit.desk.find_kept(_note_name(visit)) or "",
    )


def _row(one: SignOff, mentors: dict[str, str]) -> SignOffRow:
    return SignOffRow(
        list_words([kind.value for kind in one.edge_types]),
        day_words(one.signed_on),
        mentors.get(one.mentor_key, one.mentor_key),
        one.note,
        one.edge_types[0].value,
        day_words(one.withdrawn_on) if one.withdrawn_on else "",
        one.reason,
    )


def _note_name(visit: Visit) -> tuple[str, str, str]:
    """Under which her reason waits while the figures are worked out anew."""
    return "sign-off note", visit.key, visit.who


def _choices(history: History, taken: set[EdgeType]) -> tuple[EdgeChoice, ...]:
    answers = {one.edge_type: one.readiness.answer for one in history.by_edge_type}
    kinds = [kind for kind in history.observed.edge_types if kind not in taken]
    return tuple(EdgeChoice(kind.value, HEADLINES[answers.get(kind, history.readiness.answer)]) for kind in kinds)


def give_sign_off(visit: Visit) -> Response:
    """Record the decision with the evidence as it stands: the figures that she has just seen, by edge type."""
    where = f"trainee {visit.key}"
    worked = find_worked(visit)
    kinds = tuple(kind for kind in EdgeType if kind.value in visit.all_said("edge"))
    note = _words(visit, "note", "Say why in a word or two: it stands beside the figures.", where)
    visit.desk.keep(_note_name(visit), note)
    if not kinds:
        raise InputError("no edge type is chosen.", mend="Choose those that may come; go back to do so.", where=where)
    if visit.said("sure") != "yes":
        raise InputError("it is not said that you decide this.", mend="Go back and tick it, if you do.", where=where)
    if worked is None or worked.at_act != visit.act:
        raise ChangedError(
            "the book has changed since the figures were worked out.",
            mend="Work the progress out anew, look at it, then decide; what you wrote is kept on the page.",
            where=where,
        )
    from evalkit.reports.progress_document import evidence_json

    histories = {kind: history_from(visit.book, visit.key, edge_types=(kind,)) for kind in kinds}
    evidence = evidence_json(histories, made_on=visit.today)
    sign_off(visit.book, visit.key, histories, evidence=evidence, who=visit.who, on=visit.today, note=note)
    visit.desk.keep(_note_name(visit), "")
    return visit.go(f"/trainees/{visit.key}", signed="yes")


def withdraw_sign_off(visit: Visit) -> Response:
    """Take a sign-off back; what it rested on stays."""
    where = f"trainee {visit.key}"
    kinds = tuple(kind for kind in EdgeType if kind.value == visit.said("edge"))
    reason = _words(visit, "reason", "Say why it is withdrawn; it stands in the book.", where)
    if not kinds:
        raise InputError("it is not said which sign-off.", mend="Go back and load the page again.", where=where)
    withdraw(visit.book, visit.key, kinds, reason=reason, who=visit.who, on=visit.today)
    return visit.go(f"/trainees/{visit.key}", withdrawn="yes")


def _words(visit: Visit, name: str, mend: str, where: str) -> str:
    words = visit.said_within(name, MAX_NOTE, where)
    if not words:
        raise InputError("a reason is missing.", mend=mend, where=where)
    return words

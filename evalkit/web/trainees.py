"""Trainees: their rounds and sign-offs, and the progress report, worked out when asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.actions.progressing import history_from
from evalkit.errors import NotFoundError
from evalkit.reports.figures import day_words, list_words
from evalkit.reports.formats import MAKERS, Format
from evalkit.reports.progress_page import ProgressJob
from evalkit.web.desk import NO_MARK
from evalkit.web.reporting import file_answer
from evalkit.web.rounds import round_row

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.book.book import Book
    from evalkit.web.visit import Visit

MOST_ROUNDS = 60
DONE = {"signed": "The sign-off is written down.", "withdrawn": "The sign-off is withdrawn."}


@dataclass(frozen=True, slots=True)
class Worked:
    """A progress report worked out, and whether the book has changed since."""

    job: ProgressJob
    at_act: int


def show_trainees(visit: Visit) -> Response:
    """Every trainee."""
    return visit.show("trainees.html", 200, trainees=visit.book.list_people("trainee"))


def show_trainee(visit: Visit) -> Response:
    """One trainee: rounds, sign-offs, and what the figures say if they were worked out."""
    worked = find_worked(visit)
    rows = visit.made(("trainee", visit.key), lambda: _rows(visit.book, visit.key), of=NO_MARK)
    return visit.show(
        "trainee.html",
        200,
        headline=worked.job.row.headline if worked else "",
        is_stale=worked is not None and worked.at_act != visit.act,
        said=next((words for name, words in DONE.items() if name in visit.request.query_params), ""),
        **rows,
    )


def _rows(book: Book, key: str) -> dict[str, object]:
    person = book.get_person("trainee", key)
    given = [kept.sign_off for kept in book.list_sign_offs(person.key)]
    return {
        "person": person,
        "rounds": [round_row(line) for line in book.rounds_of(person.key, MOST_ROUNDS)],
        "signed": [
            (
                list_words([kind.value for kind in one.edge_types]),
                day_words(one.signed_on),
                day_words(one.withdrawn_on) if one.withdrawn_on else "",
            )
            for one in given
        ],
    }


def work_out(visit: Visit) -> Response:
    """Work the progress out: it takes some seconds, so it is done when asked for."""
    person = visit.book.get_person("trainee", visit.key)
    desk, at_act = visit.desk, visit.act  # before the long reckoning: what changes meanwhile makes it stale
    job = ProgressJob(history_from(visit.book, person.key), visit.today, desk.workbench.settings.paper)
    desk.keep(("progress", person.key), Worked(job, at_act))
    page = "sign-off" if visit.said("then") == "sign-off" else "progress"
    return visit.go(f"/trainees/{person.key}/{page}")


def show_progress(visit: Visit) -> Response:
    """The progress report as it will be read."""
    person = visit.book.get_person("trainee", visit.key)
    worked = find_worked(visit)
    if worked is None:
        return visit.go(f"/trainees/{person.key}")
    is_stale = worked.at_act != visit.act
    return visit.show("progress.html", 200, report=worked.job.row, key=person.key, is_stale=is_stale)


def give_progress(visit: Visit) -> Response:
    """The progress report as one file."""
    ending = visit.request.path_params["ending"]
    worked = find_worked(visit)
    if ending not in set(Format) or worked is None:
        raise NotFoundError(
            "there is no such file yet.", mend="Have the progress worked out first.", where=f"trainee {visit.key}"
        )
    return file_answer(MAKERS[Format(ending)](worked.job), f"{worked.job.stem}.{ending}", Format(ending))


def find_worked(visit: Visit) -> Worked | None:
    """The progress report as it was last worked out; None when it was not yet."""
    kept = visit.desk.find_kept(("progress", visit.key))
    return kept if isinstance(kept, Worked) else None

"""The report of a round: as it will be read, and as files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import Response

from evalkit.actions.answers import RoundAnswer, check_standing, get_answer
from evalkit.actions.rounds import check_day
from evalkit.domain.round import RoundState
from evalkit.errors import InputError, NotFoundError
from evalkit.reports.formats import MAKERS, Format, Job, data_address
from evalkit.reports.pages import environment
from evalkit.reports.round_rows import report_row
from evalkit.web.benches import Bench, bench_of
from evalkit.web.photos import photo_address

if TYPE_CHECKING:
    from evalkit.book.listing import RoundStanding
    from evalkit.web.visit import Visit

PHOTO_PX = 900
MEDIA_TYPES = {
    Format.HTML: "text/html; charset=utf-8",
    Format.PDF: "application/pdf",
    Format.MD: "text/markdown; charset=utf-8",
    Format.JSON: "application/json",
}


class NotMarkedYetError(InputError):
    """The marking is not finished, so there is no report."""


class NotReadYetError(InputError):
    """This mentor has not read the assessments so far, and the report would show them."""


def show_report(visit: Visit) -> Response:
    """The report as it will be read. It shows every assessment: to whom has not read them it stays closed."""
    try:
        answer, standing = _answer(visit)
    except NotReadYetError:
        return visit.show("closed_report.html", 200, key=visit.key)
    with_causes = _with_causes(visit)
    row = visit.made(
        ("report row", visit.key, visit.today, with_causes),
        lambda: report_row(
            answer.result,
            made_on=visit.today,
            picture_of=photo_address,
            versions=answer.versions,
            with_causes=with_causes,
        ),
        of=visit.key,
    )
    return visit.show(
        "report.html",
        200,
        report=row,
        key=visit.key,
        with_causes=with_causes,
        has_draft=visit.who in standing.drafts,
    )


def open_report(visit: Visit) -> Response:
    """The mentor reads the report, and with it every assessment of the round: that is written down."""
    _check_marked(bench_of(visit))
    visit.book.record_opening(visit.key, None, visit.who)
    return visit.go(f"/rounds/{visit.key}/report")


def _answer(visit: Visit) -> tuple[RoundAnswer, RoundStanding]:
    """The round answered, kept until the book changes. Raises InputError while it may not be read."""
    bench = bench_of(visit)
    _check_marked(bench)
    check_day(bench.round, visit.today)
    if not bench.standing.has_opened_all(visit.who) and bench.round.state is not RoundState.LOST:
        raise NotReadYetError(
            "this report shows every assessment of the round.",
            mend="Open the report on its page first; that is written down.",
            where=f"round {visit.key}",
        )
    desk, with_causes = visit.desk, _with_causes(visit)
    answer = visit.made(
        ("report", visit.key, with_causes),
        lambda: get_answer(
            visit.book, visit.key, desk.causes if with_causes else None, rubric_of=desk.rubric, round_=bench.round
        ),
        of=visit.key,
    )
    return answer, bench.standing


def _check_marked(bench: Bench) -> None:
    """Raises NotMarkedYetError in the words of a page."""
    try:
        check_standing(bench.round, bench.standing, bench.who, is_early=False)
    except InputError as error:
        raise NotMarkedYetError(
            error.what,
            mend="There is a report once the marking is finished, on the page of the round.",
            where=error.where,
        ) from None


def _with_causes(visit: Visit) -> bool:
    return visit.request.query_params.get("causes") == "yes"


def give_file(visit: Visit) -> Response:
    """The report as one file, to send or to print."""
    ending = visit.request.path_params["ending"]
    if ending not in set(Format):
        raise NotFoundError("there is no such file of a report.", mend=f"It is one of: {', '.join(Format)}.")
    answer, _ = _answer(visit)
    store = visit.desk.photos
    job = Job(
        result=answer.result,
        made_on=visit.today,
        paper=visit.desk.workbench.settings.paper,
        picture_of=lambda name: data_address(store.thumbnail(name, PHOTO_PX)),
        versions=answer.versions,
        with_causes=_with_causes(visit),
    )
    return file_answer(MAKERS[Format(ending)](job), f"{job.stem}.{ending}", Format(ending))


def file_answer(data: bytes, name: str, kind: Format) -> Response:
    """A file to be kept, never to be run in the pages' own frame."""
    headers = {"content-disposition": f'attachment; filename="{name}"', "content-security-policy": "sandbox"}
    return Response(data, media_type=MEDIA_TYPES[kind], headers=headers)


def show_look(visit: Visit) -> Response:
    """The style sheet of the reports: the pages wear the same clothes."""
    paper = visit.desk.workbench.settings.paper.value
    css = "".join(environment().get_template(name).render(paper=paper) for name in ("report.css", "progress.css"))
    return Response(css, media_type="text/css; charset=utf-8", headers={"cache-control": "private, max-age=300"})

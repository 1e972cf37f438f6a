"""What goes with a box, as files: papers, labels, the trainee's bench book and round sheet."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from evalkit.errors import NotFoundError
from evalkit.files.sheets import write_assessment_sheet
from evalkit.reports.formats import MAKERS, Format
from evalkit.reports.label_sheets import USUAL, get_sheet
from evalkit.reports.papers_rows import Posting
from evalkit.reports.to_papers import LabelsJob, PapersJob
from evalkit.web.reporting import file_answer
from evalkit.workbench import bench_page

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.domain.round import Round
    from evalkit.web.visit import Visit


def give_box_file(visit: Visit) -> Response:
    """One file of a box. It says nothing that the trainee may not know, the labels and papers neither."""
    name, ending = visit.request.path_params["name"], visit.request.path_params["ending"]
    kind = next((one for one in BOX_FILES if (one.name, one.ending.value) == (name, ending)), None)
    if kind is None:
        known = ", ".join(f"{one.name}.{one.ending}" for one in BOX_FILES)
        raise NotFoundError("there is no such file of a box.", mend=f"There are: {known}.")
    round_ = visit.book.get_round(visit.key)
    return file_answer(kind.make(visit, round_, kind.ending), f"{round_.key}-{name}.{ending}", kind.ending)


def _papers(visit: Visit, round_: Round, ending: Format) -> bytes:
    settings = visit.desk.workbench.settings
    job = PapersJob(round_, Posting(from_country=settings.country or None), visit.today, settings.paper)
    return MAKERS[ending](job)


def _labels(visit: Visit, round_: Round, ending: Format) -> bytes:
    sheet = get_sheet(USUAL[visit.desk.workbench.settings.paper])
    return MAKERS[ending](LabelsJob(round_, sheet))


def _bench_book(visit: Visit, round_: Round, ending: Format) -> bytes:
    del ending
    return bench_page(visit.book, round_.key).html.encode()


def _sheet(visit: Visit, round_: Round, ending: Format) -> bytes:
    del ending
    return write_assessment_sheet(round_, visit.desk.rubric(round_.rubric_digest)).encode()


class BoxFile(NamedTuple):
    """A file of a box: its name and ending in the address, what stands on its link, and how it is made."""

    name: str
    ending: Format
    words: str
    make: Callable[[Visit, Round, Format], bytes]


BOX_FILES = (
    BoxFile("bench-book", Format.HTML, "Bench book", _bench_book),
    BoxFile("sheet", Format.MD, "Round sheet", _sheet),
    BoxFile("papers", Format.PDF, "Papers (PDF)", _papers),
    BoxFile("papers", Format.HTML, "Papers (HTML)", _papers),
    BoxFile("labels", Format.PDF, "Labels (PDF)", _labels),
    BoxFile("labels", Format.HTML, "Labels (HTML)", _labels),
)
"""In the order of the page. Each name and ending once."""

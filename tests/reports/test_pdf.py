"""The report on paper, read back with pypdf: its pages, its words, its tags, its size."""

from __future__ import annotations

import builtins
import io

import pytest

from evalkit.errors import MissingPartError
from evalkit.files.places import templates_dir
from evalkit.reports.to_pdf import to_pdf
from evalkit.settings import Paper
from tests.reports.conftest import job_of
from tests.reports.values import result_of

pypdf = pytest.importorskip("pypdf")
POINTS = {Paper.A4: (595.28, 841.89), Paper.LETTER: (612.0, 792.0)}
"""ISO 216: A4 is 210 by 297 mm; Letter is 8.5 by 11 in; a point is 1/72 in."""


@pytest.fixture(scope="module", params=list(Paper))
def paper_and_pdf(request: pytest.FixtureRequest) -> tuple[Paper, object]:
    return request.param, pypdf.PdfReader(io.BytesIO(to_pdf(job_of(result_of(), request.param).page)))


def test_every_page_has_the_size_of_the_paper(paper_and_pdf):
    paper, pdf = paper_and_pdf
    assert len(pdf.pages) >= 4  # the first page, and one section per pair
    for page in pdf.pages:
        size = float(page.mediabox.width), float(page.mediabox.height)
        assert size == pytest.approx(POINTS[paper], abs=0.1)


def test_its_words_can_be_read_back(paper_and_pdf):
    _, pdf = paper_and_pdf
    words = " ".join(" ".join(page.extract_text().split()) for page in pdf.pages)
    for said in ("Round teo-1: Teo Marsk", "Would have gone out:", "1 of 2", "Two things to practise", "48.0",
                 "Ride line", "fault missed", "How this was reckoned", "Cautions"):  # fmt: skip
        assert said in words
    assert all(f"Pair {number}" in words for number in (1, 2, 3))


def test_it_is_tagged_for_those_who_listen(paper_and_pdf):
    _, pdf = paper_and_pdf
    root = pdf.trailer["/Root"]
    assert bool(root["/MarkInfo"]["/Marked"])
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Round teo-1: Teo Marsk"


@pytest.mark.parametrize("fault", [ImportError("no weasyprint"), OSError("cannot load library 'libpango-1.0-0'")])
def test_without_its_libraries_it_says_what_to_install(fault: Exception, monkeypatch: pytest.MonkeyPatch):
    real = builtins.__import__

    def without(name: str, *more: object, **named: object) -> object:
        if name.partition(".")[0] == "weasyprint":
            raise fault
        return real(name, *more, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(MissingPartError) as told:
        to_pdf("<p>x</p>")
    assert told.value.exit_code == 4
    assert "pip install 'evalkit[pdf]'" in str(told.value)
    assert "libpango-1.0-0" in str(told.value)
    assert str(fault) in str(told.value)
    assert "\n" not in str(told.value)


@pytest.mark.parametrize("address", ["https://evil.example/x.png", "file:///etc/passwd", "http://127.0.0.1:9/x.png"])
def test_it_fetches_nothing(address: str, monkeypatch: pytest.MonkeyPatch):
    import urllib.request

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("something was fetched")

    monkeypatch.setattr(urllib.request.OpenerDirector, "open", refuse)
    pdf = pypdf.PdfReader(io.BytesIO(to_pdf(f"<title>t</title><p>before</p><img src='{address}' alt='x'><p>after</p>")))
    assert "before" in pdf.pages[0].extract_text()
    assert "after" in pdf.pages[0].extract_text()
    assert pdf.attachments == {}


STYLE = ("report.css", "progress.css")


@pytest.mark.parametrize("before_mm", range(236, 248, 2))
def test_the_name_of_a_table_of_figures_stays_with_it(before_mm: int):
    """However far down the page it falls: a name alone at the foot says nothing."""
    from weasyprint import HTML

    style = "".join((templates_dir() / name).read_text(encoding="utf-8") for name in STYLE).replace("{{ paper }}", "A4")
    rows = "<tr><th scope='row'>row</th><td>3 of 12</td></tr>" * 6
    page = (
        f"<style>{style}</style><main><h1>x</h1><div style='height: {before_mm}mm'></div><details class='figures'>"
        f"<summary>name</summary><div class='scroll'><table><thead><tr><th>x</th></tr></thead>{rows}</table></div>"
    )
    found: dict[str, int] = {}
    for at, one in enumerate(pypdf.PdfReader(io.BytesIO(HTML(string=page).write_pdf())).pages):
        for word in one.extract_text().split():
            found.setdefault(word, at)
    assert found["name"] == found["row"]

"""Labels as a browser prints them: every code is read by an independent reader, at its place in millimetres."""

from __future__ import annotations

import io

import pytest

from evalkit.reports.label_sheets import PAPER_MM, SHEETS, LabelSheet
from evalkit.reports.to_papers import LabelsJob
from tests.browser.driving import axe_faults
from tests.reports.test_papers import papers, round_of

zxingcpp = pytest.importorskip("zxingcpp")
CSS_PX_PER_MM = 96 / 25.4
SCALE = 3


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_every_code_is_read_where_its_label_lies(new_context, sheet: LabelSheet, tmp_path):
    from PIL import Image

    file = tmp_path / "labels.html"
    file.write_text(LabelsJob(round_of(n=sheet.n_labels), sheet).page, encoding="utf-8")
    page = new_context("laptop", device_scale_factor=SCALE).new_page()
    page.goto(file.as_uri())
    page.emulate_media(media="print")
    shot = page.locator(".sheet").screenshot()
    picture = Image.open(io.BytesIO(shot)).convert("L")
    px_per_mm = picture.width / PAPER_MM[sheet.paper][0]
    assert px_per_mm == pytest.approx(CSS_PX_PER_MM * SCALE, rel=0.01)
    read = {one.text: one.position for one in zxingcpp.read_barcodes(picture)}
    assert set(read) == {f"evalkit:teo-3:{n}:S-{100 + n}" for n in range(1, sheet.n_labels + 1)}
    for words, position in read.items():
        left, top = sheet.place_of(int(words.split(":")[2]) - 1)
        corners = [position.top_left, position.top_right, position.bottom_left, position.bottom_right]
        for corner in corners:  # the whole code, its quiet zone apart, lies inside its own label
            assert left < corner.x / px_per_mm < left + sheet.width_mm
            assert top < corner.y / px_per_mm < top + sheet.height_mm
        assert (position.top_right.x - position.top_left.x) / px_per_mm > 12  # wide enough for a telephone


@pytest.mark.parametrize("size", ["phone", "laptop"])
@pytest.mark.parametrize("is_dark", [False, True], ids=["light", "dark"])
def test_the_papers_can_be_read_by_everybody(new_context, size: str, is_dark: bool, tmp_path):
    for name, job in (("papers", papers()), ("labels", LabelsJob(round_of(), SHEETS["a4-cards"]))):
        file = tmp_path / f"{name}.html"
        file.write_text(job.page, encoding="utf-8")
        page = new_context(size, is_dark=is_dark).new_page()
        page.goto(file.as_uri())
        assert axe_faults(page) == []

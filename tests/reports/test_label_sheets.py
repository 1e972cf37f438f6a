"""Label sheets: their sums fit the paper, and labels land where the sheet has them. Measures: common practice."""

from __future__ import annotations

import pytest

from evalkit.errors import InputError
from evalkit.reports.label_sheets import PAPER_MM, SHEETS, LabelSheet, get_sheet, paged
from evalkit.settings import Paper


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_the_sheet_fits_its_paper(sheet: LabelSheet):
    width, height = PAPER_MM[sheet.paper]
    across = 2 * sheet.left_mm + sheet.n_columns * sheet.width_mm + (sheet.n_columns - 1) * sheet.gap_mm
    assert across == pytest.approx(width)
    assert 2 * sheet.top_mm + sheet.n_rows * sheet.height_mm == pytest.approx(height)
    assert min(sheet.left_mm, sheet.top_mm, sheet.gap_mm) >= 0
    left, top = sheet.place_of(sheet.n_labels - 1)
    assert left + sheet.width_mm <= width + 1e-9
    assert top + sheet.height_mm <= height + 1e-9
    assert sheet.code_mm <= sheet.height_mm
    assert sheet.code_mm + 28 <= sheet.width_mm  # room for number and words beside the code


def test_no_label_lies_on_another():
    for sheet in SHEETS.values():
        places = [sheet.place_of(at) for at in range(sheet.n_labels)]
        assert len(set(places)) == sheet.n_labels
        for at, (left, top) in enumerate(places):
            for other_left, other_top in places[:at]:
                apart = (
                    abs(left - other_left) >= sheet.width_mm - 1e-9 or abs(top - other_top) >= sheet.height_mm - 1e-9
                )
                assert apart


def test_papers_and_labels_have_the_sizes_that_are_sold():
    # A4: ISO 216; Letter: 8.5 x 11 in of 25.4 mm. Labels: common practice, from memory.
    assert PAPER_MM[Paper.A4] == (210, 297)
    assert PAPER_MM[Paper.LETTER] == pytest.approx((215.9, 279.4))
    assert (SHEETS["a4-3x8"].n_labels, SHEETS["a4-3x8"].width_mm, SHEETS["a4-3x8"].height_mm) == (24, 70, 37)
    assert (SHEETS["a4-2x7"].n_labels, SHEETS["a4-2x7"].width_mm, SHEETS["a4-2x7"].height_mm) == (14, 99.1, 38.1)
    letter = SHEETS["letter-3x10"]
    assert (letter.n_labels, letter.width_mm, letter.height_mm) == (30, pytest.approx(66.7, abs=0.03), 25.4)
    assert (letter.top_mm / 25.4, letter.left_mm / 25.4) == (pytest.approx(1 / 2), pytest.approx(3 / 16))
    assert (SHEETS["a4-3x8"].left_mm, SHEETS["a4-3x8"].top_mm) == (0, 0.5)


def test_a_begun_sheet_goes_on_where_it_stopped():
    sheet = get_sheet("a4-2x7")
    first, second = paged(list("abcdef"), sheet, 12)
    assert first == ((11, "a"), (12, "b"), (13, "c"))
    assert second == ((0, "d"), (1, "e"), (2, "f"))
    for wrong in (0, 15):
        with pytest.raises(InputError, match=f"there is no label {wrong} on a4-2x7. Its labels are 1 to 14"):
            paged("a", sheet, wrong)


def test_an_unknown_sheet_is_told_those_there_are():
    with pytest.raises(
        InputError, match=r"'a5' is no label sheet\. There are: a4-3x8 \(24 labels of 70 x 37 mm on A4\)"
    ):
        get_sheet("a5")

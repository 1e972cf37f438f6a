"""The drawing of the two blades: the worst level at each place, and a mark that differs by shape and word."""

from __future__ import annotations

import pytest

from evalkit.domain.grading import PairGrade
from evalkit.domain.pair import Blade, Station
from evalkit.domain.reading import WHOLE_PAIR, Place
from evalkit.progress.results import answer_round
from evalkit.reports.blades import SPOTS, draw_blades, shape_of
from tests.reports.values import RUBRIC, result_of, round_of


def marks(grade: PairGrade) -> dict[str, tuple[str, str]]:
    """What stands in the drawing: words before the colon to (shape, sign)."""
    drawing = draw_blades(grade, key="k", title="t", fit=RUBRIC.fit, top=RUBRIC.top)
    return {mark.title.partition(":")[0]: (mark.shape, mark.sign) for mark in drawing.marks}


@pytest.mark.parametrize(
    ("level", "fit", "top", "shape"),
    [
        (None, 2, 3, "unseen"), (0, 2, 3, "fails"), (1, 2, 3, "part"), (2, 2, 3, "fit"), (3, 2, 3, "new"),
        (0, 1, 1, "fails"), (1, 1, 1, "new"), (4, 3, 5, "fit"), (5, 3, 5, "new"), (2, 3, 5, "part"),
    ],
)  # fmt: skip
def test_each_sort_of_level_has_its_shape(level: int | None, fit: int, top: int, shape: str):
    assert shape_of(level, fit=fit, top=top) == shape


def test_pair_1_as_returned_shows_the_wide_tip_and_the_push():
    """Ride line 0.9 mm at the finger tip is level 2, the rest 3; hair is pushed 3 mm at the tip: level 1; tips 2."""
    assert marks(result_of().pairs[0].returned) == {
        "thumb heel": ("new", "3"),
        "thumb middle": ("new", "3"),
        "thumb tip": ("new", "3"),
        "cut at the heel": ("new", "3"),
        "cut at the middle": ("new", "3"),
        "cut at the tip": ("part", "1"),
        "finger heel": ("new", "3"),
        "finger middle": ("new", "3"),
        "finger tip": ("fit", "2"),
        "whole pair": ("new", "3"),
    }


def test_pair_3_shows_what_was_not_seen():
    """Hair could not be cut at the tip, but tips are level 2 there; the finish was spoiled in transit."""
    found = marks(result_of().pairs[2].returned)
    assert found["cut at the tip"] == ("unseen", "2")  # what was seen there is fit, but not all of it was seen
    assert found["whole pair"] == ("unseen", "?")


def test_the_words_name_the_criteria_below_fit():
    drawing = draw_blades(result_of().pairs[0].returned, key="k", title="t", fit=2, top=3)
    assert "cut at the tip: 1 (Hair swatch)" in drawing.words
    assert drawing.words.startswith("Worst level seen at each place. thumb heel: 3; ")


def test_an_advisory_criterion_is_not_drawn():
    """'Sound' was level 1, but it only advises: the whole pair shows the finish, level 3."""
    assert marks(result_of().pairs[0].returned)["whole pair"] == ("new", "3")


def test_a_pair_nobody_touched_is_all_question_marks():
    round_ = round_of()
    grade = answer_round(round_, RUBRIC, None, None).pairs[0].returned
    assert set(marks(grade).values()) == {("unseen", "?")}


def test_every_place_a_rubric_can_ask_for_has_its_spot_and_no_two_touch():
    places = [Place(blade, station) for blade in (*Blade, None) for station in Station]
    assert set(SPOTS) == {*places, WHOLE_PAIR}
    spots = list(SPOTS.values())
    assert all(10 <= x <= 310 and 10 <= y <= 142 for x, y in spots)
    near = [(a, b) for i, a in enumerate(spots) for b in spots[:i] if abs(a[0] - b[0]) < 22 and abs(a[1] - b[1]) < 22]
    assert near == []

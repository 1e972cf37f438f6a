"""Geometry of charts: everything lies inside its frame, and higher is higher."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.reports.charts import Course, Point, chart, level_frame, month_frame, month_ticks, round_top

SHARES = st.floats(0, 1)
MONTHS = st.floats(0, 200)


@given(st.lists(st.tuples(MONTHS, SHARES, SHARES, SHARES), min_size=1, max_size=20), st.booleans())
def test_everything_lies_inside(points, wide):
    rows = tuple((x, *sorted(ys)) for x, *ys in points)
    drawn = chart(
        "k", "t", "w", month_frame(max(x for x, *_ in rows), wide=wide),
        points=[Point(x, middle, low, high) for x, low, middle, high in rows],
        course=Course(rows), guides=((0.8, "asked"),),
    )  # fmt: skip
    numbers = [tuple(map(float, pair)) for pair in re.findall(r"([\d.]+) ([\d.]+)", drawn.band + drawn.line)]
    assert len(numbers) == 3 * len(rows)
    for x, y in [*numbers, *((dot.x, dot.y) for dot in drawn.dots)]:
        assert drawn.left <= x <= drawn.right
        assert 0 <= y <= drawn.base
    for dot, (_, low, middle, high) in zip(drawn.dots, rows, strict=True):
        assert dot.high <= dot.y <= dot.low  # the page counts downward
        assert low <= middle <= high
    assert all(0 <= tick.at <= drawn.width for tick in drawn.x_ticks)


@pytest.mark.parametrize(("last", "ticks"), [(0, 1), (0.4, 1), (5.2, 6), (6.9, 7), (13, 7), (60, 6), (400, 7)])
def test_months_get_a_few_whole_ticks(last, ticks):
    found = month_ticks(last)
    assert len(found) == ticks
    assert found[0] == 0
    assert found[-1] <= max(last, 0)


@pytest.mark.parametrize(("highest", "top"), [(0, 1), (0.07, 0.1), (0.11, 0.2), (1, 1), (92, 100), (110, 200), (4, 4)])
def test_the_top_of_an_axis_is_round_and_high_enough(highest, top):
    assert round_top(highest) == pytest.approx(top)


def test_no_course_draws_no_line():
    drawn = chart("k", "t", "w", level_frame(range(4), "says"), points=[Point(1, 0.5)])
    assert (drawn.band, drawn.line) == ("", "")
    assert [tick.label for tick in drawn.x_ticks] == ["0", "1", "2", "3"]


def test_words_of_a_guide_never_leave_the_chart():
    for y in (0.0, 0.5, 0.99, 1.0):
        (guide,) = chart("k", "t", "w", month_frame(5), guides=((y, "asked"),)).guides
        assert 8 <= guide.word_y <= 160

"""Geometry of the charts: scales, ticks, bands, dots. The template draws what stands here and reckons nothing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

WIDTH, HEIGHT = 280.0, 160.0
WIDE = 400.0
LEFT, RIGHT, TOP, BOTTOM = 40.0, 12.0, 10.0, 34.0
LABEL_DROP, NAME_DROP = 14.0, 27.0
"""How far under the base line labels and the axis' name are written."""
STEPS = (1, 2, 3, 6, 12, 24, 36, 60, 120)
MOST_X_TICKS = 7


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on an axis, its label and where that is written."""

    at: float
    label: str
    word_x: float
    word_y: float


@dataclass(frozen=True, slots=True)
class Dot:
    """A point with the ends of its bar (equal to `y` where it has none). `shape` is disc, ring or diamond."""

    x: float
    y: float
    low: float
    high: float
    shape: str
    title: str


@dataclass(frozen=True, slots=True)
class Guide:
    """A level line across the chart, with its words."""

    y: float
    words: str
    word_x: float
    word_y: float


@dataclass(frozen=True, slots=True)
class Figures:
    """The table that belongs to a chart or to a group of them."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart, ready to draw. `band` and `line` are paths, empty where no trend may be shown."""

    key: str
    title: str
    words: str
    width: float
    height: float
    left: float
    right: float
    base: float
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    x_name: str
    name_y: float
    band: str = ""
    line: str = ""
    dots: tuple[Dot, ...] = ()
    guides: tuple[Guide, ...] = ()


@dataclass(frozen=True, slots=True)
class ChartGroup:
    """Charts that are read together, with the remark that keeps them honest and the table behind them."""

    key: str
    title: str
    remarks: tuple[str, ...]
    charts: tuple[Chart, ...]
    figures: Figures


@dataclass(frozen=True, slots=True)
class Point:
    """What is to be drawn at one place: in the units of the axes."""

    x: float
    y: float
    low: float | None = None
    high: float | None = None
    shape: str = "disc"
    title: str = ""


@dataclass(frozen=True, slots=True)
class Axis:
    """A stretch of numbers laid on a stretch of the drawing."""

    low: float
    high: float
    start: float
    end: float

    def at(self, number: float) -> float:
        """Where a number lies, kept inside, to a tenth."""
        share = 0.5 if self.high == self.low else (number - self.low) / (self.high - self.low)
        return round(self.start + (self.end - self.start) * min(max(share, 0.0), 1.0), 1)


@dataclass(frozen=True, slots=True)
class Frame:
    """The two axes of a chart and their ticks."""

    x: Axis
    y: Axis
    width: float
    height: float
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    x_name: str


@dataclass(frozen=True, slots=True)
class Course:
    """A middle with its band over the months; each as (x, low, middle, high)."""

    points: tuple[tuple[float, float, float, float], ...] = field(default=())


def month_frame(
    last_month: float, *, wide: bool = False, top: float = 1.0, y_labels: Sequence[str] | None = None
) -> Frame:
    """Months from nought along, shares or amounts from 0 to `top` up. `y_labels` word 0, the half and `top`."""
    labels = ("0 %", "50 %", "100 %") if y_labels is None else y_labels
    width = WIDE if wide else WIDTH
    x = Axis(0.0, max(last_month, 1.0), LEFT + 8, width - RIGHT - 8)
    y = Axis(0.0, top, HEIGHT - BOTTOM, TOP)
    return Frame(
        x, y, width, HEIGHT,
        _x_ticks(x, [(month, f"{month:g}") for month in month_ticks(x.high)]),
        _y_ticks(y, [(top * share, label) for share, label in zip((0.0, 0.5, 1.0), labels, strict=True)]),
        "months",
    )  # fmt: skip


def level_frame(levels: Sequence[int], x_name: str) -> Frame:
    """Levels along, shares from 0 to 1 up."""
    x = Axis(min(levels) - 0.3, max(levels) + 0.3, LEFT + 8, WIDTH - RIGHT - 8)
    y = Axis(0.0, 1.0, HEIGHT - BOTTOM, TOP)
    ticks = _y_ticks(y, ((0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %")))
    return Frame(x, y, WIDTH, HEIGHT, _x_ticks(x, [(level, str(level)) for level in levels]), ticks, x_name)


def _x_ticks(axis: Axis, labels: Sequence[tuple[float, str]]) -> tuple[Tick, ...]:
    return tuple(Tick(axis.at(at), label, axis.at(at), HEIGHT - BOTTOM + LABEL_DROP) for at, label in labels)


def _y_ticks(axis: Axis, labels: Sequence[tuple[float, str]]) -> tuple[Tick, ...]:
    return tuple(Tick(axis.at(at), label, LEFT - 5, round(axis.at(at) + 3.2, 1)) for at, label in labels)


def month_ticks(last: float) -> tuple[float, ...]:
    """Whole months from 0 to the last, in steps that leave at most MOST_X_TICKS."""
    step = next((one for one in STEPS if last / one < MOST_X_TICKS), STEPS[-1])
    return tuple(float(month) for month in range(0, math.floor(last) + 1, step))


def round_top(highest: float) -> float:
    """The top of an axis of amounts: the next 1, 2, 4, 5 or 10 times a power of ten that holds `highest`."""
    if highest <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(highest))
    return next(step * power for step in (1, 2, 4, 5, 10) if highest <= step * power * (1 + 1e-9))


def chart(
    key: str,
    title: str,
    words: str,
    frame: Frame,
    *,
    points: Sequence[Point] = (),
    course: Course | None = None,
    guides: Sequence[tuple[float, str]] = (),
) -> Chart:
    """Lay points, a course and level lines into a frame."""
    course = course or Course()
    return Chart(
        key=key,
        title=title,
        words=words,
        width=frame.width,
        height=frame.height,
        left=LEFT,
        right=frame.width - RIGHT,
        base=frame.height - BOTTOM,
        x_ticks=frame.x_ticks,
        y_ticks=frame.y_ticks,
        x_name=frame.x_name,
        name_y=frame.height - BOTTOM + NAME_DROP,
        band=_band(frame, course),
        line=_line(frame, course),
        dots=tuple(_dot(frame, point) for point in points),
        guides=tuple(_guide(frame, y, said) for y, said in guides),
    )


def _band(frame: Frame, course: Course) -> str:
    if not course.points:
        return ""
    there = [(frame.x.at(x), frame.y.at(high)) for x, _, _, high in course.points]
    back = [(frame.x.at(x), frame.y.at(low)) for x, low, _, _ in reversed(course.points)]
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in [*there, *back]) + "Z"


def _line(frame: Frame, course: Course) -> str:
    if not course.points:
        return ""
    return "M" + "L".join(f"{frame.x.at(x):g} {frame.y.at(middle):g}" for x, _, middle, _ in course.points)


def _dot(frame: Frame, point: Point) -> Dot:
    y = frame.y.at(point.y)
    low = y if point.low is None else frame.y.at(point.low)
    high = y if point.high is None else frame.y.at(point.high)
    return Dot(frame.x.at(point.x), y, low, high, point.shape, point.title)


def _guide(frame: Frame, y: float, words: str) -> Guide:
    """The words stand over the line, or under it where there is no room above."""
    at = frame.y.at(y)
    return Guide(at, words, LEFT + 6, round(at + 11 if at < TOP + 12 else at - 3, 1))

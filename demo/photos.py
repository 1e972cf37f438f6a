"""The demo's pictures, drawn by code: blades on a bench mat, close up, each with the one thing that is to be seen."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from functools import partial

from PIL import Image, ImageFilter

from .bench import luck_of
from .steel import (
    FINER,
    HEIGHT,
    INK,
    WIDTH,
    Canvas,
    Curve,
    Point,
    between,
    blade,
    flat,
    glow,
    lamp,
    line,
    mat,
    ring,
    rule,
    scaled,
    screw,
    shadow,
)  # fmt: skip

JPEG_QUALITY = 86


def always(number: float) -> Callable[[float], float]:
    """The same all along the blade."""
    return lambda _: number


HAIRLINE, NOTHING = always(0.42), always(0.0)


def draw_photo(what: str, seed: str) -> bytes:
    """The picture of that name in `DRAWINGS` as a JPEG; another seed turns the grain and the light a little."""
    rng = luck_of(what, seed)
    canvas = Canvas(mat(rng), rng)
    DRAWINGS[what](canvas)
    rule(canvas)
    shot = lamp(canvas.image.resize((WIDTH, HEIGHT), Image.Resampling.BOX), rng)
    written = io.BytesIO()
    shot.filter(ImageFilter.GaussianBlur(0.6)).save(written, "JPEG", quality=JPEG_QUALITY)
    return written.getvalue()


def _long_edge(dip: Callable[[float], float] | None = None) -> Curve:
    """The cutting edge of a blade that lies across the picture, heel left; `dip` is what is missing, in px."""

    def edge(u: float) -> Point:
        missing = dip(u) if dip else 0.0
        return -40 + 1150 * u, 560 - 36 * u + 26 * math.sin(math.pi * u) - 90 * u**6 - missing

    return edge


def _long_spine(u: float) -> Point:
    return -40 + 1150 * u, 236 + 96 * u + 102 * u**5


def _hollow(v: float) -> float:
    """The inside is ground hollow: dark in its middle, lighter toward both sides."""
    return 0.62 - 0.30 * math.sin(math.pi * min(1.0, v * 1.05)) + 0.10 * v


def _inside(
    canvas: Canvas,
    *,
    ride_mm: Callable[[float], float] = HAIRLINE,
    spine_mm: Callable[[float], float] = NOTHING,
    dip: Callable[[float], float] | None = None,
) -> Curve:
    edge = _long_edge(dip)
    blade(canvas, _long_spine, edge, lambda u, v: _hollow(v) + 0.05 * math.sin(5 * u))
    us = [step / 120 for step in range(121)]
    flat(canvas, [edge(u) for u in us], [_long_spine(u) for u in us], [(0.0, ride_mm(u)) for u in us])
    flat(canvas, [_long_spine(u) for u in us], [edge(u) for u in us], [(0.25, 0.25 + spine_mm(u)) for u in us])
    return edge


def _wide_ride_line(canvas: Canvas) -> None:
    _inside(canvas, ride_mm=lambda u: 0.45 + 0.85 * max(0.0, u - 0.25) ** 1.3)


def _spine_line(canvas: Canvas) -> None:
    _inside(canvas, ride_mm=always(0.45), spine_mm=lambda u: 0.55 * math.exp(-(((u - 0.35) / 0.28) ** 4)))


def _throat_dip(canvas: Canvas) -> None:
    edge = _inside(canvas, dip=lambda u: 26 * math.exp(-(((u - 0.2) / 0.09) ** 2)))
    left, right = edge(0.02), edge(0.62)
    bar = [left, right, (right[0], right[1] + 84), (left[0], left[1] + 84)]
    shadow(canvas, bar)
    canvas.draw.polygon(scaled([(x, y + 3) for x, y in bar]), fill=(44, 48, 52))
    line(canvas, [(x, y + 4) for x, y in (left, right)], (150, 158, 164), 3)
    gap = [edge(0.1 + 0.2 * step / 30) for step in range(31)]
    floor = [between(left, right, (x - left[0]) / (right[0] - left[0])) for x, _ in gap]
    canvas.draw.polygon(scaled(gap + floor[::-1]), fill=(255, 246, 214))
    glow(canvas, (edge(0.2)[0], edge(0.2)[1] + 12), 26, (255, 240, 190), 150)


def _nick(canvas: Canvas) -> None:
    edge = _inside(canvas, dip=lambda u: 17 * max(0.0, 1 - abs(u - 0.52) / 0.012) ** 0.7)
    at = edge(0.52)
    line(canvas, [(at[0] - 15, at[1] + 17), at, (at[0] + 14, at[1] + 17)], (255, 255, 252), 2.5)
    line(canvas, [(at[0], at[1] - 2), (at[0] + 3, at[1] - 16)], (60, 66, 72), 1.5)
    ring(canvas, (at[0], at[1] + 6), 44)


def _burr(canvas: Canvas) -> None:
    edge = _inside(canvas)
    points = []
    for step in range(90):
        x, y = edge(0.62 + 0.36 * step / 90)
        points.append((x, y + 3 + canvas.rng.uniform(0, 5) * (step / 90)))
    line(canvas, points, (255, 250, 225), 3)
    for x, y in points[::7]:
        glow(canvas, (x, y), 5, strength=230)


def _face(canvas: Canvas, *, gloss: float = 0.35) -> None:
    def shade(u: float, v: float) -> float:
        band = 0.52 + 0.05 * math.sin(2.2 * u + 0.4)
        width = 0.11 - 0.04 * gloss
        light = 0.42 + 0.14 * v + (0.42 + 0.25 * gloss) * math.exp(-(((v - band) / width) ** 2))
        light += 0.16 * gloss * math.exp(-(((v - band - 0.27) / 0.05) ** 2))
        return light

    blade(canvas, _long_spine, _long_edge(), shade)


def _mirror(canvas: Canvas) -> None:
    """So bright that the clock on the wall can be read in it."""
    _face(canvas, gloss=1.0)
    x, y = 560, 398
    draw = canvas.draw
    box = [part * FINER for part in (x - 92, y - 30, x + 92, y + 30)]
    draw.ellipse(box, outline=(120, 128, 134), width=2 * FINER)
    for hour in range(12):
        turn = math.radians(hour * 30)
        dx, dy = math.cos(turn), math.sin(turn)
        line(canvas, [(x + 78 * dx, y + 25 * dy), (x + 88 * dx, y + 28 * dy)], (88, 96, 104), 2)
    line(canvas, [(x, y), (x + 46, y - 9)], (70, 78, 86), 3)
    line(canvas, [(x, y), (x - 12, y - 21)], (70, 78, 86), 2)


def _stripe(canvas: Canvas) -> None:
    _face(canvas)
    us = [0.4 + 0.2 * step / 60 for step in range(61)]
    wide_mm = [0.62 * max(0.0, math.sin(math.pi * step / 60)) ** 0.3 for step in range(61)]
    edge = _long_edge()
    flat(canvas, [edge(u) for u in us], [_long_spine(u) for u in us], [(0.0, mm) for mm in wide_mm])
    x, y = _long_edge()(0.51)
    ring(canvas, (x, y - 14), 136)


def _tips(
    canvas: Canvas,
    *,
    upper: Callable[[float], float] = NOTHING,
    lower: Callable[[float], float] = NOTHING,
    reach: tuple[float, float] = (1.0, 1.0),
    blunt: float = 9.0,
) -> None:
    """Both tips, closed, pointing right. `upper` and `lower` push a blade's line down; `blunt` rounds its end."""

    def inner(offset: float, bend: Callable[[float], float], length: float) -> Curve:
        return lambda u: (-40 + 1000 * u * length, 392 + offset * (1 - u**3) + bend(u))

    def end(offset: float, bend: Callable[[float], float], length: float) -> Curve:
        return lambda u: (
            -40 + 1000 * u * length,
            392 + offset * max(0.0, 1 - u**2.2) ** 0.9 + math.copysign(blunt * (1 - u**40), offset) + bend(u),
        )

    def face(u: float, v: float) -> float:
        return 0.46 + 0.42 * math.exp(-(((v - 0.45) / 0.2) ** 2)) + (0.2 if v > 0.93 else 0) - 0.05 * u

    blade(canvas, end(205, lower, reach[1]), inner(6, lower, reach[1]), lambda u, v: face(u, v) - 0.1)
    blade(canvas, end(-205, upper, reach[0]), inner(-2, upper, reach[0]), face)


def _tips_meet(canvas: Canvas) -> None:
    _tips(canvas)


def _needle_tips(canvas: Canvas) -> None:
    _tips(canvas, reach=(1.13, 1.1), blunt=0.5)
    glow(canvas, (1088, 390), 10, strength=230)


def _crossed_tips(canvas: Canvas) -> None:
    _tips(canvas, upper=lambda u: 62 * u**5, lower=lambda u: -34 * u**5)


def _bent_tip(canvas: Canvas) -> None:
    _tips(canvas, lower=lambda u: 58 * max(0.0, u - 0.82) / 0.18 * max(0.0, u - 0.82) / 0.18)
    ring(canvas, (930, 420), 86)


def _broken_tip(canvas: Canvas) -> None:
    _tips(canvas, reach=(0.86, 1.0))
    jag = [(812, 372), (822, 380), (815, 384), (826, 389), (819, 394), (808, 394), (800, 376)]
    canvas.draw.polygon(scaled(jag), fill=(88, 92, 96))
    line(canvas, jag[:5], (226, 230, 232), 2)


def _crack(canvas: Canvas) -> None:
    def spine(u: float) -> Point:
        return -40 + 1280 * u, 150 - 40 * math.sin(math.pi * u)

    def edge(u: float) -> Point:
        return -40 + 1280 * u, 640 + 30 * math.sin(math.pi * u)

    blade(canvas, spine, edge, lambda u, v: 0.5 + 0.3 * math.exp(-(((v - 0.4) / 0.25) ** 2)) - 0.1 * u)
    x, y = 520.0, 400.0
    points = [(x + 88, y - 60)]
    while points[-1][1] > 150:
        left, top = points[-1]
        points.append((left + canvas.rng.uniform(-6, 26), top - canvas.rng.uniform(9, 22)))
    for left, top in points[::2]:
        glow(canvas, (left, top), 15, INK, 120)
    line(canvas, points, (30, 34, 60), 4)
    line(canvas, [(left + 3, top + 1) for left, top in points], (214, 220, 226), 1.2)
    shadow(canvas, [(x + 110 * math.cos(turn / 8), y + 110 * math.sin(turn / 8)) for turn in range(51)], by=8)
    screw(canvas, (x, y), 108)


def _push(canvas: Canvas) -> None:
    """Hair walks toward the tips between the blades before it parts."""
    _tips(canvas, upper=lambda u: -150 * (1 - u) - 40, lower=lambda u: 150 * (1 - u) + 40)
    for strand in range(190):
        x = 340 + strand * 1.7 + canvas.rng.gauss(0, 9)
        walk = 140 * math.exp(-(((strand - 90) / 80) ** 2)) + canvas.rng.gauss(0, 14)
        brown = canvas.rng.randint(-22, 16)
        points = [
            (x + walk * math.exp(-(((step / 24 - 0.52) / 0.13) ** 2)), 20 + 720 * step / 24) for step in range(25)
        ]
        line(canvas, points, (74 + brown, 58 + brown, 46 + brown), 1.6)


DRAWINGS: dict[str, Callable[[Canvas], None]] = {
    "clean": partial(_face, gloss=0.35),
    "mirror": _mirror,
    "stripe": _stripe,
    "nick": _nick,
    "burr": _burr,
    "wide-ride-line": _wide_ride_line,
    "spine-line": _spine_line,
    "throat-dip": _throat_dip,
    "tips-meet": _tips_meet,
    "needle-tips": _needle_tips,
    "crossed-tips": _crossed_tips,
    "bent-tip": _bent_tip,
    "broken-tip": _broken_tip,
    "crack": _crack,
    "push": _push,
}

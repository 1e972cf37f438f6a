"""Steel under a lamp: the mat, a blade cell by cell, its ground flats, its shadow. Lengths in px of the picture."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

WIDTH, HEIGHT = 1200, 800
FINER = 2
"""Everything is drawn this much larger and scaled down, which smooths the edges."""

PX_PER_MM = 46
Point = tuple[float, float]
Colour = tuple[int, int, int]
Curve = Callable[[float], Point]
Shade = Callable[[float, float], float]
"""Brightness 0 to 1 at (along: 0 heel, 1 tip; across: 0 spine, 1 edge)."""

MAT = ((38, 52, 58), (66, 84, 88))
INK = (34, 58, 150)
DARK = (24, 27, 30)
STEEL: Sequence[tuple[float, Colour]] = (
    (0.0, (34, 39, 44)),
    (0.35, (96, 105, 113)),
    (0.65, (168, 178, 185)),
    (0.85, (222, 228, 231)),
    (1.0, (254, 254, 250)),
)


@dataclass(frozen=True, slots=True)
class Canvas:
    """A mat under a lamp, and the luck of this picture."""

    image: Image.Image
    rng: Random

    @property
    def draw(self) -> ImageDraw.ImageDraw:
        return ImageDraw.Draw(self.image)


def mat(rng: Random) -> Image.Image:
    """An empty cutting mat, at the finer size."""
    size = (WIDTH * FINER, HEIGHT * FINER)
    tone = Image.linear_gradient("L").rotate(rng.choice((0, 90))).resize(size)
    mat = Image.composite(Image.new("RGB", size, MAT[1]), Image.new("RGB", size, MAT[0]), tone)
    draw = ImageDraw.Draw(mat)
    for at in range(0, WIDTH * FINER, 40 * FINER):
        draw.line((at, 0, at, HEIGHT * FINER), fill=(60, 77, 82), width=FINER)
        draw.line((0, at, WIDTH * FINER, at), fill=(60, 77, 82), width=FINER)
    return mat


def lamp(image: Image.Image, rng: Random) -> Image.Image:
    """Bright under the lamp, darker toward the corners."""
    wide, high = image.size
    pool = ImageChops.invert(Image.radial_gradient("L")).resize((int(wide * 1.7), int(high * 1.9)))
    left, top = int(wide * rng.uniform(0.25, 0.45)), int(high * rng.uniform(0.3, 0.5))
    pool = pool.crop((left, top, left + wide, top + high)).point(lambda grey: min(255, 128 + grey * 0.62))
    return ImageChops.multiply(image, Image.merge("RGB", (pool, pool, pool)))


def rule(canvas: Canvas) -> None:
    """A steel rule along the lower edge, in millimetres."""
    high, wide = HEIGHT * FINER, WIDTH * FINER
    draw = canvas.draw
    draw.rectangle((0, high - 52 * FINER, wide, high), fill=(196, 200, 198))
    draw.line((0, high - 52 * FINER, wide, high - 52 * FINER), fill=(236, 238, 236), width=2 * FINER)
    font = ImageFont.load_default(size=17 * FINER)
    for mm in range(WIDTH // PX_PER_MM + 1):
        at = (20 + mm * PX_PER_MM) * FINER
        length = (24 if mm % 5 == 0 else 14) * FINER
        draw.line((at, high - 50 * FINER, at, high - 50 * FINER + length), fill=DARK, width=FINER)
        if mm % 5 == 0:
            draw.text((at + 5 * FINER, high - 28 * FINER), f"{mm} mm" if mm == 0 else str(mm), fill=DARK, font=font)


def steel(brightness: float, warm: float = 0.0) -> Colour:
    """The colour of steel at a brightness of 0 to 1."""
    light = min(1.0, max(0.0, brightness))
    for (low, dark), (high, bright) in pairwise(STEEL):
        if light <= high:
            share = (light - low) / (high - low)
            red, green, blue = (round(a + (b - a) * share) for a, b in zip(dark, bright, strict=True))
            return min(255, round(red + 24 * warm)), green, max(0, round(blue - 30 * warm))
    return STEEL[-1][1]


def between(a: Point, b: Point, share: float) -> Point:
    """The point that lies `share` of the way from `a` to `b`."""
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def scaled(points: Sequence[Point]) -> list[Point]:
    """Points of the picture at the finer size."""
    return [(x * FINER, y * FINER) for x, y in points]


def blade(canvas: Canvas, spine: Curve, edge: Curve, shade: Shade, *, along: int = 84, across: int = 64) -> None:
    """One blade between its spine and its edge, cell by cell, with its shadow and the fine lines of the last grit."""
    us = [step / along for step in range(along + 1)]
    backs, fronts = [spine(u) for u in us], [edge(u) for u in us]
    shadow(canvas, backs + fronts[::-1])
    draw = canvas.draw
    for row in range(across):
        low, high, middle = row / across, (row + 1.15) / across, (row + 0.5) / across
        grain = canvas.rng.gauss(0, 0.012)
        upper = scaled([between(back, front, low) for back, front in zip(backs, fronts, strict=True)])
        lower = scaled([between(back, front, high) for back, front in zip(backs, fronts, strict=True)])
        for at, u in enumerate(us[:-1]):
            cell = (upper[at], upper[at + 1], lower[at + 1], lower[at])
            draw.polygon(cell, fill=steel(shade(u, middle) + grain))


def shadow(canvas: Canvas, outline: Sequence[Point], *, by: float = 14) -> None:
    """Soft, down and to the right."""
    mask = Image.new("L", (WIDTH, HEIGHT), 0)
    ImageDraw.Draw(mask).polygon([(x + by * 0.6, y + by) for x, y in outline], fill=150)
    soft = mask.filter(ImageFilter.GaussianBlur(by * 0.8)).resize(canvas.image.size)
    canvas.image.paste((10, 14, 16), mask=soft)


def line(canvas: Canvas, points: Sequence[Point], fill: Colour, width: float) -> None:
    """A line through points."""
    canvas.draw.line(scaled(points), fill=fill, width=max(1, round(width * FINER)), joint="curve")


def glow(canvas: Canvas, at: Point, radius: float, colour: Colour = (255, 255, 250), strength: int = 200) -> None:
    """A soft spot of light."""
    mask = Image.new("L", (WIDTH, HEIGHT), 0)
    x, y = at
    ImageDraw.Draw(mask).ellipse((x - radius, y - radius, x + radius, y + radius), fill=strength)
    canvas.image.paste(colour, mask=mask.filter(ImageFilter.GaussianBlur(radius * 0.5)).resize(canvas.image.size))


def screw(canvas: Canvas, at: Point, radius: float, *, slot_deg: float = 35) -> None:
    """The pivot screw, with its slot."""
    x, y = at
    draw = canvas.draw
    for step in range(40, 0, -1):
        size = radius * step / 40
        light = 0.45 + 0.4 * math.sin(step / 40 * math.pi) * (0.6 if step > 34 else 1)
        draw.ellipse([part * FINER for part in (x - size, y - size, x + size, y + size)], fill=steel(light))
    dx, dy = math.cos(math.radians(slot_deg)) * radius * 0.8, math.sin(math.radians(slot_deg)) * radius * 0.8
    line(canvas, [(x - dx, y - dy), (x + dx, y + dy)], DARK, radius * 0.16)


def flat(canvas: Canvas, near: Sequence[Point], far: Sequence[Point], spans_mm: Sequence[tuple[float, float]]) -> None:
    """A bright ground strip from so many mm off one side of the blade to so many, toward the other side."""
    inner, outer = [], []
    for a, b, (start_mm, end_mm) in zip(near, far, spans_mm, strict=True):
        whole = max(1.0, math.dist(a, b)) / PX_PER_MM
        if end_mm - start_mm > 0.03:
            inner.append(between(a, b, min(1.0, start_mm / whole)))
            outer.append(between(a, b, min(1.0, end_mm / whole)))
    if inner:
        canvas.draw.polygon(scaled(inner + outer[::-1]), fill=steel(0.96))
        line(canvas, outer, steel(0.3), 1.2)


def ring(canvas: Canvas, at: Point, radius: float) -> None:
    """A pencil ring on the print, around what is meant."""
    x, y = at
    box = [part * FINER for part in (x - radius, y - radius, x + radius, y + radius)]
    canvas.draw.ellipse(box, outline=(233, 184, 84), width=3 * FINER)

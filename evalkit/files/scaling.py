"""A picture made upright, RGB and small enough to keep; a very large one in strips, so it is never in memory twice."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

MAX_WHOLE_PIXELS = 24_000_000
"""A decoded picture up to this size is worked on as a whole."""

STRIP_PIXELS = 1_000_000
ORIENTATION = 0x0112
"""The tag that says how the camera was held (Exif 2.32, table 4)."""


def upright_rgb(image: Picture, max_side: int) -> Picture:
    """The decoded picture turned as the camera was held, on white where it was see-through, scaled down."""
    from PIL import Image, ImageOps

    if image.width * image.height > MAX_WHOLE_PIXELS:
        image = _reduced(image, max(image.size) // max_side)
    ImageOps.exif_transpose(image, in_place=True)
    pixels = _rgb(image)
    pixels.thumbnail((max_side, max_side), Image.Resampling.LANCZOS)
    return pixels


def _reduced(image: Picture, factor: int) -> Picture:
    """A picture of so much shorter sides, each of its pixels the mean of `factor` by `factor`; it knows how to turn."""
    from PIL import Image

    size = (-(-image.width // factor), -(-image.height // factor))
    reduced = Image.new("RGB", size)
    n_rows = factor * max(1, STRIP_PIXELS // (image.width * factor))
    for top in range(0, image.height, n_rows):
        strip = image.crop((0, top, image.width, min(top + n_rows, image.height)))
        reduced.paste(_rgb(strip).reduce(factor), (0, top // factor))
    if orientation := image.getexif().get(ORIENTATION):
        reduced.getexif()[ORIENTATION] = orientation
    return reduced


def _rgb(image: Picture) -> Picture:
    from PIL import Image

    if image.mode.startswith("I"):
        image = image.convert("I").point(lambda grey: grey * (1 / 256)).convert("L")
    if image.has_transparency_data:
        layer = image.convert("RGBA")
        image = Image.alpha_composite(Image.new("RGBA", layer.size, "white"), layer)
    return image if image.mode == "RGB" else image.convert("RGB")

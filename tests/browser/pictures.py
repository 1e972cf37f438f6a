"""Pictures as a telephone delivers them: turned by a tag, with place, device and a comment written into them."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image, ImageDraw

ORIENTATION, MAKER, MODEL, GPS = 0x0112, 0x010F, 0x0110, 0x8825
TOLD = (b"Brack", b"KX-1", b"taken at the kitchen table")
"""Words that stand in every picture's own data, and may stand in no packet."""

TURNED = 6
"""EXIF orientation: the picture lies on its side, and is to be shown turned a quarter clockwise."""


def telephone_picture(path: Path, number: int, *, size: tuple[int, int] = (320, 240)) -> Path:
    """A JPEG that differs by number: a red corner at the top left as it is to be SHOWN, once it is turned."""
    width, height = size
    image = Image.effect_noise((width // 4, height // 4), 30 + number).resize(size).convert("RGB")
    draw = ImageDraw.Draw(image)
    for line in range(0, height, max(8, height // 20)):
        draw.line((0, line + number, width, line - height // 5), fill=(170, 175, 180), width=max(1, height // 200))
    draw.rectangle((0, height - height // 4, width // 4, height), fill=(200, 20, 20))
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKER], exif[MODEL] = TURNED, TOLD[0].decode(), TOLD[1].decode()
    place = exif.get_ifd(GPS)
    place.update({1: "N", 2: (59.0, 54.0, 40.0), 3: "E", 4: (10.0, 44.0, 50.0)})
    written = io.BytesIO()
    image.save(written, "JPEG", quality=80, exif=exif, comment=TOLD[2])
    path.write_bytes(written.getvalue())
    with Image.open(path) as saved:
        assert saved.getexif().get_ifd(GPS), "the picture was to tell a place"
    return path


def is_red(picture: Path, share_x: float, share_y: float) -> bool:
    """Whether the picture is red at a place, given in shares of its width and height, tags not heeded."""
    with Image.open(picture) as opened:
        red, green, blue = opened.convert("RGB").getpixel((int(opened.width * share_x), int(opened.height * share_y)))
    return red > 120 and green < 90 and blue < 90

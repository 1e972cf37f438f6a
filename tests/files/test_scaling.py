"""Pictures scaled: in strips as well as whole, turned as the camera was held, and none too large to be held."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image, ImageDraw

from evalkit.errors import InputError
from evalkit.files import photos, scaling
from evalkit.files.photos import MAX_LONG_SIDE, MAX_PIXELS, MAX_PROGRESSIVE_PIXELS, check_photo
from evalkit.files.scaling import ORIENTATION, upright_rgb


def slope(width: int = 333, height: int = 250) -> Image.Image:
    """A grey slope with a dark corner above on the left, so that a turn can be seen."""
    image = Image.linear_gradient("L").resize((width, height))
    ImageDraw.Draw(image).rectangle((0, 0, width // 4, height // 4), fill=0)
    return image


def of_mode(mode: str) -> Image.Image:
    grey = slope()
    match mode:
        case "RGBA" | "RGB" | "CMYK" | "LA":
            return Image.merge(mode, (grey,) * len(mode))
        case "I;16":
            return Image.fromarray(np.asarray(grey, dtype=np.uint16) * 257)
        case _:
            return grey.convert(mode)


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "L", "LA", "P", "1", "CMYK", "I;16"])
@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_in_strips_it_looks_as_it_does_whole(mode: str, orientation: int, monkeypatch: pytest.MonkeyPatch):
    def scaled() -> Image.Image:
        image = of_mode(mode)
        image.getexif()[ORIENTATION] = orientation
        return upright_rgb(image, 60)

    whole = scaled()
    monkeypatch.setattr(scaling, "MAX_WHOLE_PIXELS", 1_000)
    monkeypatch.setattr(scaling, "STRIP_PIXELS", 333 * 11)
    strips = scaled()
    assert strips.mode == whole.mode == "RGB"
    assert max(strips.size) == max(whole.size) == 60
    assert max(abs(a - b) for a, b in zip(strips.size, whole.size, strict=True)) <= 1
    same_size = strips.resize(whole.size)
    # Two ways to average the same pixels: edges and the dots of two colours may differ, the picture may not. Turned
    # wrongly, it would be some 60 apart.
    apart = np.abs(np.asarray(same_size, dtype=float) - np.asarray(whole, dtype=float))
    assert apart.mean() < 6
    assert strips.getexif().get(ORIENTATION) in (None, 1)


def test_a_strip_is_never_less_than_the_pixels_that_become_one(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(scaling, "MAX_WHOLE_PIXELS", 1_000)
    monkeypatch.setattr(scaling, "STRIP_PIXELS", 1)
    for size in ((1000, 7), (7, 1000), (999, 501)):
        assert max(upright_rgb(slope(*size), 100).size) == 100


def head_of_png(width: int, height: int) -> bytes:
    """A well-formed PNG head (ISO/IEC 15948, 11.2.1) that promises so many pixels, and no pixel."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def test_more_pixels_than_can_be_held_are_refused_before_decoding():
    side = int(MAX_PIXELS["PNG"] ** 0.5)
    assert check_photo(head_of_png(side, side)).width == side
    with pytest.raises(InputError, match="too many pixels; at most 60 million"):
        check_photo(head_of_png(side + 1, side + 1))
    assert check_photo(head_of_png(MAX_LONG_SIDE, 10)).height == 10
    with pytest.raises(InputError, match="longer than 20000 pixels"):
        check_photo(head_of_png(MAX_LONG_SIDE + 1, 10))


def test_a_progressive_jpeg_is_held_whole_so_less_of_it_is_taken(monkeypatch: pytest.MonkeyPatch):
    def saved(*, progressive: bool) -> bytes:
        written = io.BytesIO()
        slope(400, 300).save(written, "JPEG", progressive=progressive)
        return written.getvalue()

    assert check_photo(saved(progressive=True)).width == 400
    monkeypatch.setattr(photos, "MAX_PROGRESSIVE_PIXELS", 400 * 300 - 1)
    assert check_photo(saved(progressive=False)).width == 400
    with pytest.raises(InputError, match="too many pixels"):
        check_photo(saved(progressive=True))
    assert MAX_PIXELS["JPEG"] > MAX_PROGRESSIVE_PIXELS

"""Codes drawn by us and read back by an independent reader (zxing-cpp)."""

from __future__ import annotations

import re

import pytest

from evalkit.reports.codes import QUIET_ZONE, CodeRow, code_of

zxingcpp = pytest.importorskip("zxingcpp")
RUN = re.compile(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z")


def drawn(code: CodeRow, px: int = 6):
    """The path as a picture: every run of it a black bar on white."""
    from PIL import Image, ImageDraw

    image = Image.new("L", (code.side * px,) * 2, 255)
    pen = ImageDraw.Draw(image)
    assert RUN.sub("", code.path) == ""  # the path holds nothing but runs
    for x, y, length, back in (map(int, run) for run in RUN.findall(code.path)):
        assert length == back
        pen.rectangle((x * px, y * px, (x + length) * px - 1, (y + 1) * px - 1), fill=0)
    return image


@pytest.mark.parametrize(
    "words",
    ["evalkit:teo-3:7:S-104", "evalkit:a:1:X", f"evalkit:{'k' * 40}:999:{'T' * 20}"],
    ids=["usual", "shortest", "longest"],
)
def test_a_code_is_read_back_as_it_was_meant(words: str):
    (read,) = zxingcpp.read_barcodes(drawn(code_of(words)))
    assert read.text == words
    assert read.format == zxingcpp.BarcodeFormat.QRCode
    assert read.ec_level == "M"


def test_it_is_read_with_a_thumb_print_on_it():
    from PIL import ImageDraw

    code = code_of("evalkit:teo-3:7:S-104")
    image = drawn(code, 8)
    middle = code.side * 4
    ImageDraw.Draw(image).ellipse((middle - 14, middle - 14, middle + 14, middle + 14), fill=120)
    assert [one.text for one in zxingcpp.read_barcodes(image)] == ["evalkit:teo-3:7:S-104"]


def test_there_is_a_quiet_zone_all_round():
    code = code_of("evalkit:teo-3:7:S-104")
    runs = [(int(x), int(y), int(length)) for x, y, length, _ in RUN.findall(code.path)]
    assert min(x for x, _, _ in runs) == min(y for _, y, _ in runs) == QUIET_ZONE
    assert max(x + n for x, _, n in runs) == max(y + 1 for _, y, _ in runs) == code.side - QUIET_ZONE

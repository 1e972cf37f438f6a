"""The largest pictures that are taken, of the kinds with the greediest decoders: taking them in stays under 400 MiB."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from evalkit.files.photos import HEIF, MAX_PIXELS, MAX_PROGRESSIVE_PIXELS
from tests.actions.conftest import Shelf, box, seen
from tests.actions.packing import assessment_packet, photo_name, with_photos

MOST_MIB = 400

CHILD = """
import re, sys
from pathlib import Path
from evalkit.cli.app import run
code = run(["--book", sys.argv[1], "--as", "oda", "--today", "2026-05-01", "packet", "take-in", sys.argv[2]])
print(int(re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1]) // 1024)
sys.exit(code)
"""
# Not `resource.getrusage`: Linux hands the peak of whoever started a program on to it.


def square(n_pixels: int, mode: str, kind: str, **options: object) -> bytes:
    side = int(n_pixels**0.5)
    slope = Image.linear_gradient("L").resize((side, side))
    written = io.BytesIO()
    Image.merge(mode, (slope,) * len(mode)).save(written, kind, **options)
    return written.getvalue()


GREEDY = {
    "see-through PNG": lambda: (square(MAX_PIXELS["PNG"], "RGBA", "PNG", compress_level=1), "png"),
    "WebP": lambda: (square(MAX_PIXELS["WEBP"], "RGB", "WEBP", quality=50, method=0), "webp"),
    "progressive JPEG in four colours": lambda: (
        square(MAX_PROGRESSIVE_PIXELS, "CMYK", "JPEG", progressive=True, subsampling=0),
        "jpg",
    ),
}


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="asks Linux for the peak")
@pytest.mark.parametrize("what", GREEDY)
def test_the_largest_pictures_fit_into_a_small_computer(what: str, mentors: Shelf, tmp_path: Path):
    data, ending = GREEDY[what]()
    assessment, _ = with_photos(seen(box()), {1: [data]})
    name = photo_name(data, ending)
    pair = assessment.pairs[0]
    pair = pair.model_copy(update={"photos": (pair.photos[0].model_copy(update={"file": name}),)})
    path = tmp_path / "p.zip"
    assessment_packet(path, assessment.model_copy(update={"pairs": (pair, *assessment.pairs[1:])}), {name: data})
    done = subprocess.run(
        [sys.executable, "-c", CHILD, mentors.folder, path], capture_output=True, text=True, check=True
    )
    assert int(done.stdout.splitlines()[-1]) < MOST_MIB
    assert "1 photo." in done.stdout


def test_every_kind_has_a_limit():
    assert set(MAX_PIXELS) == {"JPEG", "PNG", "WEBP", HEIF}

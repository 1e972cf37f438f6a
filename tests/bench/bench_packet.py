"""What it costs to take in a packet of 12 pairs and 24 photos of 12 megapixels, beside Pillow and sha256sum alone.

Alone: each picture decoded, scaled and saved by Pillow, its file written; and `sha256sum` of what was sent. Taking in:
the zip, the bag, the documents, the round, the same work on every picture with all checks, and the book with its
pictures on disk. Wall time, since disks are part of it; the runs are interleaved, so that a busy machine slows both
alike, and medians are taken. Processor time beside it. Not a test: it prints figures and judges none.

    python -m tests.bench.bench_packet --size 4000x3000 --repeats 5
"""

from __future__ import annotations

import argparse
import io
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from statistics import median

from PIL import Image

from evalkit.actions.packets import take_in_packet
from evalkit.book.book import Book
from evalkit.files.photos import JPEG_QUALITY, MAX_SIDE, PhotoStore
from tests.bench.full_packet import N_PHOTOS, make_book, make_packet, pictures

ALLOWED = 1.5
"""Taking in may cost this many times what Pillow and `sha256sum` cost alone."""


Cost = tuple[float, float]
"""Seconds on the wall and of the processor."""


def taken_in(prepared: Path, packet: Path, folder: Path) -> Cost:
    """The cost of taking the packet into a copy of the prepared book."""
    shutil.copytree(prepared, folder)
    moment = datetime(2026, 2, 1, tzinfo=UTC)
    with Book.open(folder, lambda: moment) as book:
        store = PhotoStore(folder / "photos")
        return cost(lambda: take_in_packet(book, store, packet, who="oda", today=date(2026, 2, 1)))


def scaled_alone(data: bytes) -> bytes:
    """Decoded, scaled and saved, and nothing else."""
    with Image.open(io.BytesIO(data)) as image:
        image.thumbnail((MAX_SIDE, MAX_SIDE), Image.Resampling.LANCZOS)
        written = io.BytesIO()
        image.save(written, "JPEG", quality=JPEG_QUALITY, optimize=True)
        return written.getvalue()


def alone(files: Sequence[Path], folder: Path) -> None:
    """The pictures decoded, scaled and saved; then the sums of what was sent."""
    folder.mkdir()
    for number, file in enumerate(files):
        (folder / f"{number}.jpg").write_bytes(scaled_alone(file.read_bytes()))
    subprocess.run(["sha256sum", *files], check=True, stdout=subprocess.DEVNULL)


def cost(work: Callable[[], object]) -> Cost:
    """Of one call, programs started by it included."""
    began, used = time.perf_counter(), sum(os.times()[:4])
    work()
    return time.perf_counter() - began, sum(os.times()[:4]) - used


def main() -> None:
    """Print both costs and the ratio."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--size", default="4000x3000", help="of every photo, WIDTHxHEIGHT in pixels")
    parser.add_argument("--repeats", type=int, default=5)
    given = parser.parse_args()
    width, height = map(int, given.size.split("x"))
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        photos = pictures(width, height)
        files = [place / f"{number}.jpg" for number in range(N_PHOTOS)]
        for file, data in zip(files, photos, strict=True):
            file.write_bytes(data)
        make_book(place / "book")
        packet = place / "packet.zip"
        make_packet(packet, photos)
        whole, bare = [], []
        for at in range(given.repeats):
            bare.append(cost(lambda at=at: alone(files, place / f"alone-{at}")))
            whole.append(taken_in(place / "book", packet, place / f"book-{at}"))
        n_bytes = packet.stat().st_size
    print(f"packet of 12 pairs and {N_PHOTOS} photos of {given.size}, {n_bytes / 2**20:.1f} MB")
    for at, what in enumerate(("wall", "processor")):
        theirs, ours = median(one[at] for one in bare), median(one[at] for one in whole)
        print(
            f"{what}: taken in {ours:.2f} s, Pillow and sha256sum alone {theirs:.2f} s; "
            f"ratio {ours / theirs:.2f} (at most {ALLOWED})"
        )


if __name__ == "__main__":
    main()

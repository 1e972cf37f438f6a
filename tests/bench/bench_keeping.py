"""What a backup and a check of the whole book cost, beside `cp` and `sha256sum` of the same bytes.

A book of 40 rounds, 12 pairs each, both sides read at every place, 24 pictures of 400 kB a round. Wall time, since
disks are part of it; the runs are interleaved and medians taken. Not a test: it prints figures and judges none.

    python -m tests.bench.bench_keeping
"""

from __future__ import annotations

import hashlib
import random
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from statistics import median

from evalkit.book.book import Book
from evalkit.domain.assessment import AssessedPair, Assessment, Photo
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.round import NumberedPair, Person, Round
from evalkit.files.photos import PhotoStore
from tests.bench.bench_grading import N_PAIRS, bench_rubric, bench_sides

N_ROUNDS = 40
N_PICTURES = 24
PICTURE_BYTES = 400_000
REPEATS = 5
ALLOWED = 1.3
"""A backup, and a check, may cost this many times what `cp` plus `sha256sum` cost."""

ODA, TEO = Person(key="oda", name="Oda Ferrin"), Person(key="teo", name="Teo Marsk")


def fill(folder: Path) -> None:
    """The book of the bench."""
    moments = iter(datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=at) for at in range(1_000_000))
    rubric = bench_rubric()
    with Book.create(folder, lambda: next(moments)) as book:
        book.add_person("mentor", ODA, "oda")
        book.add_person("trainee", TEO, "oda")
        version = book.freeze_rubric(rubric, "oda")
        for at in range(N_ROUNDS):
            _add_round(book, folder, at, version)


def _add_round(book: Book, folder: Path, at: int, version: int) -> None:
    rubric = bench_rubric()
    pairs = tuple(
        Pair(tag=f"P{at * N_PAIRS + number}", edge_type=EdgeType.CONVEX, size_in=Decimal(6))
        for number in range(N_PAIRS)
    )
    book.add_pairs(pairs, "oda")
    key = f"teo-{at + 1}"
    round_ = Round(
        key=key, trainee=TEO, mentor=ODA, rubric_key=rubric.key, rubric_version=version, rubric_digest=rubric.digest,
        planned_on=date(2026, 1, 1),
        pairs=tuple(NumberedPair(number=number, pair=pair) for number, pair in enumerate(pairs, start=1)),
    )  # fmt: skip
    book.add_round(round_, "oda")
    theirs, hers = bench_sides(rubric, at)
    names = [_picture(book, folder, at * N_PICTURES + one) for one in range(N_PICTURES)]
    assessed = tuple(
        AssessedPair(
            number=number,
            readings=tuple(one for one in theirs if one.number == number),
            photos=tuple(Photo(file=name) for name in names[2 * number - 2 : 2 * number]),
        )
        for number in range(1, N_PAIRS + 1)
    )
    marked = tuple(
        MarkedPair(number=number, readings=tuple(one for one in hers if one.number == number))
        for number in range(1, N_PAIRS + 1)
    )
    book.seal_assessment(
        Assessment(round_key=key, trainee_key="teo", rubric_digest=rubric.digest, pairs=assessed), "oda"
    )
    book.take_in_marking(
        Marking(round_key=key, mentor_key="oda", rubric_digest=rubric.digest, marked_on=None, pairs=marked), "oda"
    )


def _picture(book: Book, folder: Path, at: int) -> str:
    """Bytes that no program can shorten, as those of a photo."""
    data = random.Random(at).randbytes(PICTURE_BYTES)
    name = hashlib.sha256(data).hexdigest()
    path = folder / "photos" / name[:2] / f"{name}.jpg"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    book.add_photo_row(name, "image/jpeg", len(data), 1600, 1200, "oda")
    return name


def seconds(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def main() -> None:
    """Print both ratios."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        book_folder = folder / "book"
        fill(book_folder)
        n_bytes = sum(path.stat().st_size for path in book_folder.rglob("*") if path.is_file())
        moment = datetime(2026, 6, 1, tzinfo=UTC)
        plain, backed, checked = [], [], []
        with Book.open(book_folder, lambda: moment) as book:
            for at in range(REPEATS):
                copy = folder / f"copy-{at}"
                plain.append(seconds(lambda copy=copy: _cp_and_sum(book_folder, copy)))
                shutil.rmtree(copy)
                out = folder / f"backup-{at}.zip"
                backed.append(seconds(lambda out=out: book.back_up(out)))
                out.unlink()
                checked.append(seconds(lambda: _check(book, book_folder)))
        print(f"book: {N_ROUNDS} rounds, {n_bytes / 1e6:.0f} MB; cp + sha256sum {median(plain):.2f} s")
        print(f"backup: {median(backed):.2f} s, ratio {median(backed) / median(plain):.2f} (at most {ALLOWED})")
        print(f"check: {median(checked):.2f} s, ratio {median(checked) / median(plain):.2f} (at most {ALLOWED})")


def _cp_and_sum(source: Path, target: Path) -> None:
    subprocess.run(["cp", "-r", source, target], check=True)
    files = [path for path in target.rglob("*") if path.is_file()]
    subprocess.run(["sha256sum", *files], check=True, stdout=subprocess.DEVNULL)


def _check(book: Book, folder: Path) -> None:
    faults = [*book.check(), *PhotoStore(folder / "photos").check(book.photo_names())]
    if faults:
        raise RuntimeError(faults[0])


if __name__ == "__main__":
    main()

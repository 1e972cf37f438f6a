"""Kills the import of a packet with 24 photos at random moments and looks whether the book is whole.

Each try: a copy of a prepared book, a process that has loaded everything and takes the packet in, a kill (SIGKILL) at a
random moment of it. Afterwards either all of the packet is in the book or nothing of it, `book check` finds nothing and
leaves no picture that the book does not know, what was said to be kept is kept, a second try succeeds, and no unpacked
folder is left. Prints a tally; ends with 1 when anything broke.

    python -m tests.bench.kill_imports --times 200 --size 1600x1200
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from evalkit.book.book import Book
from evalkit.cli.app import run
from evalkit.files.half_kept import has_half_kept
from evalkit.files.photos import PhotoStore
from tests.bench.full_packet import KEY, N_PHOTOS, make_book, make_packet, pictures

TODAY = "2026-02-01"
NOTHING, ALL = "nothing of it", "all of it"


@dataclass
class Tally:
    """How the tries ended; `broken` says what was wrong, try by try."""

    ends: Counter[str] = field(default_factory=Counter)
    n_said: int = 0
    n_left: int = 0
    """Tries after which pictures lay there that the book does not know, until `book check` or the second try."""
    n_unpacked: int = 0
    """Tries after which the unpacked packet lay in the temporary folder, until the second try."""
    broken: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        ends = ", ".join(f"{end}: {n}" for end, n in sorted(self.ends.items()))
        return (
            f"{self.ends.total()} kills: {ends}; {self.n_said} had said that it was kept; "
            f"{self.n_left} left pictures, {self.n_unpacked} the unpacked packet, for the next command to clear; "
            f"{len(self.broken)} broken"
        )


@dataclass(frozen=True)
class Desk:
    """One try's folder: the book, the packet, and a place for temporary files."""

    folder: Path

    @property
    def book(self) -> Path:
        return self.folder / "book"

    @property
    def temporary(self) -> Path:
        return self.folder / "tmp"

    @property
    def packet(self) -> Path:
        return self.folder / "packet.zip"

    def do(self, *words: str) -> int:
        """One command inside this process; its exit code."""
        nowhere = io.StringIO()
        with contextlib.redirect_stdout(nowhere), contextlib.redirect_stderr(nowhere):
            return run(["--book", str(self.book), "--today", TODAY, *words])

    def take_in(self) -> int:
        return self.do("packet", "take-in", str(self.packet))

    def pictures(self) -> set[str]:
        """Names of all files beside the book, of whatever kind."""
        return {path.name for path in (self.book / "photos").rglob("*") if path.is_file()}

    def unpacked(self) -> list[str]:
        return [path.name for path in self.temporary.iterdir()]

    def state(self) -> tuple[str, set[str], list[str]]:
        """How much of the packet is in the book, the pictures it knows, and the faults that it finds in itself."""
        with Book.open(self.book, lambda: datetime(2026, 2, 1, tzinfo=UTC)) as book:
            sealed, packets = book.find_assessment(KEY), book.list_packets(KEY)
            known = {f"{name}.jpg" for name in book.photo_names()}
            faults = [*book.check(), *PhotoStore(self.book / "photos").check(book.photo_names())]
        if sealed is None and not packets and not known:
            return NOTHING, known, faults
        if sealed is not None and len(packets) == 1 and len(known) == N_PHOTOS:
            n_shown = sum(len(pair.photos) for pair in sealed.assessment.pairs)
            return (ALL if n_shown == N_PHOTOS else "half"), known, faults
        return "half", known, faults


def prepare(folder: Path, width: int, height: int) -> Desk:
    """The desk that every try copies."""
    desk = Desk(folder)
    desk.temporary.mkdir(parents=True)
    make_book(desk.book)
    make_packet(desk.packet, pictures(width, height))
    return desk


def warmed_up(prepared: Desk, place: Path) -> float:
    """Seconds that one import takes here, once everything is loaded."""
    took = 0.0
    for name in ("first", "second"):
        desk = _copied(prepared, place / name)
        began = time.monotonic()
        if desk.take_in() != 0:
            raise RuntimeError("the packet is not taken in even when nobody kills it")
        took = time.monotonic() - began
    return took


def _copied(prepared: Desk, folder: Path) -> Desk:
    desk = Desk(Path(shutil.copytree(prepared.folder, folder)))
    tempfile.tempdir = str(desk.temporary)
    return desk


def kill_once(desk: Desk, after_s: float, tally: Tally) -> None:
    """Take the packet in, kill that after so many seconds, and look."""
    was_said = _killed(desk, after_s)
    wrong = []
    end, known, faults = desk.state()
    tally.ends[end] += 1
    tally.n_said += was_said
    tally.n_left += bool(desk.pictures() - known) or has_half_kept(PhotoStore(desk.book / "photos"))
    tally.n_unpacked += bool(desk.unpacked())
    wrong += [end] if end == "half" else []
    wrong += ["it was said to be kept, and is not"] if was_said and end != ALL else []
    wrong += faults
    wrong += [f"'book check' ended with {code}"] if (code := desk.do("book", "check")) else []
    wrong += ["pictures are left that the book does not know"] if desk.pictures() != known else []
    wrong += [f"a second try ended with {code}"] if (code := desk.take_in()) else []
    end, known, faults = desk.state()
    wrong += [f"after a second try there is {end}"] if end != ALL else []
    wrong += [*faults, *(["other pictures lie there"] if desk.pictures() != known else [])]
    wrong += ["the unpacked packet is left"] if desk.unpacked() else []
    tally.broken += [f"killed after {after_s:.4f} s: {one}" for one in wrong]


def _killed(desk: Desk, after_s: float) -> bool:
    """Whether the command had ended well before it was killed."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        os.write(writing, b"b")
        code = desk.take_in()
        os.write(writing, b"k" if code == 0 else b"f")
        time.sleep(60)  # to be killed, as the others are
        os._exit(1)
    os.close(writing)
    os.read(reading, 1)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    said = os.read(reading, 1)
    os.close(reading)
    if said == b"f":
        raise RuntimeError("the packet was refused")
    return said == b"k"


def kill_many(times: int, width: int, height: int, seed: int, *, is_told: bool = False) -> Tally:
    """Kill as often as asked, spread evenly over the whole of an import and a little beyond."""
    tally, dice = Tally(), random.Random(seed)
    before = tempfile.tempdir
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        try:
            prepared = prepare(place / "prepared", width, height)
            took_s = warmed_up(prepared, place)
            for at in range(times):
                desk = _copied(prepared, place / f"try-{at}")
                kill_once(desk, dice.uniform(0, took_s * 1.1), tally)
                shutil.rmtree(desk.folder)
                if is_told and (at + 1) % 20 == 0:
                    print(f"{at + 1}: {tally}", flush=True)
        finally:
            tempfile.tempdir = before
    return tally


def main() -> int:
    """Print the tally; 1 when anything broke."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--size", default="1600x1200", help="of every photo, WIDTHxHEIGHT in pixels")
    parser.add_argument("--seed", type=int, default=20261125)
    given = parser.parse_args()
    width, height = map(int, given.size.split("x"))
    tally = kill_many(given.times, width, height, given.seed, is_told=True)
    print(tally)
    for line in tally.broken:
        print(line)
    return 1 if tally.broken else 0


if __name__ == "__main__":
    sys.exit(main())

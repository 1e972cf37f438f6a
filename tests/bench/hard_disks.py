"""Every writing command on a full disk, on a read-only disk, and beside another writer.

Nothing that was said to be kept is lost, nothing is half written, and each refusal is one clear line. Prints a tally;
ends with 1 when anything broke. Mounting a small disk takes root.

    python -m tests.bench.hard_disks
    python -m tests.bench.hard_disks --part full --only "round "
"""

from __future__ import annotations

import argparse
import os
import random
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench import full_disks, read_only_disks, two_writers
from tests.bench.children import Child
from tests.bench.desk_making import Desks, give
from tests.bench.disks import SmallDisk
from tests.bench.wholeness import Desk, contents
from tests.bench.writing_cases import CASES, Case

COUNTED = ("full", "elsewhere", "read-only", "locked")
"""Where being refused is what is looked at; what reads is to work, and of two writers one may have to give way."""
PARTS = ("full", "elsewhere", "read-only", "readers", "locked", "two")


@dataclass
class Tally:
    """How many tries of each part, and what broke."""

    tries: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    n_broken: int = 0

    def add(self, part: str, name: str, faults: list[str], *, is_done: bool) -> None:
        self.tries[part] += 1
        self.refused[part] += not is_done
        self.n_broken += bool(faults)
        for fault in faults:
            print(f"BROKEN {part}, {name}: {fault}", flush=True)

    def __str__(self) -> str:
        parts = (
            f"{part}: {n} tries" + (f", {self.refused[part]} refused" if part in COUNTED else "")
            for part, n in self.tries.items()
        )
        return "; ".join((*parts, f"{self.n_broken} broken"))


def prepared(case: Case, desks: Desks, disk: SmallDisk) -> Desk:
    """The case's desk on the small disk, and what its command makes there with room enough."""
    desk = desks.of(case)
    if case.name == "demo":
        return Desk(disk.desk, desk, case, {})
    for is_here in (True, False):
        disk.lay(desk)
        os.chdir(disk.desk)
        if is_here:  # so that every child has it loaded
            give(*case.all_words, typed=case.typed)
        elif (told := Child.of(disk.desk, case).wait()).code:
            raise SystemExit(f"'{' '.join(case.words)}' does not succeed with room: {told.err}")
    return Desk(disk.desk, desk, case, contents(disk.desk, case.files))


def try_case(case: Case, desks: Desks, disk: SmallDisk, parts: set[str], tally: Tally) -> None:
    """Everything that is tried with one command."""
    desk, name = prepared(case, desks, disk), " ".join(case.words)[:70]
    print(name, flush=True)
    for part, attempt in _room_attempts(case, parts):
        for n_kb in full_disks.FEW_KB if case.name == "demo" else full_disks.LEFT_KB:
            is_done, faults = _safely(lambda n_kb=n_kb, attempt=attempt: attempt(desk, disk, n_kb * 1024))
            tally.add(part, f"{name}, {n_kb} kB left", faults, is_done=is_done)
            if is_done:
                break
    if "read-only" in parts:
        is_done, faults = _safely(lambda: read_only_disks.write(desk, disk))
        tally.add("read-only", name, faults, is_done=is_done)
    if "locked" in parts and case.name != "demo":
        is_done, faults = _safely(lambda: two_writers.while_locked(desk, disk))
        tally.add("locked", name, faults, is_done=is_done)


Attempt = Callable[[Desk, SmallDisk, int], tuple[bool, list[str]]]


def _room_attempts(case: Case, parts: set[str]) -> Iterator[tuple[str, Attempt]]:
    if "full" in parts:
        yield "full", full_disks.on_a_full_disk
    if "elsewhere" in parts and case.files:
        yield "elsewhere", full_disks.with_the_book_elsewhere


def _safely(attempt: Callable[[], tuple[bool, list[str]]]) -> tuple[bool, list[str]]:
    try:
        return attempt()
    except Exception as error:  # noqa: BLE001 - whatever it is, the tally names it
        return False, [f"{type(error).__name__}: {error}"]


def main() -> int:
    """Run the tries and print the tally."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--part", default="", help=f"one or more of {', '.join(PARTS)}; else all")
    parser.add_argument("--only", default="", help="part of a command's name")
    parser.add_argument("--times", type=int, default=5, help="how often each pair of commands is given at once")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    parts = set(asked.part.split(",")) if asked.part else set(PARTS)
    tally, dice = Tally(), random.Random(asked.seed)
    with tempfile.TemporaryDirectory() as name, SmallDisk(Path(name) / "disk") as disk:
        desks = Desks(Path(name))
        for case in CASES:
            if asked.only in case.name and parts & {"full", "elsewhere", "read-only", "locked"}:
                try_case(case, desks, disk, parts, tally)
        if "readers" in parts:
            for words, faults in read_only_disks.read_all(desks, disk):
                tally.add("readers", words, faults, is_done=not faults)
        if "two" in parts:
            for words, faults in two_writers.at_once(desks, disk, dice, asked.times):
                tally.add("two", words, faults, is_done=not faults)
        os.chdir("/")
    print(tally)
    return 1 if tally.n_broken else 0


if __name__ == "__main__":
    raise SystemExit(main())

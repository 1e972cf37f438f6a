"""Two programs at one book: the second waits a bounded time, and both or one of them with a clear line."""

from __future__ import annotations

import os
import random
import re
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing

from tests.bench.children import Child, Told
from tests.bench.desk_making import Desks
from tests.bench.disks import SmallDisk
from tests.bench.full_disks import line_faults
from tests.bench.wholeness import Desk, digests, faults_of, files_of, strangers
from tests.bench.writing_cases import (
    BACK,
    MARK_ANSWERS,
    MARKED,
    PACKET,
    PLAN,
    READ,
    SEAL,
    SEND,
    SIGN,
    TAKE_MARKING,
    THERE,
    Case,
    Words,
)

BUSY = re.compile(r"another program", re.IGNORECASE)
BUSY_MS = 400
"""How long a child waits, so that the tries take no minutes; once it waits as long as it would for a mentor."""
LONGEST_S = 20.0


def while_locked(desk: Desk, disk: SmallDisk) -> tuple[bool, list[str]]:
    """(whether it was done, what broke) while another program is writing all the time."""
    disk.lay(desk.prepared)
    before = files_of(disk.desk)
    n_before = digests(desk.book)
    with closing(sqlite3.connect(desk.book / "book.sqlite", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        told = Child.of(disk.desk, desk.case, busy_ms=_patience(desk.case)).wait()
        other.execute("ROLLBACK")
    os.chdir(disk.desk)
    if told.code == 0:
        is_act = desk.case.is_act and desk.case.name != "book new"
        return True, ["done, while another was writing"] if is_act else []
    wrong = line_faults(told, BUSY) + list(faults_of(desk.book))
    wrong += [f"it waited {told.took_s:.0f} s"] if told.took_s > LONGEST_S else []
    wrong += ["refused, and kept all the same"] if digests(desk.book) != n_before else []
    wrong += [f"left over: {name}" for name in desk.left_over(before)]
    wrong += [f"a stranger: {name}" for name in strangers(desk.book)]
    again = Child.of(disk.desk, desk.case).wait()
    return False, wrong + ([f"afterwards it ended with {again.code}: {again.err}"] if again.code else [])


def _patience(case: Case) -> int:
    return 0 if case.words[:2] in (("pair", "add"), ("pair", "photo")) else BUSY_MS


BOTH: tuple[tuple[tuple[Words | str, ...], Words, Words, bool], ...] = (
    ((), ("trainee", "add", "lin", "Lin Aubrel"), ("pair", "add", "S-103", "--edge", "bevel", "--size", "5.5"), True),
    ((), ("trainee", "add", "lin", "Lin Aubrel"), ("trainee", "add", "lin", "Lin Aubrel"), False),
    ((), ("pair", "import", "stock.csv"), ("pair", "change", "S-101", "--blade-length", "72"), True),
    ((), ("pair", "import", "stock.csv"), ("book", "backup", "kept.zip"), True),
    ((), ("pair", "photo", "S-101", "p0.jpg", "p1.jpg"), ("pair", "photo", "S-102", "p1.jpg", "p2.jpg"), True),
    ((), ("pair", "photo", "S-101", "p0.jpg", "p1.jpg"), ("book", "check"), True),
    ((), PLAN, PLAN, False),
    ((), ("book", "new", "other"), ("book", "new", "other"), False),
    ((PLAN, "intake sheet"), READ, SEND, True),
    ((PLAN,), ("pair", "retire", "S-101", "--reason", "worn"), SEND, False),
    ((*THERE, "sheet"), SEAL, SEAL, True),
    ((*THERE, "sheet", "packet"), SEAL, PACKET, False),
    ((*BACK, "marking sheet"), TAKE_MARKING, TAKE_MARKING, True),
    ((*BACK, "marking sheet"), TAKE_MARKING, ("mark", "teo-1"), False),
    (MARKED, ("report", "teo-1"), ("report", "teo-1"), True),
    (MARKED, ("report", "teo-1", "--format", "html,md"), SIGN, True),
    (MARKED, ("trainee", "erase", "teo", "--yes"), ("pair", "import", "stock.csv"), False),
    (MARKED, ("trainee", "erase", "teo", "--yes"), SIGN, False),
    ((*MARKED, ("book", "backup", "kept.zip")), ("book", "restore", "kept.zip"),
     ("trainee", "add", "lin", "Lin Aubrel"), False),
    (MARKED, ("packet", "report", "teo-1", "--out", "r.zip"), ("packet", "report", "teo-1", "--out", "r.zip"), False),
)  # fmt: skip
"""(what came before, one command, the other, whether both have to succeed)."""


def at_once(desks: Desks, disk: SmallDisk, dice: random.Random, times: int) -> Iterator[tuple[str, list[str]]]:
    """Each pair of commands, given at once with a random delay between them, with what broke."""
    for before, one, other, is_both in BOTH:
        prepared = desks.of(Case(("none",), before))
        for _ in range(times):
            disk.lay(prepared)
            yield f"{' '.join(one)[:40]} | {' '.join(other)[:40]}", _together(disk, one, other, dice, is_both=is_both)
            disk.lay(prepared)
            yield f"{' '.join(other)[:40]} | {' '.join(one)[:40]}", _together(disk, other, one, dice, is_both=is_both)


def _together(disk: SmallDisk, one: Words, other: Words, dice: random.Random, *, is_both: bool) -> list[str]:
    n_before = len(digests(disk.desk / "evalkit-book"))
    first = Child(disk.desk, one, MARK_ANSWERS)
    time.sleep(dice.expovariate(20))
    second = Child(disk.desk, other, MARK_ANSWERS)
    told = first.wait(), second.wait()
    book = disk.desk / "evalkit-book"
    wrong = [fault for each in told for fault in line_faults(each, None)]
    n_done = sum(each.code == 0 for each in told)
    wrong += [f"only {n_done} of both: {told[0].err}{told[1].err}"] if n_done < (2 if is_both else 1) else []
    wrong += [*faults_of(book), *(f"a stranger: {name}" for name in strangers(book))]
    return wrong + _lost(disk, (one, other), told, n_before)


def _lost(disk: SmallDisk, words: tuple[Words, Words], told: tuple[Told, Told], n_before: int) -> list[str]:
    """What was said to be kept and is not found again."""
    given = [each for each, how in zip(words, told, strict=True) if how.code == 0]
    wrong = []
    for each in given:
        if each[:2] in (("trainee", "add"), ("pair", "add")):
            noun = each[0]
            shown = Child(disk.desk, (noun, "list")).wait().out
            wrong += [] if each[2] in shown else [f"said to be kept, and is not: {' '.join(each)}"]
    n_now = len(digests(disk.desk / "evalkit-book"))
    return wrong + (["acts of before are gone"] if n_now < n_before else [])

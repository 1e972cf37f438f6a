"""Writing commands on a disk with no room, or with so little that they fail half way."""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

from tests.bench.children import Child, Told
from tests.bench.disks import SmallDisk
from tests.bench.wholeness import Desk, faults_of, files_of, strangers

LEFT_KB = (0, 4, 12, 24, 40, 64, 96, 160, 256, 512, 1024, 2048)
FEW_KB = (0, 32, 512)
"""For what takes long and needs much room."""

ROOM = re.compile(r"full|no space|room", re.IGNORECASE)
SEVERAL_ACTS = ("round plan", "mark", "report", "packet report", "book restore", "demo", "trainee erase")
"""They do more than one thing, and what was done before the disk was full may stand."""


def on_a_full_disk(desk: Desk, disk: SmallDisk, n_left: int) -> tuple[bool, list[str]]:
    """(whether it succeeded, what broke): book, files and temporary files on a disk with so many bytes left."""
    disk.lay(desk.prepared)
    before = files_of(disk.desk)
    disk.fill(n_left=n_left)
    told = Child.of(disk.desk, desk.case, temporary=disk.temporary).wait()
    disk.make_room()
    os.chdir(disk.desk)
    wrong = line_faults(told, ROOM)
    if told.code == 0:
        return True, wrong + [f"is not there: {name}" for name in desk.lacking()] + _state(desk)
    wrong += [f"half written: {name}" for name in desk.half_files()]
    if desk.case.name == "demo":
        return False, wrong
    wrong += [f"left over: {name}" for name in desk.left_over(before) if name not in _kept_by(desk)]
    wrong += [f"left in the temporary folder: {one.name}" for one in disk.temporary.iterdir()]
    n_new = desk.n_new_acts() if desk.book.exists() else 0
    wrong += ["refused, and kept all the same"] if n_new > 0 and desk.case.name not in SEVERAL_ACTS else []
    if n_new > 0 and desk.case.name == "trainee erase":
        return False, wrong + _state(desk)  # it is done; only traces were left, and it says so
    return False, wrong + _state(desk) + _second_try(desk, disk.temporary)


def with_the_book_elsewhere(desk: Desk, disk: SmallDisk, n_left: int) -> tuple[bool, list[str]]:
    """(whether it succeeded, what broke): only the files of the command go to the full disk."""
    home = desk.prepared.parent / "elsewhere"
    shutil.rmtree(home, ignore_errors=True)
    shutil.copytree(desk.prepared, home)
    disk.lay(desk.prepared)
    shutil.rmtree(disk.desk / desk.case.book)
    before = files_of(disk.desk)
    disk.fill(n_left=n_left)
    words = ("--book", str(home / desk.case.book), *desk.case.words)
    told = Child(disk.desk, words, desk.case.typed, temporary=home).wait()
    disk.make_room()
    wrong = line_faults(told, ROOM) + [f"half written: {name}" for name in desk.half_files()]
    wrong += list(faults_of(home / desk.case.book))
    if told.code == 0:
        return True, wrong + [f"is not there: {name}" for name in desk.lacking()]
    wrong += [f"left over: {name}" for name in desk.left_over(before)]
    again = Child(disk.desk, words, desk.case.typed).wait()
    return False, wrong + ([f"a second try ended with {again.code}: {again.err}"] if again.code else [])


def line_faults(told: Told, words: re.Pattern[str] | None) -> list[str]:
    """What is wrong with how it was refused: one line that says where, what and how to mend it, and no code 0.

    Without `words` any fault will do, and a place need not stand before it: 'there is a round ...' names its own.
    """
    if told.code == 0:
        return [f"done, but it said: {told.err}"] if told.err else []
    said = told.err.strip()
    wrong = [f"ended with {told.code}"] if told.code not in (1, 2, 3, 4) else []
    if "\n" in said or not said.startswith("evalkit: "):
        wrong.append(f"not one line: {said[-600:]!r}")
    elif words is None:
        return wrong
    elif not words.search(said):
        wrong.append(f"does not say what is wrong: {said}")
    elif not _says_where(said):
        wrong.append(f"does not say where: {said}")
    return wrong


def _says_where(said: str) -> bool:
    """A place stands before the first colon, not a sentence."""
    place, colon, _ = said.removeprefix("evalkit: ").partition(": ")
    return bool(colon) and not re.search(r"\b(is|are|cannot|may|has)\b", place)


def _kept_by(desk: Desk) -> list[str]:
    """What may stay beside: the list of pictures that the next command removes."""
    return [name for name in files_of(desk.folder) if "/.being-kept-" in name and desk.case.name == "trainee erase"]


def _state(desk: Desk) -> list[str]:
    if not desk.book.exists():
        return ["the book is gone"]
    before = {Path(name).name for name in strangers(desk.prepared / desk.case.book)}
    names = (name for name in strangers(desk.book) if Path(name).name not in before)
    return [*faults_of(desk.book), *(f"a stranger: {name}" for name in names)]


def _second_try(desk: Desk, temporary: Path) -> list[str]:
    """With room, the same command succeeds."""
    case = desk.case
    words = case.again or case.words
    told = Child(desk.folder, ("--book", case.book, *words), case.typed, temporary=temporary).wait()
    if told.code and case.again:  # nothing was kept of the first
        told = Child.of(desk.folder, case).wait()
    wrong = [f"with room it ended with {told.code}: {told.err}"] if told.code else []
    wrong += [f"with room it is not there: {name}" for name in desk.lacking()]
    wrong += [f"with room it is half: {name}" for name in desk.half_files()]
    return wrong + list(faults_of(desk.book))

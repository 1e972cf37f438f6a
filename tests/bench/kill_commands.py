"""Kills writing commands at random moments and looks whether the book is whole: all of a command, or nothing of it.

Each try: a copy of a prepared desk, a process that has loaded everything and then gives one command, a kill (SIGKILL)
at a random moment of it. Afterwards `book check` finds nothing and leaves no picture that the book does not know, no
act of before is changed, no file of the command is half written, what was said to be kept is kept, and the same command
then succeeds or says that it was done. Prints a tally; ends with 1 when anything broke.

    python -m tests.bench.kill_commands --times 200
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import tempfile
from collections import Counter
from pathlib import Path

from tests.bench.children import Child, Told
from tests.bench.desk_making import Desks, give
from tests.bench.wholeness import Desk, contents, faults_of, files_of, strangers
from tests.bench.writing_cases import CASES, Case

DONE, KILLED, LEFT = "done before", "killed in time", "left a hidden file"


def one_try(desk: Desk, share: float, duration_s: float, tally: Counter[str]) -> list[str]:
    """What broke; the kill falls at `share` of the command's usual duration."""
    _copy(desk.prepared, desk.folder)
    told = Child.of(desk.folder, desk.case).kill_after(share * duration_s)
    tally[KILLED if told.code is None else DONE] += 1
    if told.code:
        return [f"refused: {told.err}"]
    os.chdir(desk.folder)
    tally[LEFT] += any(Path(name).name.startswith(".") for name in files_of(desk.folder))
    try:
        return list(broken(desk, told))
    except Exception as error:  # noqa: BLE001 - whatever it is, the tally names it
        return [f"{type(error).__name__}: {error}"]


def broken(desk: Desk, told: Told) -> list[str]:
    """What is wrong with the working folder after a kill."""
    if desk.case.name == "demo":
        return _broken_demo(desk.folder / "story")
    if desk.case.name == "book restore" and not desk.book.exists():
        # between its two renamings the book is whole, under the name of the one set aside
        aside = next(one for one in desk.folder.iterdir() if "set-aside" in one.name)
        aside.rename(desk.book)
    wrong = [*faults_of(desk.book), *_unkept(desk, told)]
    wrong += [f"half written: {name}" for name in desk.half_files()]
    wrong += [f"'book check' says {said}" for code, said in [give("--book", str(desk.book), "book", "check")] if code]
    wrong += [f"a stranger: {name}" for name in strangers(desk.book)]
    code, said = give(*desk.case.all_words, typed=desk.case.typed)
    wrong += [f"a second try ended with {code}: {said}"] if code not in (0, 2) else []
    return [*wrong, *faults_of(desk.book)]


def _broken_demo(folder: Path) -> list[str]:
    """It makes a folder of its own, and each of its commands is kept or not; begun, it is not begun again there."""
    if not folder.exists():
        return []
    wrong = list(faults_of(folder / "book")) if (folder / "book").exists() else []
    code, said = give("demo", str(folder)) if any(folder.iterdir()) else (2, "")
    return [*wrong, *([f"a second try ended with {code}: {said}"] if code != 2 else [])]


def _unkept(desk: Desk, told: Told) -> list[str]:
    n_new = desk.n_new_acts()
    if told.code is None:
        return []
    wrong = ["said to be kept, and is not"] if desk.case.is_act and n_new <= 0 else []
    return wrong + [f"said to be written, and is not: {name}" for name in desk.lacking()]


def _copy(prepared: Path, folder: Path) -> None:
    os.chdir(prepared.parent)
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(prepared, folder)


def unkilled(case: Case, prepared: Path, folder: Path) -> tuple[Desk, float]:
    """The desk with what the command makes, and its usual duration in seconds (of the second run: the first loads)."""
    took_s = 0.0
    for _ in range(2):
        _copy(prepared, folder)
        os.chdir(folder)
        if case.name != "demo":
            give(*case.all_words, typed=case.typed)  # here, so that every child has it loaded
            _copy(prepared, folder)
        told = Child.of(folder, case).wait()
        if told.code:
            raise SystemExit(f"'{' '.join(case.words)}' does not succeed unkilled: {told.err}")
        took_s = told.took_s
        if case.name == "demo":
            break
    return Desk(folder, prepared, case, contents(folder, case.files)), took_s


def main() -> int:
    """Run the tries and print the tally."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=200, help="tries at least; each case has as many as the others")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="part of a command's name")
    asked = parser.parse_args()
    dice = random.Random(asked.seed)
    tally: Counter[str] = Counter()
    n_broken = 0
    cases = [case for case in CASES if asked.only in case.name]
    with tempfile.TemporaryDirectory() as name:
        desks = Desks(Path(name))
        for case in cases:
            desk, duration_s = unkilled(case, desks.of(case), Path(name) / "try")
            for _ in range(-(-asked.times // len(cases))):
                faults = one_try(desk, dice.uniform(0, 1.1), duration_s, tally)
                n_broken += bool(faults)
                for fault in faults:
                    print(f"BROKEN {' '.join(case.words)}: {fault}", flush=True)
            print(f"{' '.join(case.words)[:70]}: {duration_s * 1000:.0f} ms", flush=True)
            os.chdir("/")
    print(
        f"{tally[DONE] + tally[KILLED]} tries of {len(cases)} commands: {tally[KILLED]} killed in time, {tally[DONE]} "
        f"done before; {tally[LEFT]} left a hidden file; {n_broken} broken"
    )
    return 1 if n_broken else 0


if __name__ == "__main__":
    raise SystemExit(main())

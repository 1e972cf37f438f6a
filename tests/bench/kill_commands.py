"""Kills writing commands at random moments and looks whether the book is whole: all of a command, or nothing of it.

Each try: a copy of a prepared desk, a process that has loaded everything and then gives one command, a kill (SIGKILL)
at a random moment of it. Afterwards `book check` finds nothing, no act stands half written, what was said to be kept
is kept, and the same command then succeeds or says that it was done. Prints a tally; ends with 1 when anything broke.

    python -m tests.bench.kill_commands --times 200
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from PIL import Image

from evalkit.book.book import Book
from evalkit.cli.app import run
from evalkit.files.photos import PhotoStore
from tests.cli.conftest import filled_assessment
from tests.cli.desk import MINI, TODAY

HERE = Path(__file__).resolve().parent
DRIVER = """
import os, shutil, sys
from evalkit.cli.app import run
words = sys.argv[2:]
os.chdir(sys.argv[1] + "-warm")
out, err = sys.stdout, sys.stderr
sys.stdout = sys.stderr = open(os.devnull, "w")
run(words)
sys.stdout, sys.stderr = out, err
os.chdir(sys.argv[1])
print("ready", flush=True)
sys.stdin.readline()
code = run(words)
print("done", code, flush=True)
"""


@dataclass(frozen=True)
class Case:
    """A command that writes, what has to be done before it, the file it makes, and whether it adds to the history."""

    words: tuple[str, ...]
    before: tuple[tuple[str, ...], ...] = ()
    file: str = ""
    is_act: bool = True

    @property
    def name(self) -> str:
        return " ".join(self.words[:2])


PLAN = ("round", "plan", "teo", "--rubric", str(MINI), "--pairs", "S-101,S-102", "--on", "2026-04-01")
SENT = (PLAN, ("round", "send", "teo-1", "--on", "2026-04-02"))
THERE = (*SENT, ("round", "received", "teo-1", "--on", "2026-04-06"))
SEALED = (*THERE, ("assessment", "take-in", "teo-1.md"))
BACK = (
    *SEALED,
    ("round", "returned", "teo-1", "--on", "2026-04-20"),
    ("round", "check-in", "teo-1", "--on", "2026-04-27"),
)
MARKED = (*BACK, ("marking", "take-in", "marking.md"))

OLDER = (*SEALED, ("book", "backup", "kept.zip"), ("trainee", "add", "lin", "Lin Aubrel"))

CASES = (
    Case(("book", "new", "other"), is_act=False),
    Case(("trainee", "add", "lin", "Lin Aubrel")),
    Case(("pair", "add", "S-103", "--edge", "bevel", "--size", "5.5")),
    Case(("pair", "import", "stock.csv")),
    Case(("pair", "change", "S-101", "--blade-length", "72")),
    Case(PLAN),
    Case(("round", "send", "teo-1", "--on", "2026-04-02"), (PLAN,)),
    Case(("assessment", "take-in", "teo-1.md"), THERE),
    Case(("marking", "take-in", "marking.md"), BACK),
    Case(("report", "teo-1", "--format", "html,json"), MARKED, is_act=False),
    Case(("sign-off", "teo", "--edge", "convex", "--note", "I have seen the hands at work"), MARKED),
    Case(("book", "backup", "kept.zip"), SEALED, file="kept.zip"),
    Case(("book", "restore", "kept.zip", "--over"), OLDER, is_act=False),
    Case(("trainee", "export", "teo", "--out", "teo.zip"), SEALED, file="teo.zip"),
    Case(("trainee", "erase", "teo", "--yes"), MARKED),
)


def give(*words: str) -> int:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()) as said:
        code = run(["--today", TODAY, *words])
    if code:
        print(" ".join(words), "->", said.getvalue().strip())
    return code


def prepare(folder: Path, case: Case) -> None:
    """The desk as it is before the command: stock, a filled sheet with a picture, a filled marking sheet."""
    folder.mkdir()
    os.chdir(folder)
    give("book", "new", "--mentor", "oda", "--name", "Oda Ferrin")
    give("trainee", "add", "teo", "Teo Marsk")
    give("pair", "add", "S-101", "--edge", "convex", "--size", "6.0", "--difficulty", "3")
    give("pair", "add", "S-102", "--edge", "bevel", "--size", "5.5")
    lines = [f"T-{n},bevel,5.5" for n in range(60)]
    Path("stock.csv").write_text("\n".join(["tag,edge_type,size_in", *lines, ""]), encoding="utf-8")
    for at in range(3):
        Image.effect_mandelbrot((1200, 900), (-2 + at / 9, -1.5, 1, 1.5), 40).save(f"p{at}.jpg")
    for words in case.before:
        if words[0] == "assessment":
            write_sheet()
        if words[0] == "marking":
            write_marking()
        if give(*words):
            raise SystemExit(f"the desk for '{case.name}' cannot be made")
    if case.words[:2] == ("assessment", "take-in"):
        write_sheet()
    if case.words[:2] == ("marking", "take-in"):
        write_marking()


def write_sheet() -> None:
    give("round", "sheet", "teo-1", "--out", "blank.md")
    pictures = "".join(f"- ![picture {at}](p{at}.jpg)\n" for at in range(3))
    sheet = filled_assessment(Path("blank.md").read_text(encoding="utf-8"))
    Path("teo-1.md").write_text(sheet.replace("### Photos\n", f"### Photos\n\n{pictures}", 1), encoding="utf-8")


def write_marking() -> None:
    give("marking", "sheet", "teo-1", "--out", "marking.md")
    sheet = Path("marking.md").read_text(encoding="utf-8").replace("- Tips: ?", "- Tips: 2", 1)
    Path("marking.md").write_text(sheet.replace("### Photos\n", "### Photos\n\n- ![a](p0.jpg)\n", 1), encoding="utf-8")


def one_try(desk: Path, folder: Path, case: Case, share: float, duration: float) -> tuple[str, str]:
    """(how it ended, what broke); the kill falls at `share` of the command's usual duration."""
    for name in (folder, folder.with_name(folder.name + "-warm")):
        shutil.rmtree(name, ignore_errors=True)
        shutil.copytree(desk, name)
    words = ["--today", TODAY, *case.words]
    process = subprocess.Popen(
        [sys.executable, "-c", DRIVER, str(folder), *words],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdout.readline()
    process.stdin.write("go\n")
    process.stdin.flush()
    select.select([process.stdout], [], [], share * duration)
    process.send_signal(signal.SIGKILL)
    said = process.stdout.read()
    process.wait()
    is_done = "done 0" in said
    os.chdir(folder)
    return "done" if is_done else "killed", broken(desk, case, is_done=is_done)


def broken(desk: Path, case: Case, *, is_done: bool) -> str:
    """What is wrong with the working folder after a kill; '' when nothing is."""
    book = Path("evalkit-book")
    if case.name == "book restore" and not book.exists():
        # between its two renamings the book is whole, under the name of the one set aside
        aside = next((one for one in Path().iterdir() if "set-aside" in one.name), None)
        if aside is None:
            return "the book is gone"
        aside.rename(book)
    return _fault_of(book) or _unkept(desk, case, is_done=is_done) or _second_try(case) or _fault_of(book)


def _fault_of(book: Path) -> str:
    return next(iter(faults_of(book)), "")


def _unkept(desk: Path, case: Case, *, is_done: bool) -> str:
    if case.file:
        if is_done and not Path(case.file).is_file():
            return "said to be written, and is not there"
        return "half written" if Path(case.file).exists() and not is_zip(Path(case.file)) else ""
    n_new = len(acts_of(Path("evalkit-book"))) - len(acts_of(desk / "evalkit-book"))
    return "said to be kept, and is not" if is_done and n_new == 0 and case.is_act else ""


def _second_try(case: Case) -> str:
    """The same command again is done, or refused as done already."""
    code = give_quietly(*case.words)
    return "" if code in (0, 2) else f"a second try ended with {code}"


def give_quietly(*words: str) -> int:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        return run(["--today", TODAY, *words])


def is_zip(path: Path) -> bool:
    try:
        with zipfile.ZipFile(path) as box:
            return box.testzip() is None
    except zipfile.BadZipFile:
        return False


def acts_of(folder: Path) -> Sequence[object]:
    with Book.open(folder, lambda: datetime(2026, 5, 1, tzinfo=UTC)) as book:
        return book.list_acts()


def faults_of(folder: Path) -> list[str]:
    with Book.open(folder, lambda: datetime(2026, 5, 1, tzinfo=UTC)) as book:
        return [*book.check(), *PhotoStore(folder / "photos").check(book.photo_names())]


def usual_duration(desk: Path, folder: Path, case: Case) -> float:
    """Seconds from the go to the end, unkilled."""
    for name in (folder, folder.with_name(folder.name + "-warm")):
        shutil.rmtree(name, ignore_errors=True)
        shutil.copytree(desk, name)
    process = subprocess.Popen(
        [sys.executable, "-c", DRIVER, str(folder), "--today", TODAY, *case.words],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdout.readline()
    start = time.perf_counter()
    said, _ = process.communicate("go\n")
    if "done 0" not in said:
        raise SystemExit(f"'{case.name}' does not succeed unkilled")
    return time.perf_counter() - start


def main() -> int:
    """Run the tries and print the tally."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="")
    asked = parser.parse_args()
    dice = random.Random(asked.seed)
    tally: Counter[str] = Counter()
    n_broken = 0
    cases = [case for case in CASES if asked.only in case.name]
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        for at, case in enumerate(cases):
            desk = root / f"desk-{at}"
            prepare(desk, case)
            duration = usual_duration(desk, root / "try", case)
            for _ in range(-(-asked.times // len(cases))):
                how, fault = one_try(desk, root / "try", case, dice.uniform(0, 1.1), duration)
                tally[how] += 1
                if fault:
                    n_broken += 1
                    print(f"BROKEN {case.name}: {fault}")
            print(f"{case.name}: {duration * 1000:.0f} ms", flush=True)
            os.chdir(root)
    print(
        f"{sum(tally.values())} tries: {tally['killed']} killed in time, {tally['done']} done before; {n_broken} broken"
    )
    return 1 if n_broken else 0


if __name__ == "__main__":
    raise SystemExit(main())

"""The desk as it is before a command of `writing_cases`; made once for each chain of commands, then copied."""

from __future__ import annotations

import builtins
import contextlib
import io
import re
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from PIL import Image

from evalkit.book.book import Book
from evalkit.cli.app import run
from evalkit.files.half_kept import list_ahead
from evalkit.files.photos import PhotoStore, clean_photo
from evalkit.files.rubrics import load_rubric
from evalkit.files.sheets import read_assessment_sheet
from tests.actions.packing import assessment_packet, picture, with_photos
from tests.bench.writing_cases import MARK_ANSWERS, Case, Words
from tests.cli.conftest import BEFORE, filled_assessment
from tests.cli.desk import MINI, TODAY, fill
from tests.cli.test_school_learning import mark_a_box

BOOK = Path("evalkit-book")


class Desks:
    """Prepared folders by what was done in them."""

    def __init__(self, place: Path) -> None:
        self.place = place
        self._made: dict[tuple[Words | str, ...], Path] = {}

    def of(self, case: Case) -> Path:
        """A folder in which the case's command can be given. To be copied, not used."""
        folder = self._after(case.before)
        wanted = MADE.get(case.words[:2], MADE.get(" ".join(case.words[:3])))
        if wanted is None:
            return folder
        return self._stored((*case.before, f"for {case.words}"), folder, wanted)

    def _after(self, steps: tuple[Words | str, ...]) -> Path:
        if steps in self._made:
            return self._made[steps]
        if not steps:
            return self._stored((), None, _stock)
        return self._stored(steps, self._after(steps[:-1]), lambda: _step(steps[-1]))

    def _stored(self, key: tuple[Words | str, ...], start: Path | None, make: Callable[[], None]) -> Path:
        if key not in self._made:
            folder = self.place / f"desk-{len(self._made)}"
            folder.mkdir() if start is None else shutil.copytree(start, folder)
            with contextlib.chdir(folder):
                make()
            self._made[key] = folder
        return self._made[key]


def _step(step: Words | str) -> None:
    if isinstance(step, str):
        MADE[step]()
        return
    if step[:2] in MADE:
        MADE[step[:2]]()
    _do(*step)


def _do(*words: str) -> None:
    code, told = give(*words)
    if code:
        raise SystemExit(f"the desk cannot be made: {' '.join(words)} -> {told}")


def give(*words: str, typed: Words = ()) -> tuple[int, str]:
    """Run a command inside this process; its exit code and what it said on stderr."""
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()) as said, answering(typed):
        code = run(["--today", TODAY, *words])
    return code, said.getvalue()


@contextlib.contextmanager
def answering(typed: Words) -> Iterator[None]:
    """What is typed at the terminal while the block runs."""
    waiting = iter(typed)

    def answer(_prompt: str = "") -> str:
        try:
            return next(waiting)
        except StopIteration:
            raise EOFError from None

    before, builtins.input = builtins.input, answer
    try:
        yield
    finally:
        builtins.input = before


def opened(folder: Path = BOOK) -> Book:
    return Book.open(folder, lambda: datetime(2026, 5, 1, tzinfo=UTC))


# --- what is made -----------------------------------------------------------------------------------------------------


def _stock() -> None:
    _do("book", "new", "--mentor", "oda", "--name", "Oda Ferrin")
    _do("trainee", "add", "teo", "Teo Marsk")
    _do("pair", "add", "S-101", "--edge", "convex", "--size", "6.0", "--difficulty", "3")
    _do("pair", "add", "S-102", "--edge", "bevel", "--size", "5.5")
    lines = [f"T-{n},bevel,5.5" for n in range(60)]
    Path("stock.csv").write_text("\n".join(["tag,edge_type,size_in", *lines, ""]), encoding="utf-8")
    for at in range(3):
        Image.effect_mandelbrot((1200, 900), (-2 + at / 9, -1.5, 1, 1.5), 40).save(f"p{at}.jpg")


def _more_pairs() -> None:
    for tag in ("S-103", "S-104"):
        _do("pair", "add", tag, "--edge", "bevel", "--size", "5.5")


def _intake() -> None:
    _do("intake", "sheet", "teo-1", "--out", "intake-blank.md")
    blank = Path("intake-blank.md").read_text(encoding="utf-8")
    shown = ("### Photos\n", "### Photos\n\n- ![a](p2.jpg)\n")
    text = fill(blank, ("- Read on: ?", "- Read on: 2026-04-01"), *BEFORE, shown)
    Path("intake.md").write_text(text, encoding="utf-8")


def _assessment() -> None:
    if Path("teo-1.md").exists():
        return
    _do("round", "sheet", "teo-1", "--out", "assess-blank.md")
    pictures = "".join(f"- ![picture {at}](p{at}.jpg)\n" for at in range(3))
    sheet = filled_assessment(Path("assess-blank.md").read_text(encoding="utf-8"))
    Path("teo-1.md").write_text(sheet.replace("### Photos\n", f"### Photos\n\n{pictures}", 1), encoding="utf-8")


def _packet() -> None:
    if not Path("round.zip").exists() and not Path("report.zip").exists():
        _assessment()
        with opened() as book:
            round_ = book.get_round("teo-1")
            rubric = book.get_rubric_by_digest(round_.rubric_digest)
        told = read_assessment_sheet(Path("teo-1.md").read_text(encoding="utf-8"), "teo-1.md", round_, rubric)
        bare = told.model_copy(update={"pairs": tuple(one.model_copy(update={"photos": ()}) for one in told.pairs)})
        shown = {1: [picture(1, 800, 600)], 2: [picture(2, 800, 600)]}
        assessment_packet(Path("teo-1-assessment-1.zip"), *with_photos(bare, shown))


def _marking(tips: int = 2) -> None:
    name = f"marking-blank-{tips}.md"
    _do("marking", "sheet", "teo-1", "--out", name)
    sheet = re.sub(r"(?m)^- Tips: .*$", f"- Tips: {tips}", Path(name).read_text(encoding="utf-8"))
    sheet = re.sub(r"\([0-9a-f]{64}\)", "(p0.jpg)", sheet)  # a kept picture is named by its content
    shown = "### Photos\n\n- ![a](p0.jpg)\n" if "(p0.jpg)" not in sheet else "### Photos\n"
    Path("marking.md").write_text(sheet.replace("### Photos\n", shown, 1), encoding="utf-8")


def _second() -> None:
    if not Path("second.md").exists():
        _do("steadiness", "pick", "teo-1", "--pairs", "2", "--out", "second-blank.md")
        sheet = Path("second-blank.md").read_text(encoding="utf-8").replace("- Tips: ?", "- Tips: 1", 1)
        Path("second.md").write_text(sheet, encoding="utf-8")


def _draft() -> None:
    code, told = give("mark", "teo-1", "--amend", "looked again", typed=MARK_ANSWERS[:8])
    if code:
        raise SystemExit(told)


def _school() -> None:
    """Five trainees with a marked box each."""
    rubric = load_rubric(MINI)
    rubric = rubric.model_validate({**rubric.model_dump(by_alias=True), "harder_with": {"nick": ["finish"]}})
    with opened() as book:
        book.freeze_rubric(rubric, "oda")
        for at in range(5):
            mark_a_box(book, rubric, at)


def _half_kept() -> None:
    """What a command leaves that was killed while it kept a picture."""
    store = PhotoStore(BOOK / "photos")
    photo = clean_photo(picture(9))
    list_ahead(store, [photo.sha256])
    store.put(photo)


MADE: dict[Words | str, Callable[[], None]] = {
    "more pairs": _more_pairs,
    "another marking": lambda: _marking(3),
    "a draft": _draft,
    "a school": _school,
    "half kept": _half_kept,
    "intake sheet": _intake,
    "sheet": _assessment,
    "packet": _packet,
    "marking sheet": _marking,
    ("intake", "take-in"): _intake,
    ("assessment", "take-in"): _assessment,
    ("packet", "take-in"): _packet,
    ("marking", "take-in"): lambda: None if Path("marking.md").exists() else _marking(),
    ("steadiness", "take-in"): _second,
}
"""Files to be made before a step; a name stands for a step that is no command."""

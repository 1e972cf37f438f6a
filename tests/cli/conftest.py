"""Books at each step of a round, made once by commands and copied for each test."""

from __future__ import annotations

import contextlib
import io
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from evalkit.cli.app import run
from tests.cli.desk import MINI, TODAY, Desk, fill

BEFORE = (
    ("- Ride line (mm):\n  - thumb: heel ?, middle ?, tip ?\n  - finger: heel ?, middle ?, tip ?",
     "- Ride line (mm):\n  - thumb: all level 1\n  - finger: all level 1"),
    ("- Tips: ?", "- Tips: 1"),
    ("- Hair swatch: heel ?, middle ?, tip ?", "- Hair swatch: heel clean, middle clean, tip fold"),
)  # fmt: skip
AFTER = (
    ("- Ride line (mm):\n  - thumb: heel ?, middle ?, tip ?\n  - finger: heel ?, middle ?, tip ?",
     "- Ride line (mm):\n  - thumb: all 0.4\n  - finger: all 0.4"),
    ("- Tips: ?", "- Tips: 2"),
    ("- Hair swatch: heel ?, middle ?, tip ?", "- Hair swatch: all clean"),
    ("- Cleanliness: ?", "- Cleanliness: 3"),
    ("- Own verdict: ?", "- Own verdict: accepted"),
    ("### Questions\n", "### Questions\n\n- How even is even enough?\n"),
)  # fmt: skip


def filled_assessment(blank: str) -> str:
    """Pair 1 filled in, before and after; pair 2 not touched."""
    first, second = blank.split("## Pair 2")
    head, after = first.split("### As finished")
    head = fill(head, *BEFORE, ("- Decision: ?", "- Decision: sharpen"), ("- Minutes: ?", "- Minutes: 70"))
    return head + "### As finished" + fill(after, *AFTER) + "## Pair 2" + second


def _commands(folder: Path, *commands: list[str]) -> None:
    for words in commands:
        with contextlib.redirect_stdout(io.StringIO()):
            assert run(["--book", str(folder / "evalkit-book"), "--today", TODAY, *words]) == 0, words


@pytest.fixture(scope="session")
def stocked_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("desk") / "stocked"
    folder.mkdir()
    _commands(
        folder,
        ["book", "new", "--mentor", "oda", "--name", "Oda Ferrin"],
        ["trainee", "add", "teo", "Teo Marsk"],
        ["pair", "add", "S-101", "--edge", "convex", "--size", "6.0", "--difficulty", "3"],
        ["pair", "add", "S-102", "--edge", "bevel", "--size", "5.5"],
    )
    return folder


@pytest.fixture(scope="session")
def out_folder(stocked_folder: Path) -> Path:
    """The box is with the trainee, its blank sheet in the folder."""
    folder = Path(shutil.copytree(stocked_folder, stocked_folder.parent / "out"))
    _commands(
        folder,
        ["round", "plan", "teo", "--rubric", str(MINI), "--pairs", "S-101,S-102", "--on", "2026-04-01"],
        ["round", "sheet", "teo-1", "--out", str(folder / "blank.md")],
        ["round", "send", "teo-1", "--on", "2026-04-02"],
        ["round", "received", "teo-1", "--on", "2026-04-06"],
    )
    sheet = filled_assessment((folder / "blank.md").read_text(encoding="utf-8"))
    (folder / "teo-1.md").write_text(sheet, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def back_folder(out_folder: Path) -> Path:
    """Sealed, and back with the mentor."""
    folder = Path(shutil.copytree(out_folder, out_folder.parent / "back"))
    _commands(
        folder,
        ["assessment", "take-in", str(folder / "teo-1.md")],
        ["round", "returned", "teo-1", "--on", "2026-04-20"],
        ["round", "check-in", "teo-1", "--on", "2026-04-27"],
    )
    return folder


def _desk(
    start: Path | None, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Desk:
    folder = tmp_path / "desk"
    if start is None:
        folder.mkdir()
    else:
        shutil.copytree(start, folder)
    for name in ("BOOK", "WHO", "PAPER", "TODAY", "RUBRICS"):
        monkeypatch.delenv(f"EVALKIT_{name}", raising=False)
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.chdir(folder)
    return Desk(folder, capsys, monkeypatch)


@pytest.fixture
def empty_desk(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Desk:
    return _desk(None, tmp_path, capsys, monkeypatch)


@pytest.fixture
def stocked(
    stocked_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Desk:
    return _desk(stocked_folder, tmp_path, capsys, monkeypatch)


@pytest.fixture
def out(out_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Desk:
    return _desk(out_folder, tmp_path, capsys, monkeypatch)


@pytest.fixture
def back(
    back_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Desk:
    return _desk(back_folder, tmp_path, capsys, monkeypatch)


@pytest.fixture
def make_picture() -> Callable[[Path], None]:
    """A small grey picture, as a telephone would save it."""

    def make(path: Path) -> None:
        Image.new("RGB", (120, 80), (120, 130, 140)).save(path, "JPEG")

    return make

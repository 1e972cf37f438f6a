"""The folder a packet is unpacked in: gone afterwards, gone later when the program died, kept while it is in use."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from evalkit.files.packets.private_folder import IN_USE, PREFIX, private_folder

HOLDER = """
import sys, tempfile
tempfile.tempdir = sys.argv[1]
from evalkit.files.packets.private_folder import private_folder
with private_folder() as folder:
    (folder / "picture.jpg").write_bytes(b"mine")
    print(folder, flush=True)
    sys.stdin.readline()
"""


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


def test_it_is_gone_afterwards_whatever_happened(place: Path):
    with private_folder() as folder:
        assert folder.parent == place
        if sys.platform != "win32":
            assert folder.stat().st_mode & 0o077 == 0, "nobody else may read it"
        (folder / "bag").mkdir()
        (folder / "bag" / "a.jpg").write_bytes(b"a")
    assert list(place.iterdir()) == []
    with pytest.raises(KeyboardInterrupt), private_folder():
        raise KeyboardInterrupt
    assert list(place.iterdir()) == []


def test_one_in_use_is_left_alone_until_its_program_is_dead(place: Path):
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, place], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        theirs = Path(holder.stdout.readline().strip())
        with private_folder() as mine:
            assert mine != theirs
        assert (theirs / "picture.jpg").read_bytes() == b"mine"
        holder.kill()
        holder.wait()
    assert theirs.exists(), "killed, it could not clear up"
    with private_folder():
        assert not theirs.exists()


def test_what_is_not_ours_is_left_alone(place: Path):
    (place / f"{PREFIX}being-made").mkdir()
    (place / f"{PREFIX}a-file").write_text("no folder")
    (place / "evalkit-demo").mkdir()
    (place / "evalkit-demo" / IN_USE).write_text("")
    with private_folder():
        pass
    assert sorted(path.name for path in place.iterdir()) == [
        "evalkit-demo", f"{PREFIX}a-file", f"{PREFIX}being-made",
    ]  # fmt: skip


@pytest.mark.skipif(sys.platform == "win32", reason="it cannot be asked there whether a program lives")
def test_one_killed_before_or_after_it_was_in_use_is_gone_too(place: Path):
    """Between the making of the folder and of the file in it, or while both are being removed."""
    with subprocess.Popen([sys.executable, "-c", ""]) as gone:
        gone.wait()
    theirs, mine = place / f"{PREFIX}{gone.pid}-abc", place / f"{PREFIX}{os.getpid()}-abc"
    for folder in (theirs, mine):
        folder.mkdir()
        (folder / "picture.jpg").write_bytes(b"left")
    with private_folder():
        assert not theirs.exists()
        assert mine.exists(), "its program lives"

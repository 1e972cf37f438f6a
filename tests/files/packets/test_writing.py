"""Writing a packet: whole or absent, never over another file, the same bytes for the same content, sound to others."""

from __future__ import annotations

import hashlib
import os
import stat
import subprocess
import sys
import zipfile
from datetime import date
from pathlib import Path

import pytest

from evalkit.errors import AlreadyError, InputError, NotFoundError
from evalkit.files.packets import PacketKind, is_packet, open_packet, seal_code, seal_of, write_packet, writing
from tests.files.packets.samples import KEY, MADE_ON, files_of, photo_name, picture


def write(path: Path, kind: PacketKind = PacketKind.ASSESSMENT, **changes: object) -> str:
    given = {"round_key": KEY, "made_on": MADE_ON, "files": files_of(kind)} | changes
    return write_packet(path, kind, **given)


@pytest.mark.parametrize("kind", PacketKind)
def test_what_is_written_opens_as_what_it_was(kind: PacketKind, tmp_path: Path):
    files = files_of(kind)
    seal = write(tmp_path / "out.zip", kind)
    with open_packet(tmp_path / "out.zip") as packet:
        assert (packet.kind, packet.seal, packet.round_key) == (kind, seal, KEY)
        assert packet.names == tuple(sorted(files))
        assert {name: packet.read(name) for name in packet.names} == files
    assert is_packet(tmp_path / "out.zip")


def test_the_seal_is_the_sum_of_the_list_and_is_read_out_in_threes(tmp_path: Path):
    seal = write(tmp_path / "out.zip")
    with zipfile.ZipFile(tmp_path / "out.zip") as archive:
        manifest = archive.read("out/manifest-sha256.txt")
    assert seal == hashlib.sha256(manifest).hexdigest() == seal_of(manifest)
    assert seal_code("abcdef012345" + "9" * 52) == "abc-def-012-345"


def test_the_same_content_gives_the_same_bytes(tmp_path: Path):
    first, second = tmp_path / "a" / "out.zip", tmp_path / "b" / "out.zip"
    for path, files in (
        (first, files_of(PacketKind.REPORT)),
        (second, dict(reversed(files_of(PacketKind.REPORT).items()))),
    ):
        path.parent.mkdir()
        write(path, PacketKind.REPORT, files=files)
    assert first.read_bytes() == second.read_bytes()


def test_another_content_or_day_gives_another_file_and_only_content_another_seal(tmp_path: Path):
    seals = [
        write(tmp_path / "a.zip"),
        write(tmp_path / "b.zip", made_on=date(2026, 11, 26)),
        write(tmp_path / "c.zip", files=files_of(PacketKind.ROUND), kind=PacketKind.ROUND),
    ]
    assert seals[0] == seals[1] != seals[2]
    assert (tmp_path / "a.zip").read_bytes() != (tmp_path / "b.zip").read_bytes()


@pytest.mark.parametrize(
    ("name", "top"),
    [
        ("teo-1-assessment-1.zip", "teo-1-assessment-1"),
        ("Teo Round 1.zip", "teo-round-1"),
        ("../evil.zip", "evil"),
        ("r\u00fcck.zip", "r-ck"),
        ("\u00e9.zip", "teo-1-assessment"),
        ("nul.zip", "teo-1-assessment"),
        (".zip", "zip"),
        ("x" * 150 + ".zip", "x" * 80),
    ],
)
def test_everything_lies_in_one_folder_named_as_the_file(name: str, top: str, tmp_path: Path):
    (tmp_path / "in").mkdir()
    write(tmp_path / "in" / name)
    with zipfile.ZipFile(tmp_path / "in" / name) as archive:
        assert {entry.split("/")[0] for entry in archive.namelist()} == {top}


# --- whole or absent -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["file", "link to nowhere", "folder"])
def test_nothing_is_overwritten(kind: str, tmp_path: Path):
    path = tmp_path / "out.zip"
    match kind:
        case "file":
            path.write_bytes(b"an older packet")
        case "folder":
            path.mkdir()
        case _:
            path.symlink_to(tmp_path / "nowhere")
    with pytest.raises(AlreadyError, match="there is a file of that name"):
        write(path)
    assert [one.name for one in tmp_path.iterdir()] == ["out.zip"]
    assert kind != "file" or path.read_bytes() == b"an older packet"


@pytest.mark.parametrize("has_links", [True, False])
def test_a_file_that_appears_meanwhile_is_not_overwritten(
    has_links: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    path = tmp_path / "out.zip"
    link = os.link

    def late(source: Path, target: Path) -> None:
        path.write_bytes(b"somebody else's")
        if not has_links:
            raise PermissionError
        link(source, target)

    monkeypatch.setattr(os, "link", late)
    with pytest.raises(AlreadyError):
        write(path)
    assert path.read_bytes() == b"somebody else's"
    assert [one.name for one in tmp_path.iterdir()] == ["out.zip"]


def test_a_disk_without_second_names_will_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    def refused(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "link", refused)
    write(tmp_path / "out.zip")
    with open_packet(tmp_path / "out.zip") as packet:
        assert packet.round_key == KEY


@pytest.mark.parametrize("step", ["_write_zip", "_check_again", "take_name"])
@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_an_interrupted_writing_leaves_nothing(
    step: str, error: BaseException, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    def broken(*_: object) -> None:
        raise error

    monkeypatch.setattr(writing, step, broken)
    with pytest.raises((InputError, KeyboardInterrupt)) as caught:
        write(tmp_path / "out.zip")
    assert list(tmp_path.iterdir()) == []
    if isinstance(error, OSError):
        assert "cannot be written (no space left on device)" in str(caught.value)


def test_it_is_on_disk_before_it_has_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    synced: list[bool] = []
    fsync = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: (synced.append((tmp_path / "out.zip").exists()), fsync(handle)))
    write(tmp_path / "out.zip")
    assert synced == [False, True], "the file before it is named, its folder after"


def test_others_may_read_it(tmp_path: Path):
    write(tmp_path / "out.zip")
    assert stat.S_IMODE((tmp_path / "out.zip").stat().st_mode) == 0o644


def test_a_folder_that_is_not_there_is_said(tmp_path: Path):
    with pytest.raises(InputError, match=r"cannot be written .*Name another folder"):
        write(tmp_path / "none" / "out.zip")


SPOILT = {
    "one missing": (lambda files: files.pop("marking.json"), "lacks marking.json"),
    "one too many": (lambda files: files.update({"notes.txt": b"hi"}), "no place"),
    "no document": (lambda files: files.update({"round.json": b"{}"}), "does not say"),
    "a picture unnamed": (lambda files: files.update({photo_name(picture("green")): picture("green")}), "no document"),
    "too large": (lambda files: files.update({"report.html": b"<!doctype html>" + b"x" * 31_457_280}), "at most"),
    "a way out": (lambda files: files.update({"../evil.txt": b"hi"}), "no place"),
}


@pytest.mark.parametrize("case", SPOILT)
def test_what_would_not_open_is_not_written(case: str, tmp_path: Path):
    spoil, words = SPOILT[case]
    files = files_of(PacketKind.REPORT)
    spoil(files)
    with pytest.raises(InputError, match=words):
        write(tmp_path / "out.zip", PacketKind.REPORT, files=files)
    assert list(tmp_path.iterdir()) == []


def test_a_key_that_breaks_the_list_is_not_written(tmp_path: Path):
    with pytest.raises(InputError, match="External-Identifier"):
        write(tmp_path / "out.zip", round_key="teo-1\nFetch: all")
    assert list(tmp_path.iterdir()) == []


# --- reading it ------------------------------------------------------------------------------------------------------


def test_an_open_packet_answers_what_it_holds(tmp_path: Path):
    write(tmp_path / "out.zip")
    with open_packet(tmp_path / "out.zip") as packet:
        assert packet.document("assessment.json")["kind"] == "assessment"
        with pytest.raises(NotFoundError, match=r"there is no 'round\.json'"):
            packet.read("round.json")
        with pytest.raises(NotFoundError):
            packet.read("../bagit.txt")


def test_its_folder_is_private_and_gone_afterwards_whatever_happens(tmp_path: Path):
    write(tmp_path / "out.zip")
    with pytest.raises(ZeroDivisionError), open_packet(tmp_path / "out.zip") as packet:  # noqa: PT012
        folder = packet.folder
        assert stat.S_IMODE(folder.parent.parent.stat().st_mode) == 0o700
        raise ZeroDivisionError
    assert not folder.parent.parent.exists()


def test_a_packet_that_is_not_there_or_no_file(tmp_path: Path):
    os.mkfifo(tmp_path / "pipe")
    for path, words in (("none.zip", "no such file"), (".", "this is no file"), ("pipe", "this is no file")):
        with pytest.raises(InputError, match=words), open_packet(tmp_path / path):
            pass
        assert not is_packet(tmp_path / path)


def test_a_letter_is_no_packet(tmp_path: Path):
    (tmp_path / "letter.md").write_text("# Round teo-1\n")
    assert not is_packet(tmp_path / "letter.md")


# --- sound to others -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", PacketKind)
def test_other_programs_call_it_sound(kind: PacketKind, tmp_path: Path):
    """Python's zipfile, the command of the `bagit` library (Library of Congress), and `sha256sum -c` of coreutils."""
    write(tmp_path / "out.zip", kind)
    with zipfile.ZipFile(tmp_path / "out.zip") as archive:
        assert archive.testzip() is None
        archive.extractall(tmp_path)
    bag = tmp_path / "out"
    judged = subprocess.run(
        [sys.executable, "-m", "bagit", "--validate", str(bag)], capture_output=True, text=True, check=False
    )
    assert judged.returncode == 0, judged.stderr
    for name in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        counted = subprocess.run(
            ["sha256sum", "--check", "--strict", name], cwd=bag, capture_output=True, text=True, check=False
        )
        assert counted.returncode == 0, counted.stdout + counted.stderr
    listed = (bag / "manifest-sha256.txt").read_text().splitlines()
    assert len(listed) == len(files_of(kind)), "otherwise the sums above checked less than all"

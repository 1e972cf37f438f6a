"""What is written is whole or absent, and no name of another's is taken."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest

from evalkit import disk


def test_a_file_takes_the_place_of_an_older_one(tmp_path: Path):
    path = tmp_path / "page.html"
    disk.write_whole(path, b"old")
    disk.write_whole(path, b"new", mode=0o644)
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o644
    assert [one.name for one in tmp_path.iterdir()] == ["page.html"]


def test_a_failure_half_way_leaves_the_older_file_and_nothing_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = tmp_path / "page.html"
    disk.write_whole(path, b"old")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        disk.write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [one.name for one in tmp_path.iterdir()] == ["page.html"]


@pytest.mark.parametrize("has_links", [True, False])
def test_a_name_is_taken_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, has_links: bool):
    if not has_links:

        def refused(_old: Path, _new: Path) -> None:
            raise PermissionError

        monkeypatch.setattr("os.link", refused)
    for name in ("one", "two"):
        (tmp_path / name).write_text(name)
    disk.take_name(tmp_path / "one", tmp_path / "kept")
    with pytest.raises(FileExistsError):
        disk.take_name(tmp_path / "two", tmp_path / "kept")
    assert (tmp_path / "kept").read_text() == "one"


def test_all_and_a_folder_can_be_synced(tmp_path: Path):
    disk.sync_folder(tmp_path)
    disk.sync_all()


def test_a_new_file_is_whole_or_absent_and_takes_nobodys_place(tmp_path: Path):
    path = tmp_path / "sheet.md"
    disk.write_new(path, b"mine")
    assert path.read_bytes() == b"mine"
    assert path.stat().st_mode & 0o777 == 0o666 & ~disk.umask()
    with pytest.raises(FileExistsError):
        disk.write_new(path, b"another")
    with contextlib.suppress(ZeroDivisionError), disk.new_file(tmp_path / "half.md", mode=0o600) as file:
        file.write(b"half")
        raise ZeroDivisionError
    assert path.read_bytes() == b"mine"
    assert [one.name for one in tmp_path.iterdir()] == ["sheet.md"]


def test_a_new_file_does_not_follow_a_name_that_leads_nowhere(tmp_path: Path):
    (tmp_path / "sheet.md").symlink_to(tmp_path / "nowhere.md")
    with pytest.raises(FileExistsError):
        disk.write_new(tmp_path / "sheet.md", b"mine")
    assert not (tmp_path / "nowhere.md").exists()


@pytest.mark.parametrize("write", [disk.write_whole, disk.write_new])
def test_a_refusal_names_the_file_that_was_asked_for(write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Neither nothing, as a full disk does, nor the hidden file beside it."""
    with pytest.raises(OSError, match="No such file") as caught:
        write(tmp_path / "nowhere" / "sheet.md", b"mine")
    assert caught.value.filename == str(tmp_path / "nowhere" / "sheet.md")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space") as caught:
        write(tmp_path / "sheet.md", b"mine")
    assert caught.value.filename == str(tmp_path / "sheet.md")
    assert list(tmp_path.iterdir()) == []


def test_the_name_of_another_file_is_left_as_it_is(tmp_path: Path):
    with pytest.raises(OSError, match="odd") as caught, disk.naming(tmp_path / "sheet.md"):
        raise OSError(5, "odd", "/somewhere/picture.jpg")
    assert caught.value.filename == "/somewhere/picture.jpg"

"""What is written is whole or absent, and no name of another's is taken."""

from __future__ import annotations

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

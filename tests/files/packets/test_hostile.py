"""Hostile packets: each refused with one clear line, and nothing of it left anywhere."""

from __future__ import annotations

import io
import os
import sys
import tempfile
from pathlib import Path

import bagit
import pytest
from PIL import Image

from evalkit.errors import DiskError, InputError, MissingPartError
from evalkit.files.packets import open_packet
from evalkit.files.photos import clean_photo
from tests.files.packets.craft import Item, bag_of, items_of, packet_of, zipped
from tests.files.packets.hostile_documents import DOCUMENTS
from tests.files.packets.hostile_zips import ZIPS, Case
from tests.files.packets.samples import assessment_bytes, photo_name

CASES = (*ZIPS, *DOCUMENTS)


@pytest.fixture
def deep(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder far down, with the place for temporary folders beside it, so that a way out stays in sight."""
    folder = tmp_path / "a" / "b" / "c"
    (folder / "temporary").mkdir(parents=True)
    monkeypatch.setattr(tempfile, "tempdir", str(folder / "temporary"))
    monkeypatch.chdir(folder)
    return folder


def snapshot(top: Path) -> dict[str, bytes | None]:
    return {str(path.relative_to(top)): path.read_bytes() if path.is_file() else None for path in top.rglob("*")}


def open_wholly(path: Path) -> None:
    with open_packet(path) as packet:
        pytest.fail(f"taken as {packet.kind} with {packet.names}")


def test_there_are_enough_of_them_and_none_twice():
    assert len(CASES) >= 60
    assert len({name for name, _, _ in CASES}) == len(CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case[0])
def test_a_hostile_packet_is_refused_with_one_line_and_leaves_nothing(case: Case, deep: Path, tmp_path: Path):
    _, make, words = case
    path = deep / "packet.zip"
    path.write_bytes(make())
    before = snapshot(tmp_path)
    with pytest.raises(InputError) as caught:
        open_wholly(path)
    line = str(caught.value)
    assert words in line
    assert line.startswith(str(path))
    assert line.isprintable(), "one line, without signs that a terminal obeys"
    assert caught.value.mend
    assert line.endswith(caught.value.mend)
    assert caught.value.exit_code != 0
    assert snapshot(tmp_path) == before


def test_what_the_cases_start_from_is_right(deep: Path):
    """Otherwise each of them might be refused for another reason."""
    path = deep / "packet.zip"
    path.write_bytes(packet_of())
    with open_packet(path) as packet:
        assert len(packet.names) == 3


@pytest.mark.parametrize("told", [(0, 0, 0), None])
@pytest.mark.parametrize("sign", [b"PK\x07\x08", b""])
def test_sizes_may_be_told_behind_the_bytes(told: tuple[int, int, int] | None, sign: bytes, deep: Path):
    """APPNOTE 4.3.9: a descriptor with or without its signature; a browser that writes as it packs needs it."""
    items = [
        Item(one.name, one.data, flags=8 | 1 << 11, local_sizes=told, descriptor=sign + b"".join(
            number.to_bytes(4, "little") for number in one.told))
        for one in items_of(bag_of())
    ]  # fmt: skip
    path = deep / "packet.zip"
    path.write_bytes(zipped(items))
    with open_packet(path) as packet:
        assert len(packet.names) == 3


def test_a_picture_whose_end_is_lost_opens_and_is_refused_when_it_is_looked_at(deep: Path):
    """Its head is sound; only decoding tells, and whoever takes pictures in decodes them (`files/photos.py`)."""
    whole = io.BytesIO()
    Image.effect_noise((200, 150), 60).save(whole, "JPEG")
    data = whole.getvalue()[:-2_000]
    path = deep / "packet.zip"
    path.write_bytes(packet_of({"assessment.json": assessment_bytes(photo_name(data)), photo_name(data): data}))
    with open_packet(path) as packet, pytest.raises(InputError, match="cut short or damaged"):
        clean_photo(packet.read(photo_name(data)))


def test_a_telephones_picture_without_the_library_that_reads_it(deep: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    data = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"
    name = photo_name(data, "heic")
    path = deep / "packet.zip"
    path.write_bytes(packet_of({"assessment.json": assessment_bytes(name), name: data}))
    with pytest.raises(MissingPartError) as caught:
        open_wholly(path)
    assert str(caught.value).startswith(f"{path}, data/{name}: HEIC pictures need a library")
    assert "pip install" in caught.value.mend


def test_a_telephones_picture_is_taken(deep: Path):
    heif = pytest.importorskip("pillow_heif")
    file = io.BytesIO()
    heif.from_bytes("RGB", (64, 64), bytes(64 * 64 * 3)).save(file)
    data = file.getvalue()
    name = photo_name(data, "heic")
    path = deep / "packet.zip"
    path.write_bytes(packet_of({"assessment.json": assessment_bytes(name), name: data}))
    with open_packet(path) as packet:
        assert clean_photo(packet.read(name)).width == 64


@pytest.mark.parametrize("where", [(os, "open"), (os, "mkdir"), (tempfile, "mkdtemp")], ids=lambda one: one[1])
def test_a_full_disk_is_said_in_one_line(where: tuple[object, str], deep: Path, monkeypatch: pytest.MonkeyPatch):
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    path = deep / "packet.zip"
    path.write_bytes(packet_of())
    monkeypatch.setattr(*where, full)
    with pytest.raises(DiskError) as caught:
        open_wholly(path)
    unpacked = f"{path}, unpacked in {tempfile.gettempdir()}"
    assert str(caught.value) == f"{unpacked}: the disk is full. Make room on it, then try again."


@pytest.mark.parametrize("fault", ["Bag is incomplete", "two\nlines of \x1b[31mthem", ""])
def test_what_only_the_library_finds_is_one_line_too(fault: str, deep: Path, monkeypatch: pytest.MonkeyPatch):
    def refuse(*_: object) -> None:
        raise bagit.BagValidationError(fault)

    monkeypatch.setattr(bagit.Bag, "validate", refuse)
    path = deep / "packet.zip"
    path.write_bytes(packet_of())
    with pytest.raises(InputError, match="it is no valid bag") as caught:
        open_wholly(path)
    assert str(caught.value).isprintable()


def test_the_library_says_nothing_beside_the_one_line(deep: Path, capfd: pytest.CaptureFixture[str]):
    path = deep / "packet.zip"
    path.write_bytes(packet_of())
    with open_packet(path):
        pass
    assert capfd.readouterr() == ("", "")

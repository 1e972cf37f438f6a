"""Pictures of an act: kept when it happens, gone again when it does not, and never from outside the sheet's folder."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from evalkit.actions.pictures import kept_photos, read_photos, renamed
from evalkit.domain.assessment import Photo
from evalkit.errors import FileFaultsError
from evalkit.files.photos import CleanPhoto, PhotoStore, clean_photo


def picture(shade: int) -> bytes:
    written = io.BytesIO()
    Image.new("RGB", (40, 30), (shade, shade, shade)).save(written, "JPEG")
    return written.getvalue()


@pytest.fixture
def clean() -> dict[str, CleanPhoto]:
    return {f"{shade}.jpg": clean_photo(picture(shade)) for shade in (10, 200)}


@pytest.fixture
def store(tmp_path: Path) -> PhotoStore:
    return PhotoStore(tmp_path / "photos")


def files(store: PhotoStore) -> set[str]:
    return {path.stem for path in store.folder.rglob("*") if path.is_file()}


def test_what_is_kept_is_told_in_rows(clean: dict[str, CleanPhoto], store: PhotoStore):
    with kept_photos(clean, store, ()) as rows:
        assert [(row.sha256, row.media_type, row.width_px, row.height_px) for row in rows] == [
            (one.sha256, "image/jpeg", 40, 30) for one in clean.values()
        ]
    assert files(store) == {one.sha256 for one in clean.values()}


@pytest.mark.parametrize("fault", [ValueError("the act failed"), KeyboardInterrupt()])
def test_when_the_act_fails_only_what_was_known_stays(
    fault: BaseException, clean: dict[str, CleanPhoto], store: PhotoStore
):
    known, new = clean.values()
    store.put(known)
    seen = set()
    with pytest.raises(type(fault)), kept_photos(clean, store, {known.sha256}):  # noqa: PT012 - what happens inside
        seen |= files(store)
        raise fault
    assert seen == {known.sha256, new.sha256}
    assert files(store) == {known.sha256}


def test_when_the_disk_fails_half_way_the_first_is_gone_too(
    clean: dict[str, CleanPhoto], store: PhotoStore, monkeypatch: pytest.MonkeyPatch
):
    put, done = store.put, []

    def once(photo: CleanPhoto) -> str:
        if done:
            raise OSError(28, "No space left on device")
        done.append(photo)
        return put(photo)

    monkeypatch.setattr(store, "put", once)
    with pytest.raises(OSError, match="No space"), kept_photos(clean, store, ()):
        pass
    assert files(store) == set()


def test_a_picture_named_twice_is_read_once(tmp_path: Path):
    (tmp_path / "a.jpg").write_bytes(picture(10))
    photos = [Photo(file="a.jpg", caption="one"), Photo(file="a.jpg", caption="two")]
    found = read_photos(photos, tmp_path / "sheet.md")
    assert list(found) == ["a.jpg"]
    assert [photo.caption for photo in renamed(photos, found)] == ["one", "two"]
    assert {photo.file for photo in renamed(photos, found)} == {found["a.jpg"].sha256}


def test_a_picture_in_a_folder_below_is_found(tmp_path: Path):
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(picture(10))
    for name in ("photos/a.jpg", "photos\\a.jpg", "./photos/a.jpg"):
        assert list(read_photos([Photo(file=name)], tmp_path / "sheet.md")) == [name]


@pytest.mark.parametrize(
    "name", ["../a.jpg", "photos/../../a.jpg", "/a.jpg", "..\\a.jpg", "photos\\..\\..\\a.jpg", "link/a.jpg"]
)
def test_nothing_outside_the_folder_is_read(name: str, tmp_path: Path):
    inside = tmp_path / "inside"
    (inside / "photos").mkdir(parents=True)
    (tmp_path / "a.jpg").write_bytes(picture(10))
    (inside / "link").symlink_to(tmp_path)
    with pytest.raises(FileFaultsError, match="outside the sheet's folder"):
        read_photos([Photo(file=name)], inside / "sheet.md")


def test_every_fault_is_told_at_once(tmp_path: Path):
    (tmp_path / "text.jpg").write_text("no picture")
    names = ("none.jpg", "text.jpg", "../x.jpg", "nul\udce9.jpg")
    photos = [Photo.model_construct(file=name, caption="") for name in names]
    with pytest.raises(FileFaultsError) as told:
        read_photos(photos, tmp_path / "sheet.md")
    assert len(told.value.faults) == len(names)

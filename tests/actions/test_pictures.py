"""Pictures of an act: kept when it happens, gone again when it does not, and never from outside the sheet's folder."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PIL import Image

from evalkit.actions.pictures import kept_photos, read_photos, remove_half_kept_photos, renamed
from evalkit.domain.assessment import AssessedPair, Assessment, Photo
from evalkit.errors import BookError, FileFaultsError
from evalkit.files.half_kept import has_half_kept, list_ahead
from evalkit.files.photo_tray import PhotoTray
from evalkit.files.photos import CleanPhoto, PhotoStore, clean_photo


class PlainBook:
    """What keeping pictures asks of a book: what it knows, and that nobody else writes."""

    def __init__(self, *known: str) -> None:
        self.known = known

    def photo_names(self) -> tuple[str, ...]:
        return self.known

    @contextmanager
    def alone(self) -> Iterator[None]:
        yield


def picture(shade: int) -> bytes:
    written = io.BytesIO()
    Image.new("RGB", (40, 30), (shade, shade, shade)).save(written, "JPEG")
    return written.getvalue()


@pytest.fixture
def clean() -> dict[str, CleanPhoto]:
    return {f"{shade}.jpg": clean_photo(picture(shade)) for shade in (10, 200)}


@pytest.fixture
def tray(clean: dict[str, CleanPhoto]) -> Iterator[PhotoTray]:
    with PhotoTray() as tray:
        for name, photo in clean.items():
            tray.lay(name, photo)
        yield tray


@pytest.fixture
def store(tmp_path: Path) -> PhotoStore:
    return PhotoStore(tmp_path / "photos")


def files(store: PhotoStore) -> set[str]:
    return {path.stem for path in store.folder.rglob("*") if path.is_file()}


def test_what_is_kept_is_told_in_rows(clean: dict[str, CleanPhoto], tray: PhotoTray, store: PhotoStore):
    with kept_photos(tray, store, PlainBook()) as rows:
        assert files(store) == set(), "nothing is written before the act asks"
        assert [(row.sha256, row.media_type, row.n_bytes, row.width_px, row.height_px) for row in rows] == [
            (one.sha256, "image/jpeg", len(one.data), 40, 30) for one in clean.values()
        ]
    assert files(store) == {one.sha256 for one in clean.values()}
    assert all(store.read(one.sha256) == one.data for one in clean.values())


def test_an_act_that_asks_for_no_picture_writes_none(tray: PhotoTray, store: PhotoStore):
    with kept_photos(tray, store, PlainBook()):
        pass
    assert not store.folder.exists()
    with PhotoTray() as empty, kept_photos(empty, store, PlainBook()) as rows:
        assert list(rows) == []
    assert not store.folder.exists()


def test_one_picture_under_two_names_is_kept_once(clean: dict[str, CleanPhoto], store: PhotoStore):
    (photo, *_) = clean.values()
    with PhotoTray() as tray:
        tray.lay("a.jpg", photo)
        tray.lay("b.jpg", photo)
        assert len(tray) == 2
        with kept_photos(tray, store, PlainBook()) as rows:
            assert len(list(rows)) == 1


@pytest.mark.parametrize("fault", [ValueError("the act failed"), KeyboardInterrupt()])
def test_when_the_act_fails_only_what_was_known_stays(
    fault: BaseException, clean: dict[str, CleanPhoto], tray: PhotoTray, store: PhotoStore
):
    known, new = clean.values()
    store.put(known)
    seen = set()
    with pytest.raises(type(fault)), kept_photos(tray, store, PlainBook(known.sha256)) as rows:  # noqa: PT012
        list(rows)
        seen |= files(store)
        raise fault
    assert {known.sha256, new.sha256} < seen
    assert [path.name for path in store.folder.iterdir()] == [known.sha256[:2]]
    assert files(store) == {known.sha256}


def test_when_the_disk_fails_half_way_the_first_is_gone_too(
    tray: PhotoTray, store: PhotoStore, monkeypatch: pytest.MonkeyPatch
):
    put, done = store.put, []

    def once(photo: CleanPhoto) -> str:
        if done:
            raise OSError(28, "No space left on device")
        done.append(photo)
        return put(photo)

    monkeypatch.setattr(store, "put", once)
    with pytest.raises(BookError, match=r"no space left on device.*nothing was changed"):  # noqa: SIM117
        with kept_photos(tray, store, PlainBook()) as rows:
            list(rows)
    assert list(store.folder.iterdir()) == []


def test_what_a_dead_act_left_is_gone_before_the_next_picture(
    clean: dict[str, CleanPhoto], tray: PhotoTray, store: PhotoStore
):
    known, new = clean.values()
    left = clean_photo(picture(90))
    list_ahead(store, [known.sha256, new.sha256, left.sha256])
    for photo in (known, left):
        store.put(photo)
    for photo in (known, left):
        (store.path_of(photo.sha256).parent / ".half.part").write_bytes(b"half")
    (store.folder / ".being-kept-cut").write_text(f"{new.sha256}\n{left.sha256[:30]}", encoding="ascii")
    with kept_photos(tray, store, PlainBook(known.sha256)) as rows:
        list(rows)
    assert files(store) == {known.sha256, new.sha256}
    assert not has_half_kept(store)


def test_pictures_that_no_list_names_are_left_alone(clean: dict[str, CleanPhoto], tray: PhotoTray, store: PhotoStore):
    """A book put back from an older copy knows fewer pictures than lie beside it."""
    newer = clean_photo(picture(90))
    store.put(newer)
    with kept_photos(tray, store, PlainBook()) as rows:
        list(rows)
    assert remove_half_kept_photos(store, PlainBook()) == 0
    assert files(store) == {newer.sha256, *(one.sha256 for one in clean.values())}


def test_a_picture_named_twice_is_read_once(tmp_path: Path):
    (tmp_path / "a.jpg").write_bytes(picture(10))
    photos = [Photo(file="a.jpg", caption="one"), Photo(file="a.jpg", caption="two")]
    assessment = Assessment(
        round_key="teo-1",
        trainee_key="teo",
        rubric_digest="0" * 64,
        pairs=(AssessedPair(number=1, photos=photos), AssessedPair(number=2)),
    )
    with PhotoTray() as tray:
        read_photos(photos, tmp_path / "sheet.md", tray)
        assert list(tray) == ["a.jpg"]
        name = tray["a.jpg"].sha256
    first, second = renamed(assessment, {"a.jpg": name}).pairs
    assert [(photo.file, photo.caption) for photo in first.photos] == [(name, "one"), (name, "two")]
    assert second.photos == ()


def test_a_picture_in_a_folder_below_is_found(tmp_path: Path):
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(picture(10))
    for name in ("photos/a.jpg", "photos\\a.jpg", "./photos/a.jpg"):
        with PhotoTray() as tray:
            read_photos([Photo(file=name)], tmp_path / "sheet.md", tray)
            assert list(tray) == [name]


@pytest.mark.parametrize(
    "name", ["../a.jpg", "photos/../../a.jpg", "/a.jpg", "..\\a.jpg", "photos\\..\\..\\a.jpg", "link/a.jpg"]
)
def test_nothing_outside_the_folder_is_read(name: str, tmp_path: Path):
    inside = tmp_path / "inside"
    (inside / "photos").mkdir(parents=True)
    (tmp_path / "a.jpg").write_bytes(picture(10))
    (inside / "link").symlink_to(tmp_path)
    with PhotoTray() as tray, pytest.raises(FileFaultsError, match="outside the sheet's folder"):
        read_photos([Photo(file=name)], inside / "sheet.md", tray)


def test_every_fault_is_told_at_once(tmp_path: Path):
    (tmp_path / "text.jpg").write_text("no picture")
    names = ("none.jpg", "text.jpg", "../x.jpg", "nul\udce9.jpg")
    photos = [Photo.model_construct(file=name, caption="") for name in names]
    with PhotoTray() as tray, pytest.raises(FileFaultsError) as told:
        read_photos(photos, tmp_path / "sheet.md", tray)
    assert len(told.value.faults) == len(names)

"""Pictures: what is taken, what is refused, what is left in them, and how they are kept."""

from __future__ import annotations

import hashlib
import io
import struct
import sys
import zipfile
import zlib
from pathlib import Path

import pytest
from PIL import Image, ImageDraw, ImageFile, PngImagePlugin

from evalkit.errors import BookError, InputError, MissingPartError, NotFoundError
from evalkit.files import photos
from evalkit.files.photos import CleanPhoto, PhotoStore, check_photo, clean_photo

HEIC_HEAD = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"
ORIENTATION = 0x0112
GPS = 0x8825


def two_halves(width: int = 40, height: int = 20) -> Image.Image:
    """Left half red, right half blue, so that a turn can be seen."""
    image = Image.new("RGB", (width, height), "red")
    ImageDraw.Draw(image).rectangle((width // 2, 0, width, height), fill="blue")
    return image


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **options)
    return file.getvalue()


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def bomb_png(width: int, height: int) -> bytes:
    """A well-formed head that promises width x height pixels; a few bytes long."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


@pytest.mark.parametrize(("kind", "media_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")])
def test_type_is_told_by_content(kind: str, media_type: str) -> None:
    checked = check_photo(saved(two_halves(), kind))
    assert (checked.media_type, checked.width, checked.height) == (media_type, 40, 20)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_every_kind_becomes_a_named_jpeg(kind: str) -> None:
    clean = clean_photo(saved(two_halves(), kind))
    assert clean.media_type == "image/jpeg"
    assert opened(clean.data).format == "JPEG"
    assert clean.sha256 == hashlib.sha256(clean.data).hexdigest()
    assert (clean.width, clean.height) == opened(clean.data).size == (40, 20)
    assert clean_photo(saved(two_halves(), kind)) == clean


@pytest.mark.parametrize(("orientation", "size"), [(1, (40, 20)), (3, (40, 20)), (6, (20, 40)), (8, (20, 40))])
def test_orientation_is_applied(orientation: int, size: tuple[int, int]) -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    image = opened(clean_photo(saved(two_halves(), "JPEG", exif=exif)).data)
    assert image.size == size
    corner = {1: "red", 3: "blue", 6: "red", 8: "blue"}[orientation]
    red, _, blue = image.getpixel((1, 1))
    assert (red > blue) == (corner == "red")


def test_location_device_comment_profile_and_text_are_dropped() -> None:
    exif = Image.Exif()
    exif[0x010F] = "CAMERA-MAKER"
    exif.get_ifd(GPS)[1] = "N"
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/">HARBOUR</x:xmpmeta>'
    dirty = saved(two_halves(), "JPEG", exif=exif, comment=b"MY-COMMENT", xmp=xmp, icc_profile=b"PROFILE" * 40)
    assert all(word in dirty for word in (b"CAMERA-MAKER", b"MY-COMMENT", b"HARBOUR", b"PROFILE"))
    clean = clean_photo(dirty).data
    assert not any(word in clean for word in (b"CAMERA-MAKER", b"MY-COMMENT", b"HARBOUR", b"PROFILE", b"Exif"))
    info = PngImagePlugin.PngInfo()
    info.add_text("Comment", "MY-COMMENT")
    assert b"MY-COMMENT" not in clean_photo(saved(two_halves(), "PNG", pnginfo=info)).data
    left = opened(clean)
    assert not left.getexif()
    assert set(left.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_what_follows_the_picture_is_dropped() -> None:
    tail = b"\x00\x00\x00\x18ftypmp42 a short film"
    assert b"short film" not in clean_photo(saved(two_halves(), "JPEG") + tail).data


def test_long_side_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MAX_SIDE", 100)
    clean = clean_photo(saved(two_halves(400, 200), "PNG"))
    assert (clean.width, clean.height) == (100, 50)
    assert clean_photo(saved(two_halves(60, 30), "PNG")).width == 60


def test_see_through_turns_white_and_deep_grey_keeps_its_shade() -> None:
    clear = Image.new("RGBA", (8, 8), (255, 0, 0, 0))
    assert opened(clean_photo(saved(clear, "PNG")).data).getpixel((4, 4)) == (255, 255, 255)
    deep = Image.new("I;16", (8, 8), 128 * 256)
    assert abs(opened(clean_photo(saved(deep, "PNG")).data).getpixel((4, 4))[0] - 128) <= 2


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.8])
def test_cut_short_is_refused(kind: str, share: float) -> None:
    noise = Image.effect_noise((120, 120), 80).convert("RGB")
    whole = saved(noise, kind)
    with pytest.raises(InputError, match="cut short or damaged"):
        clean_photo(whole[: int(len(whole) * share)])


def test_cut_short_is_refused_though_another_library_allows_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """WeasyPrint sets this for the whole process when it is imported; a book must not depend on who came first."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    whole = saved(Image.effect_noise((120, 120), 80).convert("RGB"), "JPEG")
    with pytest.raises(InputError, match="cut short or damaged"):
        clean_photo(whole[: len(whole) // 2])
    assert ImageFile.LOAD_TRUNCATED_IMAGES is True


def test_bombs_are_refused_before_decoding() -> None:
    with pytest.raises(InputError, match="too many pixels"):
        check_photo(bomb_png(9_000, 9_000))
    with pytest.raises(InputError, match="too many pixels"):
        check_photo(bomb_png(60_000, 60_000))


def test_the_pixel_limit_stays_local() -> None:
    before = Image.MAX_IMAGE_PIXELS
    with pytest.raises(InputError):
        check_photo(bomb_png(9_000, 9_000))
    check_photo(saved(two_halves(), "PNG"))
    assert before == Image.MAX_IMAGE_PIXELS


def test_too_many_bytes_and_none_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MAX_BYTES", 2**20)
    with pytest.raises(InputError, match="at most 1 MB"):
        check_photo(b"\xff\xd8\xff" + bytes(2**20))
    with pytest.raises(InputError, match="empty"):
        check_photo(b"")


@pytest.mark.parametrize(
    "data",
    [
        b"GIF89a" + bytes(40),
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"%PDF-1.7",
        b"PK\x03\x04" + bytes(40),
        b"junk" + saved(two_halves(), "JPEG"),
        saved(two_halves(), "TIFF"),
        saved(two_halves(), "BMP"),
    ],
    ids=["gif", "svg", "pdf", "zip", "jpeg after junk", "tiff", "bmp"],
)
def test_other_kinds_are_refused(data: bytes) -> None:
    with pytest.raises(InputError, match="no picture"):
        check_photo(data)


def test_two_kinds_at_once_are_refused() -> None:
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as file:
        file.writestr("page.html", "hello")
    picture = saved(two_halves(), "JPEG")
    for data, also in [
        (picture + archive.getvalue(), "an archive"),
        (saved(two_halves(), "JPEG", comment=b"%PDF-1.7"), "a PDF"),
        (saved(two_halves(), "JPEG", comment=b"<ScRiPt>alert(1)</script>"), "a web page"),
        (picture + b"<!DOCTYPE html><p>", "a web page"),
    ]:
        with pytest.raises(InputError, match=also):
            clean_photo(data)


def test_a_right_head_on_wrong_content_is_refused() -> None:
    for head in (b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"RIFF\x10\x00\x00\x00WEBP"):
        with pytest.raises(InputError, match="cut short or damaged"):
            clean_photo(head + b"nonsense" * 20)


def test_heic_without_its_library_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    with pytest.raises(MissingPartError, match="pip install 'evalkit\\[heic\\]'"):
        check_photo(HEIC_HEAD)


def test_heic_with_its_library() -> None:
    heif = pytest.importorskip("pillow_heif")
    file = io.BytesIO()
    heif.from_pillow(two_halves(64, 32)).save(file, quality=80)
    clean = clean_photo(file.getvalue())
    assert (clean.width, clean.height) == (64, 32)
    assert opened(clean.data).format == "JPEG"
    with pytest.raises(InputError, match="cut short or damaged"):
        clean_photo(file.getvalue()[:200])


@pytest.fixture
def photo() -> CleanPhoto:
    return clean_photo(saved(two_halves(), "PNG"))


def test_put_keeps_once_under_its_name(tmp_path: Path, photo: CleanPhoto) -> None:
    store = PhotoStore(tmp_path / "photos")
    assert store.put(photo) == store.put(photo) == photo.sha256
    path = store.get_path(photo.sha256)
    assert path == tmp_path / "photos" / photo.sha256[:2] / f"{photo.sha256}.jpg"
    assert store.read(photo.sha256) == photo.data
    assert [file for file in (tmp_path / "photos").rglob("*") if file.is_file()] == [path]


def test_a_failed_write_leaves_nothing(tmp_path: Path, photo: CleanPhoto, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError("no space left")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="no space"):
        PhotoStore(tmp_path).put(photo)
    assert not [file for file in tmp_path.rglob("*") if file.is_file()]


def test_put_refuses_a_wrong_name(tmp_path: Path, photo: CleanPhoto) -> None:
    with pytest.raises(InputError, match="not the one its name says"):
        PhotoStore(tmp_path).put(CleanPhoto(photo.data, photo.media_type, "0" * 64, 40, 20))


def test_one_changed_bit_is_found_and_mended_by_putting_again(tmp_path: Path, photo: CleanPhoto) -> None:
    store = PhotoStore(tmp_path)
    path = store.get_path(store.put(photo))
    assert store.check([photo.sha256]) == []
    changed = bytearray(photo.data)
    changed[len(changed) // 2] ^= 1
    path.write_bytes(changed)
    assert [fault.split(":")[0] for fault in store.check([photo.sha256])] == [
        f"picture {photo.sha256[:12]} is not what was kept"
    ]
    with pytest.raises(BookError, match="not what was kept"):
        store.read(photo.sha256)
    store.put(photo)
    assert store.check([photo.sha256]) == []


def test_missing_and_impossible_names(tmp_path: Path) -> None:
    store = PhotoStore(tmp_path)
    with pytest.raises(NotFoundError):
        store.read("0" * 64)
    assert "is missing" in store.check(["0" * 64])[0]
    for name in ("../../etc/passwd", "A" * 64, "0" * 63, "0" * 64 + "\n"):
        with pytest.raises(InputError, match="not the name"):
            store.get_path(name)


def test_thumbnail_is_small_and_a_jpeg(tmp_path: Path) -> None:
    store = PhotoStore(tmp_path)
    name = store.put(clean_photo(saved(two_halves(400, 200), "PNG")))
    small = opened(store.thumbnail(name, 100))
    assert (small.format, small.size) == ("JPEG", (100, 50))

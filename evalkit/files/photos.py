"""Pictures: checked by content, stripped of everything but the pixels, scaled, kept under the name of their content."""

from __future__ import annotations

import hashlib
import importlib
import io
import re
import threading
import warnings
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from evalkit.disk import sync_folder, write_whole
from evalkit.errors import BookError, InputError, MissingPartError, NotFoundError

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

MAX_BYTES = 25 * 1024 * 1024
MAX_SIDE = 2400
MAX_LONG_SIDE = 20_000
"""Longer than the panoramas of telephones; a decoder holds whole rows."""

JPEG_QUALITY = 85
JPEG = "image/jpeg"
SUFFIX = ".jpg"

HEIF = "HEIF"
MEDIA_TYPES = {"JPEG": JPEG, "PNG": "image/png", "WEBP": "image/webp", HEIF: "image/heic"}
SUFFIXES = {"JPEG": SUFFIX, "PNG": ".png", "WEBP": ".webp", HEIF: ".heic"}
MAX_PIXELS = {"JPEG": 64_000_000, "PNG": 60_000_000, "WEBP": 20_000_000, HEIF: 44_000_000}
"""What can be decoded in 330 MiB, measured: 2 bytes a pixel for a JPEG scaled on the way, 5 for PNG, 16 for WebP, whose
decoder keeps it four times, 7 for HEIC."""

MAX_PROGRESSIVE_PIXELS = 30_000_000
"""A progressive JPEG is whole in memory, up to 9 bytes a pixel, before the first row of it is known."""

HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")

WHAT_IS_TAKEN = "Send it as a JPEG, PNG, WebP or HEIC picture."
SEND_SMALLER = "Send a smaller copy; 2400 pixels on the long side are enough."
SEND_AGAIN = "Save or take the picture again and send that one."

NAME = re.compile(r"[0-9a-f]{64}")
_pillow_limits = threading.Lock()


@dataclass(frozen=True, slots=True)
class CheckedPhoto:
    """What the head of a picture file says, before anything is decoded. Sides in pixels, before any turning."""

    kind: str
    width: int
    height: int

    @property
    def media_type(self) -> str:
        return MEDIA_TYPES[self.kind]


@dataclass(frozen=True, slots=True)
class CleanPhoto:
    """A picture fit to keep: upright, RGB, at most `MAX_SIDE` pixels long, no word in it but the pixels."""

    data: bytes
    media_type: str
    sha256: str
    width: int
    height: int


def check_photo(data: bytes) -> CheckedPhoto:
    """What `data` is, from its content alone; nothing is decoded.

    Raises InputError when it is too large, no picture, two kinds of file at once, or has too many pixels; and
    MissingPartError for HEIC without the library that reads it.
    """
    if not data:
        raise InputError("the picture is empty.", mend=SEND_AGAIN)
    if len(data) > MAX_BYTES:
        raise InputError(
            f"the picture has {len(data) / 2**20:.0f} MB; at most {MAX_BYTES // 2**20} MB are taken.",
            mend=SEND_SMALLER,
        )
    kind = _kind_of(data)
    _refuse_two_kinds(data)
    with _opened(data, kind) as image:
        return CheckedPhoto(kind, image.width, image.height)


def clean_photo(data: bytes) -> CleanPhoto:
    """`data` as an upright RGB JPEG without metadata, at most `MAX_SIDE` pixels long. Raises as `check_photo` does.

    The same bytes give the same picture. Location, device, comments, colour profile and anything that follows the
    picture in its file are gone.
    """
    checked = check_photo(data)
    with _opened(data, checked.kind) as image:
        try:
            pixels = _upright_rgb(image)
        except Exception as error:  # decoders of hostile bytes raise nearly anything
            raise InputError("the picture is cut short or damaged.", mend=SEND_AGAIN) from error
    written = _as_jpeg(pixels)
    return CleanPhoto(written, JPEG, hashlib.sha256(written).hexdigest(), pixels.width, pixels.height)


def _kind_of(data: bytes) -> str:
    """By the first bytes; a file's name and what its sender says of it are not asked."""
    if data.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    if data[4:8] == b"ftyp" and data[8:12] in HEIF_BRANDS:
        _load_heif()
        return HEIF
    raise InputError("this is no picture that evalkit can read.", mend=WHAT_IS_TAKEN)


def _load_heif() -> None:
    try:
        importlib.import_module("pillow_heif").register_heif_opener()
    except ImportError as error:
        raise MissingPartError(
            "HEIC pictures need a library that is not installed.",
            mend="Install it with: pip install 'evalkit[heic]'; or have the telephone save pictures as JPEG.",
        ) from error


def _refuse_two_kinds(data: bytes) -> None:
    """A telephone may put a film or a second picture behind the first; an archive or a page has no business there."""
    also = ""
    if zipfile.is_zipfile(io.BytesIO(data)):
        also = "an archive"
    elif b"%PDF-" in data[:1024]:
        also = "a PDF"
    elif re.search(rb"<script|<!doctype html", data, re.IGNORECASE):
        also = "a web page"
    if also:
        raise InputError(f"the picture is {also} at the same time.", mend=SEND_AGAIN)


@contextmanager
def _opened(data: bytes, kind: str) -> Iterator[Picture]:
    """The picture with its head read and its pixels not yet decoded."""
    from PIL import Image

    try:
        with _pillow_limits, warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            pillow_limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, MAX_PIXELS[kind]
            try:
                image = Image.open(io.BytesIO(data), formats=[kind])
            finally:
                Image.MAX_IMAGE_PIXELS = pillow_limit
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        raise _too_large(MAX_PIXELS[kind]) from error
    except Exception as error:  # readers of hostile heads raise nearly anything
        raise InputError("the picture is cut short or damaged.", mend=SEND_AGAIN) from error
    with image:
        if image.info.get("progressive") and image.width * image.height > MAX_PROGRESSIVE_PIXELS:
            raise _too_large(MAX_PROGRESSIVE_PIXELS)
        if max(image.size) > MAX_LONG_SIDE:
            raise InputError(f"the picture is longer than {MAX_LONG_SIDE} pixels.", mend=SEND_SMALLER)
        yield image


def _too_large(most: int) -> InputError:
    what = f"the picture has too many pixels; at most {most // 1_000_000} million are taken."
    return InputError(what, mend=SEND_SMALLER)


@contextmanager
def _whole_pictures_only() -> Iterator[None]:
    """The PDF library, once loaded, lets Pillow take pictures cut short; here they are refused all the same."""
    from PIL import ImageFile

    with _pillow_limits:
        found, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = found


def _upright_rgb(image: Picture) -> Picture:
    from evalkit.files.scaling import upright_rgb

    image.draft("RGB", (MAX_SIDE, MAX_SIDE))
    with _whole_pictures_only():
        image.load()
    return upright_rgb(image, MAX_SIDE)


def _as_jpeg(pixels: Picture) -> bytes:
    """Pillow carries a picture's own comment over into what it saves, so only the pixels are handed on."""
    from PIL import Image

    bare = Image.new("RGB", pixels.size)
    bare.paste(pixels)
    written = io.BytesIO()
    bare.save(written, "JPEG", quality=JPEG_QUALITY, optimize=True)
    return written.getvalue()


class PhotoStore:
    """Cleaned pictures in a folder, each under the SHA-256 of its content: `ab/abcdef...jpg`."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def put(self, photo: CleanPhoto) -> str:
        """Keep `photo` and answer its name. On disk before this returns; putting it twice keeps it once."""
        if hashlib.sha256(photo.data).hexdigest() != photo.sha256:
            raise InputError("the picture is not the one its name says.", mend="Clean the picture again.")
        path = self.path_of(photo.sha256)
        if _digest_of(path) != photo.sha256:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, photo.data)
            sync_folder(self.folder)
        return photo.sha256

    def get_path(self, sha256: str) -> Path:
        """Where the picture lies. Raises NotFoundError when there is none of that name."""
        path = self.path_of(sha256)
        if not path.is_file():
            raise NotFoundError(
                f"there is no picture {sha256[:12]}.", mend="Restore it from a backup.", where=str(self.folder)
            )
        return path

    def read(self, sha256: str) -> bytes:
        """The picture. Raises NotFoundError when it is missing, BookError when it is no longer what was kept."""
        path = self.get_path(sha256)
        data = path.read_bytes()
        if hashlib.sha256(data).hexdigest() != sha256:
            raise BookError("the picture is not what was kept.", mend="Restore it from a backup.", where=str(path))
        return data

    def thumbnail(self, sha256: str, px: int) -> bytes:
        """The picture as a JPEG of at most `px` pixels on its long side, for a report to carry inside it."""
        from PIL import Image

        with Image.open(io.BytesIO(self.read(sha256)), formats=["JPEG"]) as image:
            image.draft("RGB", (px, px))
            image.thumbnail((px, px), Image.Resampling.LANCZOS)
            return _as_jpeg(image)

    def drop(self, sha256: str) -> None:
        """Take a picture away again whose act failed; nothing happens when it is not there."""
        self.path_of(sha256).unlink(missing_ok=True)

    def check(self, names: Iterable[str]) -> list[str]:
        """Reread every named picture against its name; one sentence for each that is missing or changed."""
        faults = []
        for name in names:
            path = self.path_of(name)
            digest = _digest_of(path)
            if digest is None:
                faults.append(f"picture {name[:12]} is missing: {path}")
            elif digest != name:
                faults.append(f"picture {name[:12]} is not what was kept: {path}")
        return faults

    def path_of(self, sha256: str) -> Path:
        """Where a picture of that name lies or would lie. Raises InputError for what is no such name."""
        if not NAME.fullmatch(sha256):
            raise InputError(f"'{sha256[:80]}' is not the name of a kept picture.", mend="Give its 64 hex digits.")
        return self.folder / sha256[:2] / f"{sha256}{SUFFIX}"


def _digest_of(path: Path) -> str | None:
    """None when there is no such file."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return None

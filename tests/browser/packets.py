"""A packet opened with other people's tools: Python's zipfile, the `bagit` library's command, GNU `sha256sum`."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image


@dataclass(frozen=True)
class Unpacked:
    """A packet that both tools found whole; `folder` holds its bag."""

    folder: Path

    @property
    def seal(self) -> str:
        return hashlib.sha256((self.folder / "manifest-sha256.txt").read_bytes()).hexdigest()

    @property
    def code(self) -> str:
        """What is read out over the telephone: the first twelve signs in threes."""
        return "-".join(self.seal[at : at + 3] for at in range(0, 12, 3))

    def document(self, name: str) -> dict[str, Any]:
        found = json.loads((self.folder / "data" / name).read_text(encoding="utf-8"))
        assert isinstance(found, dict)
        return found

    @property
    def photos(self) -> list[Path]:
        return sorted((self.folder / "data" / "photos").glob("*"))


def unpack(packet: Path, into: Path) -> Unpacked:
    """Unpack it and have it judged; fails the test with what a tool said."""
    with zipfile.ZipFile(packet) as archive:
        assert archive.testzip() is None
        archive.extractall(into)
    (folder,) = into.iterdir()
    for command in (
        [sys.executable, "-m", "bagit", "--validate", str(folder)],
        ["sha256sum", "--strict", "--check", "manifest-sha256.txt"],
        ["sha256sum", "--strict", "--check", "tagmanifest-sha256.txt"],
    ):
        told = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
        assert told.returncode == 0, f"{' '.join(command)}: {told.stdout}{told.stderr}"
    return Unpacked(folder)


def metadata_of(picture: Path) -> list[str]:
    """What a picture tells beside itself: EXIF tags, XMP, comments, by name. How its colours are meant is no secret."""
    with Image.open(picture) as opened:
        exif = [f"EXIF {tag}" for tag in opened.getexif()]
        allowed = {
            "jfif",
            "jfif_version",
            "jfif_unit",
            "jfif_density",
            "dpi",
            "progressive",
            "progression",
            "icc_profile",
        }
        return exif + [name for name in opened.info if name not in allowed]

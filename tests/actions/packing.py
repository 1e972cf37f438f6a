"""Packets as a bench book would seal them, for tests and benches; every picture drawn here."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Mapping
from datetime import UTC, date, datetime
from pathlib import Path

from PIL import Image, ImageDraw

from evalkit.domain.assessment import Assessment, Photo
from evalkit.files.packets import PacketKind, write_packet
from evalkit.files.packets.documents import AssessmentDocument

SEALED_AT = datetime(2026, 4, 30, 18, 5, tzinfo=UTC)


def picture(number: int, width: int = 64, height: int = 48, **options: object) -> bytes:
    """A smooth picture of something like steel, another for each number, as a telephone would save it."""
    slope = Image.linear_gradient("L").resize((width, height))
    image = Image.merge("RGB", (slope, slope.transpose(Image.Transpose.ROTATE_180), slope))
    draw = ImageDraw.Draw(image)
    for at in range(24):
        x = (at * width) // 24
        draw.line(
            (x, 0, x + number * width // 60, height), fill=(150 + at, 160, 170 + number % 80), width=1 + width // 400
        )
    written = io.BytesIO()
    image.save(written, "JPEG", quality=90, **options)
    return written.getvalue()


def photo_name(data: bytes, ending: str = "jpg") -> str:
    return f"photos/{hashlib.sha256(data).hexdigest()}.{ending}"


def with_photos(assessment: Assessment, pictures: Mapping[int, list[bytes]]) -> tuple[Assessment, dict[str, bytes]]:
    """The assessment with these pictures on its pairs, by number; and the files that go with it."""
    pairs = tuple(
        pair.model_copy(
            update={"photos": tuple(Photo(file=photo_name(data)) for data in pictures.get(pair.number, ()))}
        )
        for pair in assessment.pairs
    )
    files = {photo_name(data): data for listed in pictures.values() for data in listed}
    return assessment.model_copy(update={"pairs": pairs}), files


def assessment_packet(
    path: Path,
    assessment: Assessment,
    photos: Mapping[str, bytes] | None = None,
    *,
    version: int = 1,
    reason: str = "",
    round_key: str | None = None,
) -> str:
    """Write the packet to `path`; its seal."""
    document = AssessmentDocument(version=version, reason=reason, sealed_at=SEALED_AT, assessment=assessment)
    return write_packet(
        path,
        PacketKind.ASSESSMENT,
        round_key=round_key or assessment.round_key,
        made_on=date(2026, 4, 30),
        files={"assessment.json": document.model_dump_json().encode(), **(photos or {})},
    )

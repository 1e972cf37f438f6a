"""A small round and its documents, for packets that are right; whoever spoils one starts from these."""

from __future__ import annotations

import hashlib
import io
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import cache

from PIL import Image

from evalkit.domain.assessment import AssessedPair, Assessment, Photo, WorkLog, WorkStep
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import EdgeType, Hand, KnownFault, Pair
from evalkit.domain.reading import Reading, SeenLevel, Stage
from evalkit.domain.round import Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision
from evalkit.domain.verdict import Verdict
from evalkit.files.packets import PacketKind
from evalkit.files.packets.documents import (
    AssessmentDocument,
    MarkingDocument,
    PractiseDocument,
    ReportDocument,
    RoundDocument,
    RubricDocument,
    document_bytes,
)
from evalkit.files.packets.shown_round import shown_round
from evalkit.files.places import rubrics_dir
from evalkit.files.rubrics import load_rubric

KEY = "teo-1"
MADE_ON = date(2026, 11, 25)
SEALED_AT = datetime(2026, 11, 25, 10, tzinfo=UTC)
PAGE = b"<!doctype html>\n<title>Round teo-1</title>\n<p>Blades are sharp.</p>\n"


@cache
def picture(colour: str = "red", kind: str = "JPEG") -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (40, 20), colour).save(file, kind)
    return file.getvalue()


def photo_name(data: bytes, ending: str = "jpg") -> str:
    return f"photos/{hashlib.sha256(data).hexdigest()}.{ending}"


@cache
def rubric() -> Rubric:
    return load_rubric(rubrics_dir() / "shears.toml")


@cache
def round_() -> Round:
    """Two pairs, with everything set that a trainee must not learn."""
    secrets = {
        "faults": (KnownFault(tag="nick", severity=3),),
        "difficulty": 5,
        "declared_value": Decimal("41.50"),
        "currency": "EUR",
        "origin": "from the salon at Harrow Quay",
    }
    pairs = (
        Pair(tag="S-101", edge_type=EdgeType.CONVEX, size_in=Decimal("5.5"), blade_length_mm=60.5, **secrets),
        Pair(tag="S-102", edge_type=EdgeType.TOOTHED, size_in=Decimal(6), hand=Hand.LEFT, teeth=30, **secrets),
    )
    return Round(
        key=KEY,
        trainee=Person(key="teo", name="Teo Marsk"),
        mentor=Person(key="oda", name="Oda Ferrin"),
        rubric_key=rubric().key,
        rubric_version=1,
        rubric_digest=rubric().digest,
        planned_on=date(2026, 11, 1),
        pairs=tuple(
            NumberedPair(number=number, pair=pair, called_for=Decision.SHARPEN)
            for number, pair in enumerate(pairs, start=1)
        ),
        legs=(Leg(kind=LegKind.SENT, happened_on=date(2026, 11, 3), carrier_ref="QX-77", condition="taped twice"),),
    )


def assessment(*photos: str) -> Assessment:
    """Both pairs; the pictures of these names are shown with the first."""
    criterion = rubric().criteria[0].key
    reading = Reading(number=1, stage=Stage.AS_RECEIVED, criterion=criterion, seen=SeenLevel(level=1), note="dull")
    return Assessment(
        round_key=KEY,
        trainee_key="teo",
        rubric_digest=rubric().digest,
        written_on=date(2026, 11, 20),
        pairs=(
            AssessedPair(
                number=1,
                readings=(reading,),
                decision=Decision.SHARPEN,
                work=WorkLog(steps=(WorkStep(what="stone, five strokes a third"),), minutes=35),
                verdict=Verdict.ACCEPTED,
                notes="The burr came over evenly.",
                photos=tuple(Photo(file=name, caption="tip, thumb blade") for name in photos),
            ),
            AssessedPair(number=2, decision=Decision.LEAVE, reason="a tooth is bent"),
        ),
    )


def marking(*photos: str) -> Marking:
    """Both pairs; the pictures of these names are shown with the first."""
    pair = MarkedPair(number=1, keep="the ride line", photos=tuple(Photo(file=name) for name in photos))
    return Marking(round_key=KEY, mentor_key="oda", rubric_digest=rubric().digest, pairs=(pair, MarkedPair(number=2)))


def assessment_bytes(*photos: str, **changes: object) -> bytes:
    fields = {"version": 1, "sealed_at": SEALED_AT, "assessment": assessment(*photos)} | changes
    return document_bytes(AssessmentDocument(**fields))


def files_of(kind: PacketKind) -> dict[str, bytes]:
    """The payload of a packet of that kind that is right, by names below `data/`."""
    jpg, png = picture("red"), picture("blue", "PNG")
    photos = {photo_name(jpg): jpg, photo_name(png, "png"): png}
    shared = {
        "round.json": document_bytes(RoundDocument(round=shown_round(round_()))),
        "rubric.json": document_bytes(RubricDocument(rubric=rubric())),
    }
    match kind:
        case PacketKind.ASSESSMENT:
            return {"assessment.json": assessment_bytes(*photos), **photos}
        case PacketKind.ROUND:
            practise = document_bytes(PractiseDocument(practise=("Keep the angle to the very tip.",)))
            return {**shared, "practise.json": practise, "bench-book.html": PAGE}
        case PacketKind.REPORT:
            return {
                **shared,
                **photos,
                "assessment.json": assessment_bytes(photo_name(jpg)),
                "marking.json": document_bytes(MarkingDocument(marking=marking(photo_name(png, "png")))),
                "report.json": document_bytes(ReportDocument(report={"format": 1, "round": KEY, "pairs": []})),
                "report.html": PAGE,
            }

"""Packets that go to a trainee: a round to work on, a graded report."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from evalkit.actions.answers import get_result
from evalkit.actions.pictures import photos_of, renamed
from evalkit.domain.round import Round
from evalkit.progress.lining_up import day_of

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.book.kept import FinishedMarking, SealedAssessment
    from evalkit.files.packets.documents import AssessmentDocument, Document, MarkingDocument
    from evalkit.files.photos import PhotoStore
    from evalkit.progress.results import RoundResult


@dataclass(frozen=True, slots=True)
class MadePacket:
    """A packet that was written, and its seal."""

    path: Path
    seal: str
    n_photos: int = 0


def shown_to_trainee(round_: Round) -> Round:
    """The round as its trainee may know it before it is marked."""
    from evalkit.files.packets.shown_round import shown_round

    return shown_round(round_).as_round()


def find_last_report(book: Book, round_: Round) -> RoundResult | None:
    """The trainee's last round before this one that is marked; None when there is none."""
    marked = [
        get_result(book, other.key)
        for other in book.list_rounds(round_.trainee.key)
        if other.key != round_.key and other.planned_on <= round_.planned_on and book.find_marking(other.key)
    ]
    return max(marked, key=lambda one: (day_of(one)[0], one.round.planned_on, one.round.key), default=None)


def make_round_packet(
    book: Book, round_key: str, out: Path, *, bench_book: str, practise: Sequence[str], made_on: date
) -> MadePacket:
    """Write the box as its trainee may know it: the round, its rubric, its bench book, and what to practise."""
    from evalkit.files.packets import PacketKind, write_packet
    from evalkit.files.packets.documents import PractiseDocument, RoundDocument, RubricDocument
    from evalkit.files.packets.shown_round import shown_round

    round_ = book.get_round(round_key)
    files = {
        "round.json": _json(RoundDocument(round=shown_round(round_))),
        "rubric.json": _json(RubricDocument(rubric=book.get_rubric_by_digest(round_.rubric_digest))),
        "practise.json": _json(PractiseDocument(practise=tuple(practise))),
        "bench-book.html": bench_book.encode(),
    }
    return MadePacket(out, write_packet(out, PacketKind.ROUND, round_key=round_.key, made_on=made_on, files=files))


def make_report_packet(
    book: Book, store: PhotoStore, round_key: str, out: Path, *, page: str, data: str, made_on: date
) -> MadePacket:
    """Write the report (`page` is its HTML, `data` its JSON) with all that it rests on, photos included.

    From then on the trainee may know how hard the pairs were taken to be. Raises NotFoundError before it is marked.
    """
    from evalkit.files.packets import PacketKind, write_packet
    from evalkit.files.packets.documents import ReportDocument, RoundDocument, RubricDocument
    from evalkit.files.packets.shown_round import shown_round

    round_ = book.get_round(round_key)
    finished, sealed = book.get_marking(round_key), book.find_assessment(round_key)
    photos = {photo.file for photo in photos_of(finished.marking)}
    files = {
        "report.json": _json(ReportDocument(report=json.loads(data))),
        "report.html": page.encode(),
        "marking.json": _json(_marking_document(book, round_, finished)),
        "round.json": _json(RoundDocument(round=shown_round(round_))),
        "rubric.json": _json(RubricDocument(rubric=book.get_rubric_by_digest(round_.rubric_digest))),
    }
    if sealed is not None:
        photos |= {photo.file for photo in photos_of(sealed.assessment)}
        files["assessment.json"] = _json(_assessment_document(sealed))
    files |= {_photo_name(name): store.read(name) for name in sorted(photos)}
    seal = write_packet(out, PacketKind.REPORT, round_key=round_.key, made_on=made_on, files=files)
    return MadePacket(out, seal, len(photos))


def _assessment_document(sealed: SealedAssessment) -> AssessmentDocument:
    from evalkit.files.packets.documents import AssessmentDocument

    assessment = sealed.assessment
    names = {photo.file: _photo_name(photo.file) for photo in photos_of(assessment)}
    return AssessmentDocument(
        version=sealed.version,
        reason=sealed.reason,
        sealed_at=sealed.sealed_at,
        assessment=renamed(assessment, names),
    )


def _marking_document(book: Book, round_: Round, finished: FinishedMarking) -> MarkingDocument:
    from evalkit.files.packets.documents import MarkingDocument
    from evalkit.files.packets.told_pair import told_pairs

    marking = finished.marking
    names = {photo.file: _photo_name(photo.file) for photo in photos_of(marking)}
    return MarkingDocument(
        version=finished.version,
        reason=finished.reason,
        finished_at=finished.finished_at,
        marking=renamed(marking, names),
        marked_by=book.get_person("mentor", marking.mentor_key),
        told=told_pairs(round_),
    )


def _photo_name(sha256: str) -> str:
    """A kept picture's name in a packet."""
    return f"photos/{sha256}.jpg"


def _json(document: Document) -> bytes:
    return (document.model_dump_json(by_alias=True, indent=1) + "\n").encode()

"""A round and a report from the mentor, taken into the book that a trainee keeps."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from evalkit.actions.fitting import TakenIn, check_readings, taken_in
from evalkit.actions.pictures import kept_photos, renamed
from evalkit.domain.round import Round
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.actions.packet_desk import PacketDesk
    from evalkit.book.kept import ToldReport
    from evalkit.files.packets.documents import MarkingDocument


def take_in_round(desk: PacketDesk) -> TakenIn:
    """The people, the rubric, the pairs and the round. Raises InputError in a mentor's book, or for another trainee."""
    from evalkit.files.packets.documents import RoundDocument, RubricDocument

    round_ = desk.packet.parsed("round.json", RoundDocument).round.as_round()
    _check_own_book(desk, round_)
    rubric = desk.packet.parsed("rubric.json", RubricDocument).rubric
    is_new = desk.book.take_in_round_packet(desk.head(), round_, rubric, desk.who)
    return TakenIn(desk.book.get_round(round_.key), 0, is_new, len(round_.pairs), 0, 0)


def take_in_report(desk: PacketDesk) -> TakenIn:
    """What the report rests on: the round to its end, the assessment as it was read, the marking. Raises as above."""
    from evalkit.files.packets.documents import MarkingDocument

    document = desk.packet.parsed("marking.json", MarkingDocument)
    report = _report_of(desk, document)
    _check_own_book(desk, report.round)
    for told in (report.marking, *((report.assessment,) if report.assessment else ())):
        for pair in told.pairs:
            report.round.get_pair(pair.number)
        check_readings(told, report.round, report.rubric, desk.where)
    with desk.photos() as (tray, content_names):
        report = _with_photos(report, content_names)
        with kept_photos(tray, desk.store, desk.book) as rows:
            kept = desk.book.take_in_report_packet(desk.head(document.version), report, desk.who, rows)
    return taken_in(desk.book.get_round(report.round.key), kept, report.marking, len(content_names))


def _check_own_book(desk: PacketDesk, round_: Round) -> None:
    if desk.book.find_own_trainee() is None:
        raise InputError(
            f"this is a mentor's book, and a {desk.packet.kind} packet is for the book that its trainee keeps.",
            mend=f"Make one with 'evalkit book new FOLDER --trainee {round_.trainee.key}' and take it in there.",
            where=desk.where,
        )


def _report_of(desk: PacketDesk, document: MarkingDocument) -> ToldReport:
    from evalkit.book.kept import ToldReport
    from evalkit.files.packets.documents import AssessmentDocument, RoundDocument, RubricDocument
    from evalkit.files.packets.told_pair import with_told

    packet = desk.packet
    round_ = with_told(packet.parsed("round.json", RoundDocument).round.as_round(), document.told)
    assessed = None
    if "assessment.json" in packet.names:
        assessed = packet.parsed("assessment.json", AssessmentDocument)
    marked_by = document.marked_by or round_.mentor
    if document.marking.mentor_key != marked_by.key:
        raise InputError(
            f"the marking is by '{document.marking.mentor_key}', of whom the packet tells no name.",
            mend="Ask your mentor for the packet again.",
            where=desk.where,
        )
    return ToldReport(
        round=round_,
        rubric=packet.parsed("rubric.json", RubricDocument).rubric,
        assessment=assessed.assessment if assessed else None,
        assessment_reason=assessed.reason if assessed else "",
        assessment_version=assessed.version if assessed else 1,
        marking=document.marking,
        marking_reason=document.reason,
        marking_version=document.version,
        marked_by=marked_by,
    )


def _with_photos(report: ToldReport, content_names: dict[str, str]) -> ToldReport:
    assessment = renamed(report.assessment, content_names) if report.assessment else None
    return replace(report, assessment=assessment, marking=renamed(report.marking, content_names))

"""Taking in a packet: all of it or nothing, the same one twice as the same once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, assert_never

from evalkit.actions.fitting import TakenIn, check_day, check_filled, check_reached, check_readings, taken_in
from evalkit.actions.own_book import take_in_report, take_in_round
from evalkit.actions.packet_desk import PacketDesk
from evalkit.actions.pictures import kept_photos, renamed
from evalkit.domain.assessment import Assessment
from evalkit.domain.marking import Marking
from evalkit.domain.round import LegKind, Round, span_words
from evalkit.errors import InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.files.packets import OpenPacket, PacketKind
    from evalkit.files.photos import PhotoStore


@dataclass(frozen=True, slots=True)
class PacketTakenIn:
    """What came of a packet. `was_known` when this very one was taken in before: then nothing was changed."""

    kind: PacketKind
    seal: str
    taken: TakenIn
    was_known: bool = False


def take_in_packet(
    book: Book,
    store: PhotoStore,
    path: Path,
    *,
    who: str,
    today: date,
    reason: str = "",
    only: PacketKind | None = None,
) -> PacketTakenIn:
    """Open a packet as if it were hostile, check it against its round, and keep it.

    A round and a report go into a trainee's own book. `reason` stands in where the packet gives none; with `only`,
    packets of another kind are refused. Raises InputError or FileFaultsError for what does not fit, AlreadyError where
    something sealed would have to change.
    """
    from evalkit.files.packets import PacketKind, open_packet

    with open_packet(path) as packet:
        if only not in (None, packet.kind):
            raise InputError(
                f"this packet holds a {packet.kind}, not an {only}.",
                mend="Take it in with 'evalkit packet take-in'.",
                where=str(path),
            )
        desk = PacketDesk(book, store, packet, str(path), who)
        if (known := book.find_packet(packet.seal)) is not None:
            nothing = TakenIn(book.get_round(known.head.round_key), known.became or 0, False, 0, 0, 0)
            return PacketTakenIn(packet.kind, packet.seal, nothing, was_known=True)
        match packet.kind:
            case PacketKind.ASSESSMENT:
                taken = _take_in_assessment(desk, today, reason)
            case PacketKind.ROUND:
                taken = take_in_round(desk)
            case PacketKind.REPORT:
                taken = take_in_report(desk)
            case _:
                assert_never(packet.kind)
        return PacketTakenIn(packet.kind, packet.seal, taken)


@dataclass(frozen=True, slots=True)
class PacketSeen:
    """What a packet is and whose, without a word of what is in it. `version` is the sender's; None for a round."""

    kind: PacketKind
    seal: str
    round_key: str
    trainee_key: str
    version: int | None
    n_pairs: int
    n_readings: int
    n_photos: int


def look_into(path: Path) -> PacketSeen:
    """Open a packet as if it were hostile and say what it is. Nothing is kept. Raises as `open_packet` does."""
    from evalkit.files.packets import PacketKind, open_packet
    from evalkit.files.packets.documents import AssessmentDocument, MarkingDocument, RoundDocument

    with open_packet(path) as packet:
        if packet.kind is PacketKind.ASSESSMENT:
            sealed = packet.parsed("assessment.json", AssessmentDocument)
            return _seen(packet, sealed.assessment.trainee_key, sealed.assessment, sealed.version)
        round_ = packet.parsed("round.json", RoundDocument).round.as_round()
        if packet.kind is PacketKind.ROUND:
            return _seen(packet, round_.trainee.key, round_, None)
        finished = packet.parsed("marking.json", MarkingDocument)
        return _seen(packet, round_.trainee.key, finished.marking, finished.version)


def _seen(
    packet: OpenPacket, trainee_key: str, document: Assessment | Marking | Round, version: int | None
) -> PacketSeen:
    from evalkit.files.packets.layout import find_photo_name

    n_readings = 0 if isinstance(document, Round) else sum(len(pair.readings) for pair in document.pairs)
    n_photos = sum(find_photo_name(name) is not None for name in packet.names)
    return PacketSeen(
        packet.kind, packet.seal, packet.round_key, trainee_key, version, len(document.pairs), n_readings, n_photos
    )


def _take_in_assessment(desk: PacketDesk, today: date, reason: str) -> TakenIn:
    from evalkit.files.packets.documents import AssessmentDocument
    from evalkit.files.sheets.names import WRITTEN_ON

    document = desk.packet.parsed("assessment.json", AssessmentDocument)
    assessment = document.assessment
    round_ = desk.book.get_round(desk.packet.round_key)
    rubric = desk.book.get_rubric_by_digest(round_.rubric_digest)
    _check_whose(assessment, round_, desk.where)
    check_reached(round_)
    _check_by_own_hand(assessment, desk.where)
    check_filled(assessment, desk.where)
    check_readings(assessment, round_, rubric, desk.where)
    received_on = round_.leg_on(LegKind.RECEIVED)
    check_day(assessment.written_on, received_on, today, desk.where, of=WRITTEN_ON, is_from_afar=True)
    with desk.photos() as (tray, content_names):
        assessment = renamed(assessment, content_names)
        with kept_photos(tray, desk.store, desk.book) as rows:
            kept = desk.book.take_in_assessment_packet(
                desk.head(document.version), assessment, desk.who, document.reason or reason, rows
            )
    return taken_in(round_, kept, assessment, len(content_names))


def _check_whose(assessment: Assessment, round_: Round, where: str) -> None:
    """Raises InputError unless it is of this trainee, by the round's rubric, about every pair of the box."""
    if assessment.trainee_key != round_.trainee.key:
        raise InputError(
            f"round {round_.key} is {round_.trainee.name}'s ('{round_.trainee.key}'), and the packet is by "
            f"'{assessment.trainee_key}'.",
            mend="Ask the sender for the packet of that round's own bench book.",
            where=where,
        )
    if assessment.rubric_digest != round_.rubric_digest:
        raise InputError(
            f"it goes by another rubric than round {round_.key}, which goes by {round_.rubric_key} version "
            f"{round_.rubric_version}.",
            mend="Ask for the packet of the bench book that was made for this round.",
            where=where,
        )
    numbers = tuple(sorted(pair.number for pair in assessment.pairs))
    if numbers != round_.numbers:
        raise InputError(
            f"it tells of the pairs {span_words(numbers) or 'none'}; the box of round {round_.key} holds "
            f"{span_words(round_.numbers)}.",
            mend="Ask for the packet of the bench book that was made for this round.",
            where=where,
        )


def _check_by_own_hand(assessment: Assessment, where: str) -> None:
    if assessment.is_transcribed:
        raise InputError(
            "it calls itself written down by the mentor, but a packet is sealed by its trainee.",
            mend="Letters go in by the round sheet: evalkit assessment take-in SHEET --transcribed.",
            where=where,
        )

"""Packets in the book: once is once, a sealed version never changes, a trainee's own book takes in what it is told."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from evalkit.book.book import Book
from evalkit.book.connect import FILE, engine_for
from evalkit.book.kept import Kept, PacketHead, PhotoRow, ToldReport
from evalkit.book.making import make_book, migrate, read_version
from evalkit.book.schema import VERSIONS
from evalkit.domain.round import LegKind, Person, Round
from evalkit.domain.triage import Decision
from evalkit.errors import AlreadyError, InputError
from tests.book.conftest import take_away
from tests.book.values import (
    JOURNEY,
    NIA,
    ODA,
    PAIRS,
    PHOTO,
    RUBRIC,
    SECOND,
    TickingClock,
    assessment_of,
    marking_of,
    round_of,
    rubric_of,
)

PHOTOS = [PhotoRow(*PHOTO)]


def head(seal: str = "a1", kind: str = "assessment", version: int | None = 1) -> PacketHead:
    return PacketHead(seal * 32, kind, "nia-1", version)


# --- an assessment ----------------------------------------------------------------------------------------------------


@pytest.fixture
def out(book: Book) -> Book:
    """The box has reached the trainee."""
    round_ = round_of()
    book.add_round(round_, "oda")
    for leg in JOURNEY[:2]:
        book.add_leg(round_.key, leg, "oda")
    return book


def test_a_packet_is_sealed_and_remembered(out: Book):
    assessment = assessment_of(round_of())
    assert out.take_in_assessment_packet(head(), assessment, "oda", "", PHOTOS) == Kept(1, is_new=True)
    (taken,) = out.list_packets("nia-1")
    assert (taken.head, taken.became) == (head(), 1)
    assert out.find_packet("a1" * 32) == taken
    assert out.list_packets() == [taken]
    assert out.list_packets("nia-2") == []
    assert out.find_packet("b2" * 32) is None
    assert out.get_assessment("nia-1").assessment == assessment
    act = out.list_acts()[-1]
    assert (act.act, act.subject, act.who) == ("take in packet", "round nia-1", "oda")
    assert out.check() == []


def test_the_same_packet_again_changes_nothing(out: Book, folder: Path, content_of):
    out.take_in_assessment_packet(head(), assessment_of(round_of()), "oda", "", PHOTOS)
    before = content_of(folder)
    asked = []
    photos = (asked.append(row) or row for row in PHOTOS)
    kept = out.take_in_assessment_packet(head(), assessment_of(round_of()), "oda", "why not", photos)
    assert kept == Kept(1, is_new=False)
    assert asked == [], "no picture is written for a packet that is known"
    assert content_of(folder) == before


@pytest.mark.parametrize(
    ("seal", "version", "told"),
    [("b2", 2, "never changes.*Compare the seal codes"), ("b2", 1, "version 2 was taken in")],
)
def test_another_packet_under_a_number_that_was_taken_in(
    out: Book, folder: Path, content_of, seal: str, version: int, told: str
):
    out.take_in_assessment_packet(head("a1", version=2), assessment_of(round_of()), "oda", "late", PHOTOS)
    before = content_of(folder)
    for reason in ("", "changed my mind"):
        with pytest.raises(AlreadyError, match=told):
            out.take_in_assessment_packet(
                head(seal, version=version), assessment_of(round_of(), level=2), "oda", reason, PHOTOS
            )
    assert content_of(folder) == before


def test_a_later_version_with_its_reason_stands_beside_the_first(out: Book):
    out.take_in_assessment_packet(head(), assessment_of(round_of()), "oda", "", PHOTOS)
    later = assessment_of(round_of(), letter="I forgot")
    assert out.take_in_assessment_packet(head("b2", version=4), later, "oda", "a letter").version == 2
    assert [(one.head.version, one.became) for one in out.list_packets()] == [(1, 1), (4, 2)]
    assert out.get_assessment("nia-1").assessment == later
    assert out.get_assessment("nia-1").reason == "a letter"
    assert out.get_assessment("nia-1", 1).assessment == assessment_of(round_of())
    assert out.check() == []


def test_after_a_sheet_a_packet_needs_a_reason(out: Book, folder: Path, content_of):
    out.add_photo_row(*PHOTO, "oda")
    out.seal_assessment(assessment_of(round_of()), "oda")
    same = out.take_in_assessment_packet(head(), assessment_of(round_of()), "oda")
    assert same == Kept(1, is_new=False)
    assert out.list_packets()[0].became == 1
    before = content_of(folder)
    other = assessment_of(round_of(), level=2)
    with pytest.raises(AlreadyError, match=r"another assessment.*give a reason"):
        out.take_in_assessment_packet(head("b2", version=2), other, "oda")
    assert content_of(folder) == before
    assert out.take_in_assessment_packet(head("b2", version=2), other, "oda", "the packet came later").version == 2


def test_what_fails_takes_the_packet_with_it(out: Book, folder: Path, content_of):
    before = content_of(folder)

    def broken():
        yield PHOTOS[0]
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space"):
        out.take_in_assessment_packet(head(), assessment_of(round_of()), "oda", "", broken())
    stranger = assessment_of(round_of()).model_copy(update={"trainee_key": "eve"})
    with pytest.raises(InputError, match="nia's, not eve's"):
        out.take_in_assessment_packet(head(), stranger, "oda", "", PHOTOS)
    assert content_of(folder) == before


def test_nobody_writes_beside_whoever_is_alone(out: Book, folder: Path, content_of, monkeypatch: pytest.MonkeyPatch):
    from evalkit.book import connect
    from evalkit.errors import BookError

    monkeypatch.setattr(connect, "BUSY_MS", 30)
    before = content_of(folder)
    with out.alone(), Book.open(folder, TickingClock()) as other:
        assert other.list_people("trainee") == [NIA]
        with pytest.raises(BookError, match="another program is writing"):
            other.add_person("trainee", Person(key="lin", name="Lin Aubrel"), "oda")
    assert content_of(folder) == before


def test_a_book_of_number_0002_is_brought_up_and_keeps_its_rows(tmp_path: Path):
    folder = tmp_path / "book"
    make_book(folder)
    with Book.open(folder, TickingClock()) as book:
        book.add_person("mentor", ODA, "oda")
    with sqlite3.connect(folder / FILE) as connection:
        take_away(connection, "packets", "school_values")
        connection.execute("UPDATE alembic_version SET version_num = '0002'")
    connection.close()
    migrate(folder / FILE)
    assert read_version(engine_for(folder / FILE)) == VERSIONS[-1]
    with Book.open(folder, TickingClock()) as book:
        assert book.list_people() == [ODA]
        assert book.list_packets() == []
        assert book.check() == []


def test_erasing_a_trainee_takes_the_seals_of_the_packets_along(full_book: Book, full_copy: Path):
    (taken,) = full_book.list_packets()
    full_book.erase_person("nia", "oda")
    assert full_book.list_packets() == []
    assert full_book.check() == []
    full_book.close()
    assert taken.head.seal.encode() not in (full_copy / FILE).read_bytes()


# --- a trainee's own book ---------------------------------------------------------------------------------------------


@pytest.fixture
def own(folder: Path):
    """A book that Nia keeps for herself."""
    with Book.open(folder, TickingClock()) as book:
        book.add_person("trainee", Person(key="nia", name="Nia S."), "nia")
        yield book


def shown(round_: Round) -> Round:
    """What lies in the box, and nothing that the mentor knows of it."""
    bare = {"faults": (), "difficulty": 2, "declared_value": None, "currency": None, "origin": ""}
    pairs = [
        one.model_copy(update={"pair": one.pair.model_copy(update=bare), "called_for": None}) for one in round_.pairs
    ]
    return round_.model_copy(update={"pairs": tuple(pairs)})


def told(round_: Round) -> Round:
    """As a report tells it: the pairs with their faults and difficulty, and the whole journey."""
    pairs = [one.model_copy(update={"pair": one.pair.model_copy(update={"difficulty": 4})}) for one in round_.pairs]
    return round_.model_copy(update={"pairs": tuple(pairs), "legs": JOURNEY})


def report_of(**more: object) -> ToldReport:
    round_ = round_of()
    report = ToldReport(
        round=told(round_),
        rubric=RUBRIC,
        assessment=assessment_of(round_),
        assessment_reason="",
        marking=marking_of(round_),
        marking_reason="",
        marked_by=ODA,
    )
    return replace(report, **more)


def test_who_keeps_a_book(own: Book, tmp_path: Path):
    assert own.find_own_trainee() == Person(key="nia", name="Nia S.")
    with Book.create(tmp_path / "hers", TickingClock()) as hers:
        assert hers.find_own_trainee() is None
        hers.add_person("mentor", ODA, "oda")
        hers.add_person("trainee", NIA, "oda")
        assert hers.find_own_trainee() is None


def test_a_round_packet_makes_people_rubric_pairs_and_round(own: Book):
    round_ = shown(round_of())
    assert own.take_in_round_packet(head("c3", "round", None), round_, RUBRIC, "nia")
    held = own.get_round("nia-1")
    assert held == round_.model_copy(update={"trainee": Person(key="nia", name="Nia S.")})
    assert own.get_rubric("bench") == (RUBRIC, 1)
    assert own.list_people("mentor") == [ODA]
    assert [(one.tag, one.difficulty, one.faults) for one in own.list_pairs()] == [(pair.tag, 2, ()) for pair in PAIRS]
    assert {act.who for act in own.list_acts()} == {"nia"}
    assert own.check() == []


def test_the_same_round_told_again(own: Book, folder: Path, content_of):
    own.take_in_round_packet(head("c3", "round", None), shown(round_of()), RUBRIC, "nia")
    before = content_of(folder)
    assert not own.take_in_round_packet(head("c3", "round", None), shown(round_of()), RUBRIC, "nia")
    assert content_of(folder) == before
    assert not own.take_in_round_packet(head("d4", "round", None), shown(round_of()), RUBRIC, "nia")
    assert len(own.list_packets()) == 2
    assert own.check() == []


def test_a_corrected_pair_and_a_further_leg_reach_the_round(own: Book):
    own.take_in_round_packet(head("c3", "round", None), shown(round_of()), RUBRIC, "nia")
    own.add_leg("nia-1", JOURNEY[0].model_copy(update={"carrier_ref": "as I saw it"}), "nia")
    longer = PAIRS[0].model_copy(update={"blade_length_mm": 70.0})
    again = shown(round_of(pairs=(longer, *PAIRS[1:]))).model_copy(update={"legs": JOURNEY[:2]})
    assert own.take_in_round_packet(head("d4", "round", None), again, RUBRIC, "nia")
    held = own.get_round("nia-1")
    assert held.get_pair(1).pair.blade_length_mm == 70.0
    assert [leg.carrier_ref for leg in held.legs] == ["as I saw it", "ref 1"]
    assert own.check() == []


def test_journeys_that_part_stay_as_the_trainee_wrote_them(own: Book):
    own.take_in_round_packet(head("c3", "round", None), shown(round_of()), RUBRIC, "nia")
    own.add_leg("nia-1", JOURNEY[0], "nia")
    lost = JOURNEY[1].model_copy(update={"kind": LegKind.LOST})
    own.add_leg("nia-1", lost, "nia")
    again = shown(round_of()).model_copy(update={"legs": JOURNEY})
    own.take_in_round_packet(head("d4", "round", None), again, RUBRIC, "nia")
    assert own.get_round("nia-1").legs == (JOURNEY[0], lost)


@pytest.mark.parametrize(
    ("what", "change"),
    [
        ("box", lambda round_: round_.model_copy(update={"pairs": round_.pairs[:2]})),
        ("day of planning", lambda round_: round_.model_copy(update={"planned_on": JOURNEY[3].happened_on})),
        ("mentor", lambda round_: round_.model_copy(update={"mentor": SECOND})),
    ],
)
def test_another_round_under_the_same_key(
    own: Book, folder: Path, content_of, what: str, change: Callable[[Round], Round]
):
    own.take_in_round_packet(head("c3", "round", None), shown(round_of()), RUBRIC, "nia")
    before = content_of(folder)
    with pytest.raises(AlreadyError, match=f"another {what}"):
        own.take_in_round_packet(head("d4", "round", None), change(shown(round_of())), RUBRIC, "nia")
    other = rubric_of("rod-line", mark=10)
    with pytest.raises(AlreadyError, match="another rubric"):
        own.take_in_round_packet(head("d4", "round", None), shown(round_of(rubric=other)), other, "nia")
    assert content_of(folder) == before


def test_another_trainees_round_and_another_mentor_of_the_same_key(own: Book, folder: Path, content_of):
    own.take_in_round_packet(head("c3", "round", None), shown(round_of()), RUBRIC, "nia")
    before = content_of(folder)
    lins = shown(round_of("lin-1")).model_copy(update={"trainee": Person(key="lin", name="Lin Aubrel")})
    with pytest.raises(InputError, match=r"Lin Aubrel's.*kept by Nia S. \(nia\).*--trainee lin"):
        own.take_in_round_packet(head("d4", "round", None), lins, RUBRIC, "nia")
    others = shown(round_of("nia-2")).model_copy(update={"mentor": Person(key="oda", name="Oda Ferrin")})
    with pytest.raises(InputError, match="'oda' is Oda Brink in this book, and Oda Ferrin in the packet"):
        own.take_in_round_packet(head("d4", "round", None), others, RUBRIC, "nia")
    assert content_of(folder) == before


@pytest.mark.parametrize("is_round_known", [True, False])
def test_a_report_packet_tells_all_that_a_report_rests_on(own: Book, is_round_known: bool):
    if is_round_known:
        own.take_in_round_packet(head("c3", "round", None), shown(round_of()), RUBRIC, "nia")
    report = report_of()
    assert own.take_in_report_packet(head("e5", "report", 1), report, "nia", PHOTOS) == Kept(1, is_new=True)
    held = own.get_round("nia-1")
    assert held.pairs == told(round_of()).pairs
    assert held.pairs[0].called_for is Decision.SHARPEN
    assert held.legs == JOURNEY
    assert own.get_assessment("nia-1").assessment == report.assessment
    assert own.get_marking("nia-1").marking == report.marking
    assert own.check() == []


def test_a_report_made_anew_brings_nothing_new(own: Book):
    own.take_in_report_packet(head("e5", "report", 1), report_of(), "nia", PHOTOS)
    versions = own.assessment_versions("nia-1"), own.marking_versions("nia-1")
    assert own.take_in_report_packet(head("f6", "report", 1), report_of(), "nia", PHOTOS) == Kept(1, is_new=False)
    assert (own.assessment_versions("nia-1"), own.marking_versions("nia-1")) == versions
    assert len(own.list_packets()) == 2
    later = shown(round_of()).model_copy(update={"legs": JOURNEY})
    own.take_in_round_packet(head("c3", "round", None), later, RUBRIC, "nia")
    assert own.get_round("nia-1").pairs == told(round_of()).pairs, "what a report told stays told"


def test_an_amended_report_is_the_next_version_and_the_older_one_is_refused_after_it(
    own: Book, folder: Path, content_of
):
    own.take_in_report_packet(head("e5", "report", 1), report_of(), "nia", PHOTOS)
    amended = report_of(marking=marking_of(round_of(), level=1), marking_reason="looked again")
    assert own.take_in_report_packet(head("f6", "report", 2), amended, "nia", PHOTOS) == Kept(2, is_new=True)
    assert own.get_marking("nia-1").reason == "looked again"
    before = content_of(folder)
    with pytest.raises(AlreadyError, match="version 2 was taken in"):
        own.take_in_report_packet(head("a7", "report", 1), report_of(), "nia", PHOTOS)
    other = report_of(marking=marking_of(round_of(), level=3))
    with pytest.raises(AlreadyError, match="another report with this version"):
        own.take_in_report_packet(head("a7", "report", 2), other, "nia", PHOTOS)
    assert content_of(folder) == before


def test_what_the_trainee_sealed_meanwhile_stays(own: Book):
    own.take_in_round_packet(head("c3", "round", None), shown(round_of()), RUBRIC, "nia")
    own.add_photo_row(*PHOTO, "nia")
    mine = assessment_of(round_of(), letter="my own later words")
    own.seal_assessment(mine, "nia")
    own.take_in_report_packet(head("e5", "report", 1), report_of(), "nia", PHOTOS)
    assert own.get_assessment("nia-1").assessment == assessment_of(round_of())
    assert own.get_assessment("nia-1").reason == "as it stands in the mentor's report"
    assert own.get_assessment("nia-1", 1).assessment == mine


def test_a_report_without_an_assessment_and_by_another_mentor(own: Book):
    theirs = report_of(assessment=None, marking=marking_of(round_of(), mentor=SECOND), marked_by=SECOND)
    own.take_in_report_packet(head("e5", "report", 1), theirs, "nia")
    assert own.find_assessment("nia-1") is None
    assert own.get_marking("nia-1").marking.mentor_key == "berit"
    assert own.list_people("mentor") == [SECOND, ODA]
    assert own.check() == []

"""Packets on the command line: out to the trainee, back to the mentor, and into the trainee's own book."""

from __future__ import annotations

import json
import re
import shutil
import zipfile
from pathlib import Path

import pytest

from evalkit.domain.assessment import Assessment
from evalkit.files.half_kept import list_ahead
from evalkit.files.packets import open_packet
from evalkit.files.photos import PhotoStore, clean_photo
from evalkit.files.sheets import read_assessment_sheet
from tests.actions.packing import assessment_packet, picture, with_photos
from tests.cli.desk import MINI, Desk

CODE = re.compile(r"^Seal code: ([0-9a-f]{3}(?:-[0-9a-f]{3}){3})\b", re.MULTILINE)


def filled(out: Desk) -> Assessment:
    """What the filled sheet in the folder says."""
    with out.opened() as book:
        round_ = book.get_round("teo-1")
        rubric = book.get_rubric_by_digest(round_.rubric_digest)
    path = out.folder / "teo-1.md"
    return read_assessment_sheet(path.read_text(encoding="utf-8"), str(path), round_, rubric)


@pytest.fixture
def packet(out: Desk) -> Path:
    """The same as a packet, with two pictures."""
    path = out.folder / "teo-1-assessment-1.zip"
    assessment_packet(path, *with_photos(filled(out), {1: [picture(1)], 2: [picture(2)]}))
    return path


# --- an assessment ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("noun", ["packet", "assessment"])
def test_an_assessment_packet_is_taken_in_by_either_command(out: Desk, packet: Path, noun: str):
    checked = out.do("packet", "check", packet, "--json").json
    before = out.state()
    out.do("packet", "check", packet)
    assert out.state() == before, "checking changes nothing"
    said = out.do(noun, "take-in", packet).out
    assert said.startswith("Sealed teo-1, version 1: 2 pairs, ")
    assert "2 photos.\nMark the box before you read it.\n" in said
    assert CODE.findall(said) == [checked["seal_code"]]
    assert checked["seal"].startswith(checked["seal_code"].replace("-", ""))
    shown = out.do("assessment", "show", "teo-1", "--open-early", "--json").json
    assert shown["pairs"][0]["verdict"] == "accepted"
    assert out.do("packet", "take-in", packet).out == (
        "teo-1: this very packet was taken in already; nothing changed.\n"
    )
    out.do("book", "check")


def test_taking_in_shows_nothing_and_marking_stays_blind(out: Desk, packet: Path):
    said = out.do("packet", "take-in", packet).out + out.do("packet", "take-in", packet, "--json").out
    assert "even enough" not in said
    assert "accepted" not in said
    assert "not marked yet" in out.refuse("assessment", "show", "teo-1")
    with out.opened() as book:
        assert not any(book.was_opened("teo-1", number) for number in (1, 2))


def test_what_take_in_answers_other_programs(out: Desk, packet: Path):
    answer = out.do("packet", "take-in", packet, "--json").json
    seal = out.do("packet", "check", packet, "--json").json["seal"]
    assert answer == {
        "format": 1, "kind": "assessment", "round": "teo-1", "seal": seal, "version": 1, "is_new": True,
        "was_known": False,
    }  # fmt: skip
    again = out.do("packet", "take-in", packet, "--json").json
    assert (again["is_new"], again["was_known"], again["version"]) == (False, True, 1)


def test_check_says_what_a_packet_is_without_a_book(out: Desk, packet: Path):
    shutil.rmtree(out.book)
    said = out.do("packet", "check", packet).out
    assert said.startswith(f"{packet}: whole. It holds the assessment of round teo-1, version 1, of trainee 'teo':\n")
    assert "2 pairs, 21 readings, 2 photos.\n" in said
    assert not out.book.exists()


def test_other_files_are_told_apart_by_content(out: Desk, packet: Path):
    sheet = out.folder / "sheet.zip"
    sheet.write_text((out.folder / "teo-1.md").read_text(encoding="utf-8"), encoding="utf-8")
    renamed = packet.rename(out.folder / "packet.md")
    assert "Sealed teo-1, version 1" in out.do("assessment", "take-in", sheet).out
    assert "another assessment" in out.refuse("assessment", "take-in", renamed)
    assert "version 2" in out.do("assessment", "take-in", renamed, "--reason", "the packet has photos").out


def test_what_a_broken_off_import_left_is_cleared_by_the_next_check(out: Desk, packet: Path):
    """The pictures lie there and a list of them; the act that was to name them never ended."""
    store = PhotoStore(out.book / "photos")
    left = [clean_photo(picture(number)) for number in (1, 2)]
    list_ahead(store, [photo.sha256 for photo in left])
    for photo in left:
        store.put(photo)
    before = out.state()
    assert out.do("book", "check").out.endswith("Cleared away 2 photos that a broken-off command had left behind.\n")
    assert out.state().rows == before.rows
    assert list((out.book / "photos").iterdir()) == []
    assert "Cleared" not in out.do("book", "check").out
    assert "2 photos" in out.do("packet", "take-in", packet).out
    assert "Cleared" not in out.do("book", "check").out


@pytest.mark.parametrize("words", [("packet", "check"), ("packet", "take-in")])
def test_what_is_no_packet(out: Desk, words: tuple[str, ...]):
    for name, content in (("empty.zip", b""), ("text.zip", b"hello"), ("cut.zip", b"PK\x03\x04\x14\x00")):
        (out.folder / name).write_bytes(content)
        said = out.refuse(*words, name)
        assert said.count("\n") == 1
        assert said.startswith(f"evalkit: {name}")
    assert "no such file" in out.refuse(*words, "nowhere.zip")


def test_a_changed_byte_is_found(out: Desk, packet: Path):
    data = bytearray(packet.read_bytes())
    data[len(data) // 2] ^= 1
    packet.write_bytes(bytes(data))
    assert out.refuse("packet", "check", packet).count("\n") == 1
    out.refuse("packet", "take-in", packet)


def test_a_transcribed_letter_goes_in_by_the_sheet_and_the_report_says_so(out: Desk, packet: Path):
    assert "only a sheet can be transcribed" in out.refuse("assessment", "take-in", packet, "--transcribed")
    out.do("assessment", "take-in", "teo-1.md", "--transcribed")
    out.do("report", "teo-1", "--open-early", "--format", "html,md")
    for ending in ("html", "md"):
        page = (out.folder / "reports" / f"teo-1.{ending}").read_text(encoding="utf-8")
        assert "was written down by Oda Ferrin from the trainee" in page


def test_a_packet_of_another_kind_is_not_an_assessment(out: Desk):
    out.do("packet", "round", "teo-1")
    said = out.refuse("assessment", "take-in", "teo-1-round.zip")
    assert "holds a round, not an assessment" in said
    assert "evalkit packet take-in" in said


# --- a round packet ---------------------------------------------------------------------------------------------------

SECRET = re.compile(rb"nick|difficulty|declared|called.for|origin|a drawer|\bsworn\b|grave|wants care", re.IGNORECASE)


@pytest.fixture
def telling(stocked: Desk) -> Desk:
    """A box of pairs of which the mentor knows a lot."""
    stocked.do(
        "pair", "add", "S-201", "--edge", "convex", "--size", "6.0", "--difficulty", "5", "--fault", "nick:3:thumb:tip",
        "--value", "40", "--currency", "EUR", "--blade-length", "66.5", "--origin", "a drawer",
    )  # fmt: skip
    stocked.do(
        "round", "plan", "teo", "--rubric", MINI, "--pairs", "S-201,S-102", "--called-for", "1=leave",
        "--on", "2026-04-01",
    )  # fmt: skip
    stocked.do("round", "send", "teo-1", "--on", "2026-04-02", "--condition", "the tip wants care", "--ref", "sworn")
    return stocked


def test_a_round_packet_tells_no_secret(telling: Desk):
    said = telling.do("packet", "round", "teo-1", "--out", "to-teo.zip").out
    assert said.startswith("Wrote to-teo.zip: 2 pairs, the rubric and the bench book for Teo Marsk.")
    with open_packet(telling.folder / "to-teo.zip") as packet:
        assert packet.names == ("bench-book.html", "practise.json", "round.json", "rubric.json")
        shown = packet.document("round.json")["round"]
        assert [(one["number"], one["tag"], one["blade_length_mm"]) for one in shown["pairs"]] == [
            (1, "S-201", 66.5), (2, "S-102", None),
        ]  # fmt: skip
        data = packet.read("bench-book.html")
        told = re.search(rb'<script type="application/json" id="round-data"[^>]*>(.*?)</script>', data, re.DOTALL)
        assert told, "the page carries its data"
        for part in (packet.read("round.json"), packet.read("practise.json"), told[1]):
            assert SECRET.findall(part) == []
        assert packet.document("practise.json")["practise"] == []
    assert telling.do("packet", "check", "to-teo.zip").out.startswith(
        "to-teo.zip: whole. It holds round teo-1, of trainee 'teo':\n2 pairs, 0 readings, 0 photos.\n"
    )


def test_a_packet_is_never_written_over_a_file(telling: Desk):
    telling.do("packet", "round", "teo-1")
    before = (telling.folder / "teo-1-round.zip").read_bytes()
    assert "there is a file of that name" in telling.refuse("packet", "round", "teo-1")
    assert (telling.folder / "teo-1-round.zip").read_bytes() == before
    telling.refuse("packet", "round", "teo-9", "--out", "nine.zip")
    assert not (telling.folder / "nine.zip").exists()


def test_a_mentors_book_takes_in_no_round(telling: Desk):
    telling.do("packet", "round", "teo-1")
    said = telling.refuse("packet", "take-in", "teo-1-round.zip")
    assert "evalkit book new FOLDER --trainee teo" in said


# --- a trainee's own book ---------------------------------------------------------------------------------------------

OWN = ("--book", "own")


def marked(back: Desk, tips: int = 1) -> None:
    text = back.do("marking", "sheet", "teo-1").out
    text = text.replace("- Tips: ?", f"- Tips: {tips}", 1).replace("- Keep: ?", "- Keep: the finish", 1)
    back.write("marking.md", text)
    back.do("marking", "take-in", "marking.md", *(("--reason", "looked again") if tips != 1 else ()))


@pytest.mark.parametrize("with_round", [True, False])
def test_a_trainee_keeps_a_book_of_the_packets(back: Desk, with_round: bool):
    back.do("pair", "change", "S-101", "--difficulty", "4", "--fault", "nick:3:thumb:tip")
    back.do("packet", "round", "teo-1")
    marked(back)
    said = back.do("packet", "report", "teo-1").out
    assert said.startswith("Wrote teo-1-report.zip: the report, both views, 0 photos.\nSeal code: ")
    made = back.do("book", "new", "own", "--trainee", "teo", "--name", "Teo").out
    assert "Next: evalkit packet take-in FILE" in made
    if with_round:
        told = back.do(*OWN, "packet", "take-in", "teo-1-round.zip").out
        assert told.startswith("Took in round teo-1 by Oda Ferrin: 2 pairs.\n")
        assert back.do(*OWN, "round", "show", "teo-1", "--json").json["pairs"][0]["pair"]["difficulty"] == 2
        back.do(*OWN, "packet", "take-in", "teo-1-round.zip")
    told = back.do(*OWN, "packet", "take-in", "teo-1-report.zip").out
    assert told.startswith("Took in the report of teo-1, marking version 1: 2 pairs, 1 reading, 0 photos.\n")
    assert "evalkit progress teo" in told
    theirs = back.do(*OWN, "report", "teo-1", "--json").json
    hers = back.do("report", "teo-1", "--json").json
    assert theirs == hers
    pair = back.do(*OWN, "round", "show", "teo-1", "--json").json["pairs"][0]["pair"]
    assert (pair["difficulty"], [fault["tag"] for fault in pair["faults"]], pair["declared_value"]) == (
        4,
        ["nick"],
        None,
    )
    back.do(*OWN, "book", "check")
    back.do(*OWN, "report", "teo-1", "--format", "html,md")
    acts = back.do(*OWN, "book", "history", "--json").json["acts"]
    assert {act["who"] for act in acts} == {"teo"}
    again = back.do(*OWN, "packet", "take-in", "teo-1-report.zip").out
    assert again == "teo-1: this very packet was taken in already; nothing changed.\n"


def test_the_trainees_own_progress_is_the_mentors(back: Desk):
    marked(back)
    back.do("packet", "report", "teo-1")
    back.do("book", "new", "own", "--trainee", "teo", "--name", "Teo Marsk")
    back.do(*OWN, "packet", "take-in", "teo-1-report.zip")
    assert back.do(*OWN, "progress", "teo", "--json").json == back.do("progress", "teo", "--json").json


def test_an_amended_report_is_a_further_version_in_the_own_book(back: Desk):
    marked(back)
    back.do("packet", "report", "teo-1", "--out", "first.zip")
    marked(back, tips=2)
    back.do("packet", "report", "teo-1", "--out", "second.zip")
    back.do("book", "new", "own", "--trainee", "teo")
    back.do(*OWN, "packet", "take-in", "first.zip")
    assert "marking version 2" in back.do(*OWN, "packet", "take-in", "second.zip").out
    back.do(*OWN, "book", "check")
    late = back.run(*OWN, "packet", "take-in", "first.zip")
    assert late.code == 0
    assert "was taken in already" in late.out
    back.do("book", "new", "other", "--trainee", "teo")
    back.do("--book", "other", "packet", "take-in", "second.zip")
    answer = back.run("--book", "other", "packet", "take-in", "first.zip")
    assert answer.code == 2
    assert "holds version 1 of the report; version 2 was taken in already" in answer.err


def test_the_own_report_says_that_assessment_and_marking_were_amended(back: Desk):
    sheet = (back.folder / "teo-1.md").read_text(encoding="utf-8")
    back.write("again.md", sheet.replace("- Minutes: 70", "- Minutes: 75", 1))
    back.do("assessment", "take-in", "again.md", "--reason", "I had the minutes wrong")
    marked(back)
    marked(back, tips=2)
    back.do("packet", "report", "teo-1", "--out", "second.zip")
    back.do("book", "new", "own", "--trainee", "teo")
    back.do(*OWN, "packet", "take-in", "second.zip")
    back.do("report", "teo-1", "--format", "md", "--out", "hers")
    back.do(*OWN, "report", "teo-1", "--format", "md", "--out", "own")
    own, hers = ((back.folder / name / "teo-1.md").read_text(encoding="utf-8") for name in ("own", "hers"))
    said = [line for line in hers.splitlines() if " is version 2, amended: " in line]
    assert said[0] == "The assessment is version 2, amended: I had the minutes wrong"
    assert len(said) == 2
    assert [line for line in own.splitlines() if " is version 2, amended: " in line] == said
    assert "sound" in back.do(*OWN, "book", "check").out


def test_the_photos_of_both_come_with_the_report(out: Desk, packet: Path, make_picture):
    out.do("packet", "take-in", packet)
    out.do("round", "returned", "teo-1", "--on", "2026-04-20")
    out.do("round", "check-in", "teo-1", "--on", "2026-04-27")
    make_picture(out.folder / "mine.jpg")
    text = out.do("marking", "sheet", "teo-1").out
    text = text.replace("### Photos\n", "### Photos\n\n- ![the finger tip](mine.jpg)\n", 1)
    out.write("marking.md", text.replace("- Tips: ?", "- Tips: 1", 1))
    out.do("marking", "take-in", "marking.md")
    assert "both views, 3 photos." in out.do("packet", "report", "teo-1").out
    assert out.do("packet", "check", "teo-1-report.zip", "--json").json["photos"] == 3
    with zipfile.ZipFile(out.folder / "teo-1-report.zip") as archive:
        page = archive.read("teo-1-report/data/report.html").decode()
        data = json.loads(archive.read("teo-1-report/data/report.json"))
    assert page.count('<img src="data:image/jpeg;base64,') == 3
    assert data["report"]["round"] == "teo-1"
    assert all(pair["causes"] == [] for pair in data["report"]["pairs"]), "causes are for the mentor's eyes"
    out.do("book", "new", "own", "--trainee", "teo")
    assert "3 photos" in out.do(*OWN, "packet", "take-in", "teo-1-report.zip").out
    out.do(*OWN, "book", "check")
    out.do(*OWN, "report", "teo-1", "--out", "theirs")
    page = (out.folder / "theirs" / "teo-1.html").read_text(encoding="utf-8")
    assert page.count('<img src="data:image/jpeg;base64,') == 3
    assert "the finger tip" in page


def test_the_trainee_takes_in_the_own_assessment_too(out: Desk, packet: Path):
    out.do("packet", "round", "teo-1")
    out.do("packet", "take-in", packet)
    out.do("round", "returned", "teo-1", "--on", "2026-04-20")
    out.do("round", "check-in", "teo-1", "--on", "2026-04-27")
    marked(out)
    out.do("packet", "report", "teo-1")
    out.do("book", "new", "own", "--trainee", "teo")
    out.do(*OWN, "packet", "take-in", "teo-1-round.zip")
    assert "Sealed teo-1, version 1" in out.do(*OWN, "packet", "take-in", packet).out
    out.do(*OWN, "packet", "take-in", "teo-1-report.zip")
    assert out.do(*OWN, "assessment", "show", "teo-1", "--json").json["version"] == 1, "it is the one that was sealed"
    out.do(*OWN, "book", "check")


def test_a_report_packet_needs_a_marking_and_is_recorded_as_read(back: Desk):
    assert "no finished marking" in back.refuse("packet", "report", "teo-1")
    assert not (back.folder / "teo-1-report.zip").exists()
    marked(back)
    with back.opened() as book:
        assert not book.was_opened("teo-1", 1)
    back.do("packet", "report", "teo-1")
    with back.opened() as book:
        assert book.was_opened("teo-1", 1, "oda")


def test_a_book_is_for_one_and_another_trainees_packet_is_refused(back: Desk):
    back.do("packet", "round", "teo-1")
    assert "not by both" in back.refuse("book", "new", "x", "--trainee", "teo", "--mentor", "oda")
    back.do("book", "new", "lins", "--trainee", "lin", "--name", "Lin Aubrel")
    answer = back.run("--book", "lins", "packet", "take-in", "teo-1-round.zip")
    assert answer.code == 2
    assert "the round is Teo Marsk's ('teo'), and this book is kept by Lin Aubrel (lin)" in answer.err
    assert "--trainee teo" in answer.err


def test_the_next_box_says_what_the_last_report_said_to_practise(back: Desk):
    text = back.do("marking", "sheet", "teo-1").out
    back.write("marking.md", text.replace("- Tips: ?", "- Tips: 1", 1))
    back.do("marking", "take-in", "marking.md")
    back.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101", "--on", "2026-05-01")
    back.do("packet", "round", "teo-2")
    with open_packet(back.folder / "teo-2-round.zip") as packet:
        practise = packet.document("practise.json")["practise"]
        page = packet.read("bench-book.html").decode()
    report = back.do("report", "teo-1", "--json").json
    assert [one["criterion"] for one in report["priorities"]] == ["tips"]
    assert len(practise) == 1
    assert practise[0].startswith("Tips: What is asked for: ")
    assert practise[0].partition(": ")[2] in page
    back.do("packet", "round", "teo-1")
    with open_packet(back.folder / "teo-1-round.zip") as packet:
        assert packet.document("practise.json")["practise"] == [], "a first box comes after no report"

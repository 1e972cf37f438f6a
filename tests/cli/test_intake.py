"""Readings before posting by command: kept until the trainee has the box, told in the report, shown nowhere before."""

from __future__ import annotations

import json
import zipfile

import pytest
from jsonschema import Draft202012Validator

from evalkit.files.places import templates_dir
from tests.cli.conftest import AFTER, filled_assessment
from tests.cli.desk import MINI, Desk, fill

SEEN = (
    ("- Read on: ?", "- Read on: 2026-04-01"),
    ("- Ride line (mm):\n  - thumb: heel ?, middle ?, tip ?\n  - finger: heel ?, middle ?, tip ?",
     "- Ride line (mm):\n  - thumb: all level 1\n  - finger: all level 1"),
    ("- Tips: ?", "- Tips: 0 (zwickel)"),
    ("- Hair swatch: heel ?, middle ?, tip ?", "- Hair swatch: all clean"),
    ("- Cleanliness: ?", "- Cleanliness: 1"),
    ("### Photos\n", "### Photos\n\n- ![laid out](box.jpg)\n"),
    ("### Notes\n", "### Notes\n\nQuondam drawer.\n"),
)  # fmt: skip
SECRETS = ("zwickel", "Quondam")


@pytest.fixture
def planned(stocked: Desk, make_picture) -> Desk:
    stocked.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101,S-102", "--on", "2026-04-01")
    stocked.do("intake", "sheet", "teo-1", "--out", "intake.md")
    make_picture(stocked.folder / "box.jpg")
    blank = (stocked.folder / "intake.md").read_text(encoding="utf-8")
    stocked.write("filled.md", fill(blank, *SEEN))
    return stocked


def go_on(desk: Desk, *received: str) -> None:
    """There, assessed, back and marked."""
    desk.do("round", "sheet", "teo-1", "--out", "blank.md")
    desk.do("round", "send", "teo-1", "--on", "2026-04-02")
    desk.do("round", "received", "teo-1", "--on", "2026-04-06", *received)
    blank = (desk.folder / "blank.md").read_text(encoding="utf-8")
    desk.write("teo-1.md", filled_assessment(blank))
    desk.do("assessment", "take-in", "teo-1.md")
    desk.do("round", "returned", "teo-1", "--on", "2026-04-20")
    desk.do("round", "check-in", "teo-1", "--on", "2026-04-27")
    desk.do("marking", "sheet", "teo-1", "--out", "mark.md")
    first, second = (desk.folder / "mark.md").read_text(encoding="utf-8").split("## Pair 2")
    desk.write("marked.md", fill(first, *AFTER[:4]) + "## Pair 2" + second)
    desk.do("marking", "take-in", "marked.md")


def test_from_the_sheet_to_the_report(planned: Desk):
    out = planned.do("intake", "take-in", "filled.md").out
    assert "Kept for teo-1, version 1: 2 pairs, 11 readings." in out
    assert "Next: evalkit round send teo-1" in out
    assert "nothing changed" in planned.do("intake", "take-in", "filled.md").out
    go_on(planned)
    planned.do("report", "teo-1", "--format", "html,md,json", "--out", "rep")
    text = (planned.folder / "rep" / "teo-1.md").read_text(encoding="utf-8")
    first_page = text.partition("## To be proud of")[0]
    assert (
        "Before it went, Oda Ferrin saw 3 faults in the box; as received, Teo Marsk found 2 and did not look for 1. "
        "Thought faulty though clean: 1 of 1 criterion." in first_page
    )
    assert "Ride line (found), Tips (found) and Cleanliness (not looked for)" in text
    assert "by Oda Ferrin's own eyes both times" in text
    assert "Oda Ferrin before posting: 0, found" in text
    page = (planned.folder / "rep" / "teo-1.html").read_text(encoding="utf-8")
    assert "Before it went, Oda Ferrin saw 3 faults" in page
    for words in SECRETS:
        assert words not in page + text, "notes and remarks of the intake stay with the mentor"
    report = json.loads((planned.folder / "rep" / "teo-1.json").read_text(encoding="utf-8"))
    Draft202012Validator(json.loads((templates_dir() / "report.schema.json").read_text())).validate(report)
    assert (report["has_intake"], report["found_not_looked"]) == (True, 1)
    assert (report["found"]["n"], report["found"]["of"]) == (2, 3)
    assert report["pairs"][0]["found"]["tips"] == "caught"
    assert (report["pairs"][0]["is_change_by_mentor"], report["pairs"][1]["posted"]) == (True, None)
    assert planned.do("book", "check").out.startswith("The book is sound")


def test_it_is_part_of_judgement_over_the_months(planned: Desk):
    planned.do("intake", "take-in", "filled.md")
    go_on(planned)
    (round_,) = planned.do("progress", "teo", "--json").json["rounds"]
    assert (round_["found"]["n"], round_["found"]["of"], round_["n_found_not_looked"]) == (2, 3, 1)
    assert round_["found"]["low"] < 2 / 3 < round_["found"]["high"]
    planned.do("progress", "teo", "--format", "md", "--out", "rep")
    text = (planned.folder / "rep" / "teo-progress.md").read_text(encoding="utf-8")
    assert "Found as received" in text
    assert "2 of 3 (67 %; 20 to 94 %)" in text


def test_amended_with_a_reason_until_the_trainee_has_the_box(planned: Desk):
    planned.do("intake", "take-in", "filled.md")
    planned.write("other.md", (planned.folder / "filled.md").read_text(encoding="utf-8").replace("Tips: 0", "Tips: 1"))
    assert "give a reason" in planned.refuse("intake", "take-in", "other.md")
    planned.do("round", "send", "teo-1", "--on", "2026-04-02")
    assert "version 2" in planned.do("intake", "take-in", "other.md", "--reason", "looked twice").out
    assert "Tips: 1 (zwickel)" in planned.do("intake", "sheet", "teo-1").out
    planned.do("round", "received", "teo-1", "--on", "2026-04-06")
    assert "would not be blind" in planned.refuse("intake", "take-in", "filled.md", "--reason", "late")
    assert "would not be blind" in planned.refuse("intake", "sheet", "teo-1")


def test_nothing_of_it_reaches_the_trainee_before_the_report(planned: Desk):
    planned.do("intake", "take-in", "filled.md")
    planned.do("round", "sheet", "teo-1", "--out", "blank.md")
    planned.do("round", "bench-book", "teo-1", "--out", "bench.html")
    planned.do("packet", "round", "teo-1", "--out", "round.zip")
    planned.do("round", "papers", "teo-1", "--format", "md", "--out", "papers")
    told = (planned.folder / "blank.md").read_text(encoding="utf-8")
    told += (planned.folder / "bench.html").read_text(encoding="utf-8")
    told += planned.do("round", "show", "teo-1").out + planned.do("round", "show", "teo-1", "--json").out
    for path in (planned.folder / "papers").rglob("*.md"):
        told += path.read_text(encoding="utf-8")
    with zipfile.ZipFile(planned.folder / "round.zip") as packet:
        told += "".join(packet.read(name).decode("utf-8", "replace") for name in packet.namelist())
        assert not any("intake" in name for name in packet.namelist())
    for words in (*SECRETS, "2026-04-01: intake"):
        assert words not in told


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("- Tips: 0", "- Tips: 9", "9"),
        ("box.jpg", "gone.jpg", "photo 'gone.jpg' cannot be read"),
        ("2026-04-01\n", "2026-09-01\n", "2026-09-01"),
        ("sheet: intake", "sheet: marking", "for an intake"),
        ("round: teo-1", "round: teo-9", "no round 'teo-9'"),
    ],
)
def test_a_fault_keeps_nothing(planned: Desk, old: str, new: str, words: str):
    text = (planned.folder / "filled.md").read_text(encoding="utf-8")
    assert old in text
    planned.write("bad.md", text.replace(old, new, 1))
    assert words in planned.refuse("intake", "take-in", "bad.md")


def test_an_empty_sheet_and_another_kind_are_refused(planned: Desk):
    assert "nothing is filled in" in planned.refuse("intake", "take-in", "intake.md")
    planned.do("round", "sheet", "teo-1", "--out", "blank.md")
    assert "a sheet for an assessment, not for an intake" in planned.refuse("intake", "take-in", "blank.md")
    assert "a sheet for an intake, not for an assessment" in planned.refuse("assessment", "take-in", "filled.md")


def test_what_the_way_out_spoiled_is_left_out_of_it(planned: Desk):
    planned.do("intake", "take-in", "filled.md")
    go_on(planned, "--damaged", "1: tip chipped")
    planned.do("report", "teo-1", "--format", "md", "--out", "rep")
    text = (planned.folder / "rep" / "teo-1.md").read_text(encoding="utf-8")
    assert "Left out of this, spoiled or missing on the way out: pair 1." in text
    assert "what Oda Ferrin saw before posting is not held against anybody" in text
    assert "before posting: 0" not in text


def test_handed_out_with_the_rest_and_gone_when_erased(planned: Desk):
    planned.do("intake", "take-in", "filled.md")
    go_on(planned)
    planned.do("trainee", "export", "teo", "--out", "teo.zip")
    with zipfile.ZipFile(planned.folder / "teo.zip") as box:
        data = json.loads(box.read("data.json"))
        (intake,) = data["rounds"][0]["intakes"]
        photo = intake["intake"]["pairs"][0]["photos"][0]["file"]
        assert f"photos/{photo}.jpg" in box.namelist()
    planned.do("trainee", "erase", "teo", "--yes")
    assert planned.do("book", "check").out.startswith("The book is sound")
    found = b"".join(path.read_bytes() for path in planned.book.rglob("*") if path.is_file())
    assert [words for words in (*SECRETS, photo) if words.encode() in found] == []


def test_the_picture_lies_beside_the_book(planned: Desk):
    planned.do("intake", "take-in", "filled.md")
    assert len(list((planned.book / "photos").rglob("*.jpg"))) == 1

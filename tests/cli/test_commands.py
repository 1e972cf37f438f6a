"""What each command does when all is well, and its answer for other programs."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from evalkit.files.places import templates_dir
from tests.cli.desk import MINI, Desk

ACT_ONLY = {"seq", "at", "who", "act", "subject", "digest", "before", "after"}


def test_a_book_is_made_where_it_is_asked_for(empty_desk: Desk):
    assert empty_desk.do("book", "new", "--mentor", "oda", "--name", "Oda Ferrin").out == (
        "Made a book in evalkit-book for Oda Ferrin.\n"
    )
    out = empty_desk.do("book", "new", "other").out
    assert "Say --book other before each command, or set EVALKIT_BOOK=other." in out
    assert "Made a book in other for Mentor." in out
    assert empty_desk.do("--book", "other", "trainee", "list", "--json").json["trainees"] == []


def test_the_book_is_found_by_option_before_environment(empty_desk: Desk, monkeypatch: pytest.MonkeyPatch):
    empty_desk.do("book", "new", "one")
    empty_desk.do("book", "new", "two")
    monkeypatch.setenv("EVALKIT_BOOK", "one")
    empty_desk.do("trainee", "add", "teo", "Teo")
    assert empty_desk.do("trainee", "list", "--json").json["trainees"][0]["key"] == "teo"
    assert empty_desk.do("--book", "two", "trainee", "list", "--json").json["trainees"] == []


def test_check_says_the_book_is_sound(back: Desk):
    assert back.do("book", "check").out.startswith("The book is sound")
    assert back.do("book", "check", "--json").json == {"format": 1, "is_sound": True, "faults": []}


def test_check_tells_a_missing_photo_and_a_changed_one(out: Desk, make_picture):
    with_photo(out, make_picture)
    (photo,) = (out.book / "photos").rglob("*.jpg")
    photo.write_bytes(photo.read_bytes() + b"x")
    answer = out.run("book", "check", "--json")
    assert answer.code == 3
    assert answer.json["is_sound"] is False
    assert "is not what was kept" in answer.json["faults"][0]
    photo.unlink()
    answer = out.run("book", "check")
    assert answer.code == 3
    assert "is missing" in answer.err
    assert "Put back your last good copy" in answer.err


def with_photo(out: Desk, make_picture) -> None:
    make_picture(out.folder / "tip.jpg")
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    out.write("teo-1.md", sheet.replace("### Photos\n", "### Photos\n\n- ![the tip](tip.jpg)\n", 1))
    assert "1 photo." in out.do("assessment", "take-in", "teo-1.md").out


def test_a_photo_lies_in_the_book_and_in_the_report(out: Desk, make_picture):
    with_photo(out, make_picture)
    out.do("report", "teo-1")
    page = (out.folder / "reports" / "teo-1.html").read_text(encoding="utf-8")
    assert page.count('<img src="data:image/jpeg;base64,') == 1
    assert 'alt="the tip"' in page


def test_the_history_tells_who_did_what(back: Desk):
    acts = back.do("book", "history", "--json").json["acts"]
    assert [act["act"] for act in acts][:4] == ["add mentor", "add trainee", "add pair", "add pair"]
    assert {act["who"] for act in acts} == {"oda"}
    assert set(acts[0]) == ACT_ONLY
    only = back.do("book", "history", "teo-1", "--json").json["acts"]
    assert [act["act"] for act in only][-1] == "write down 'received back'"
    assert "seal assessment" in back.do("book", "history", "teo-1").out


def test_who_acts_can_be_named(stocked: Desk):
    stocked.do("--as", "teo", "pair", "add", "S-9", "--edge", "sword", "--size", "6")
    assert stocked.do("book", "history", "--json").json["acts"][-1]["who"] == "teo"


def test_trainees_are_listed_with_their_boxes(back: Desk):
    assert back.do("trainee", "list", "--json").json["trainees"] == [
        {"key": "teo", "name": "Teo Marsk", "rounds": ["teo-1"]}
    ]
    assert "teo-1, back with the mentor" in back.do("trainee", "list").out


def test_a_pair_is_added_with_all_that_is_known(stocked: Desk):
    stocked.do(
        "pair", "add", "S-7", "--edge", "toothed", "--size", "6.25", "--teeth", "30", "--hand", "left",
        "--fault", "nick",
        "--fault", "burr:3:thumb:tip", "--value", "40", "--currency", "EUR", "--blade-length", "66.5", "--make", "cast",
    )  # fmt: skip
    pair = next(one for one in stocked.do("pair", "list", "--json").json["pairs"] if one["tag"] == "S-7")
    assert (pair["size_in"], pair["teeth"], pair["hand"], pair["make"]) == ("6.25", 30, "left", "cast")
    assert [(fault["tag"], fault["severity"], fault["blade"], fault["station"]) for fault in pair["faults"]] == [
        ("nick", 2, None, None), ("burr", 3, "thumb", "tip"),
    ]  # fmt: skip
    assert "nick, burr" in stocked.do("pair", "list").out


def test_rubrics_are_listed_checked_and_shown(stocked: Desk):
    listed = stocked.do("rubric", "list", "--json").json["rubrics"]
    assert {"shears", "first-rounds", "toothed"} <= {one["key"] for one in listed}
    assert stocked.do("rubric", "check", MINI).out == f"{MINI}: sound; 'Mini rubric', 4 criteria.\n"
    shown = stocked.do("rubric", "show", MINI, "--edge", "convex").out
    assert "Hair swatch [hair]  weight 20, must-pass 2" in shown
    assert "  3  no push" in shown
    answer = stocked.do("rubric", "show", MINI, "--json").json
    assert (answer["format"], answer["key"], len(answer["criteria"])) == (1, "mini", 4)


def test_own_rubrics_come_first(stocked: Desk, monkeypatch: pytest.MonkeyPatch):
    own = stocked.folder / "own"
    own.mkdir()
    (own / "mini.toml").write_text(MINI.read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.setenv("EVALKIT_RUBRICS", str(own))
    assert stocked.do("rubric", "list", "--json").json["rubrics"][0]["key"] == "mini"
    stocked.do("rubric", "show", "mini")
    stocked.do("round", "plan", "teo", "--rubric", "mini", "--pairs", "S-101")


def test_the_schemas_are_written(stocked: Desk):
    written = stocked.do("rubric", "schema", stocked.folder / "schema").out.split()
    assert len(written) == 2
    for path in written:
        Draft202012Validator.check_schema(json.loads(Path(path).read_text(encoding="utf-8")))


def test_a_box_is_planned_and_followed(stocked: Desk):
    stocked.do(
        "round", "plan", "teo", "--rubric", MINI, "--pairs", "S-102, S-101", "--called-for", "1=leave,2='adjust only'",
        "--on", "2026-04-01",
    )  # fmt: skip
    shown = stocked.do("round", "show", "teo-1", "--json").json
    assert [(one["number"], one["pair"]["tag"], one["called_for"]) for one in shown["pairs"]] == [
        (1, "S-102", "leave"), (2, "S-101", "adjust only"),
    ]  # fmt: skip
    out = stocked.do("round", "send", "teo-1", "--on", "2026-04-02", "--ref", "parcel 12").out
    assert "teo-1: sent on 2026-04-02; the box is on its way out." in out
    assert "guard the tips" in out
    stocked.do("round", "received", "teo-1", "--on", "2026-04-05", "--condition", "dry")
    stocked.do("round", "returned", "teo-1")
    stocked.do("round", "check-in", "teo-1")
    said = stocked.do("round", "show", "teo-1").out
    assert "Sent on 2026-04-02 (parcel 12)" in said
    assert "Received on 2026-04-05: dry" in said
    rounds = stocked.do("round", "list", "--json").json["rounds"]
    assert rounds == [
        {"key": "teo-1", "trainee": "teo", "state": "back with the mentor", "pairs": 2, "is_assessed": False,
         "is_marked": False}
    ]  # fmt: skip
    assert stocked.do("round", "list", "--trainee", "teo", "--json").json["rounds"] == rounds


def test_rounds_are_numbered_on(back: Desk):
    back.do("pair", "add", "S-103", "--edge", "convex", "--size", "6")
    assert "Planned teo-2: 2 pairs" in back.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-103,S-101").out
    out = back.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-102", "--key", "summer").out
    assert out.startswith("Planned summer: 1 pair for Teo Marsk, by mini.")


def test_a_lost_box_is_lost(out: Desk):
    out.do("round", "returned", "teo-1")
    out.do("round", "lost", "teo-1", "--condition", "not seen again")
    assert out.do("round", "list", "--json").json["rounds"][0]["state"] == "lost"


def test_a_sheet_goes_to_a_file_or_to_stdout_the_same(out: Desk):
    out.do("round", "sheet", "teo-1", "--out", "again.md")
    assert (out.folder / "again.md").read_text(encoding="utf-8") == out.do("round", "sheet", "teo-1").out
    assert (out.folder / "again.md").read_bytes() == (out.folder / "blank.md").read_bytes()


def test_an_assessment_is_sealed_and_shown(out: Desk):
    said = out.do("assessment", "take-in", "teo-1.md").out
    assert "Sealed teo-1, version 1: 2 pairs, " in said
    assert "Mark the box before you read it." in said
    answer = out.do("assessment", "show", "teo-1", "--json").json
    assert answer["version"] == 1
    code = "-".join(answer["seal"][at : at + 3] for at in range(0, 12, 3))
    assert f"Seal code: {code}" in said
    assert answer["pairs"][0]["verdict"] == "accepted"
    assert out.do("assessment", "show", "teo-1").out == out.do("assessment", "show", "teo-1", "--version", "1").out


def test_a_sheet_shown_can_be_taken_in_again_unchanged(out: Desk):
    out.do("assessment", "take-in", "teo-1.md")
    out.write("shown.md", out.do("assessment", "show", "teo-1").out)
    before = out.state()
    assert (
        "this very assessment is sealed already (version 1); nothing changed."
        in out.do("assessment", "take-in", "shown.md").out
    )
    assert out.state() == before


def test_an_amendment_is_a_new_version_and_the_report_says_so(out: Desk):
    out.do("assessment", "take-in", "teo-1.md")
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    out.write("teo-1.md", sheet.replace("- Minutes: 70", "- Minutes: 75"))
    assert "version 2" in out.do("assessment", "take-in", "teo-1.md", "--reason", "minutes mistaken").out
    assert out.do("assessment", "show", "teo-1", "--version", "1", "--json").json["pairs"][0]["work"]["minutes"] == 70
    assert out.do("assessment", "show", "teo-1", "--json").json["pairs"][0]["work"]["minutes"] == 75
    out.do("report", "teo-1", "--format", "md")
    report = (out.folder / "reports" / "teo-1.md").read_text(encoding="utf-8")
    assert "The assessment is version 2, amended: minutes mistaken" in report


def test_a_transcribed_assessment_is_told_as_such(out: Desk):
    out.do("assessment", "take-in", "teo-1.md", "--transcribed")
    assert out.do("assessment", "show", "teo-1", "--json").json["is_transcribed"] is True


def test_a_marking_by_sheet(back: Desk):
    sheet = back.do("marking", "sheet", "teo-1", "--out", "marking.md")
    assert sheet.out == "Wrote marking.md.\n"
    text = (back.folder / "marking.md").read_text(encoding="utf-8")
    assert "How even" not in text
    assert "How even is even enough?" in back.do("marking", "sheet", "teo-1", "--with-questions").out
    back.write("marking.md", text.replace("- Tips: ?", "- Tips: 1", 1).replace("- Keep: ?", "- Keep: the finish", 1))
    assert back.do("marking", "take-in", "marking.md").out == (
        "Marked teo-1, version 1: 2 pairs, 1 reading.\nNext: evalkit report teo-1\n"
    )
    assert "this very marking is kept already" in back.do("marking", "take-in", "marking.md").out
    report = back.do("report", "teo-1", "--json").json
    assert (report["is_marked"], report["is_blind"], report["would_have_gone_out"]) == (True, True, [1])
    assert back.do("marking", "sheet", "teo-1").out.count("- Tips: 1") == 1


def test_a_marking_by_sheet_can_be_amended_and_is_then_not_blind(back: Desk):
    text = back.do("marking", "sheet", "teo-1").out
    back.write("marking.md", text.replace("- Tips: ?", "- Tips: 1", 1))
    back.do("marking", "take-in", "marking.md")
    assert back.do("report", "teo-1", "--json").json["is_blind"] is True
    back.write("marking.md", text.replace("- Tips: ?", "- Tips: 2", 1))
    out = back.do("marking", "take-in", "marking.md", "--reason", "looked again").out
    assert out.startswith("Marked teo-1, version 2")
    report = back.do("report", "teo-1", "--json").json
    assert report["is_blind"] is False, "the report had been read"
    assert [pair["was_opened"] for pair in report["pairs"]] == [True, False], "pair 2 stands as it stood"


@pytest.mark.parametrize("way", [("assessment", "show", "teo-1"), ("report", "teo-1"), ("report", "teo-1", "--json")])
def test_whoever_is_shown_the_assessment_does_not_mark_blind(way: tuple[str, ...], back: Desk):
    back.do(*way)
    text = back.do("marking", "sheet", "teo-1").out
    back.write("marking.md", text.replace("- Tips: ?", "- Tips: 1", 1))
    back.do("marking", "take-in", "marking.md")
    assert back.do("report", "teo-1", "--json").json["is_blind"] is False


def test_the_photos_of_a_marking_are_kept_too(back: Desk, make_picture):
    make_picture(back.folder / "mine.jpg")
    text = back.do("marking", "sheet", "teo-1").out
    back.write("marking.md", text.replace("### Photos\n", "### Photos\n\n- ![the finger tip](mine.jpg)\n", 1))
    back.do("marking", "take-in", "marking.md")
    back.do("report", "teo-1")
    page = (back.folder / "reports" / "teo-1.html").read_text(encoding="utf-8")
    assert "the finger tip" in page
    assert "(Oda Ferrin)" in page
    back.do("book", "check")


def test_a_draft_is_put_away(back: Desk):
    back.answers("0.4 mm", "all 0.4", "3", "all clean", "3", "", "", "", "")
    back.do("mark", "teo-1")
    assert back.do("marking", "put-away", "teo-1").out == "teo-1: what was being worked on is put away.\n"
    assert "is not marking this round" in back.refuse("marking", "put-away", "teo-1")


def test_reports_in_every_quick_format(back: Desk):
    assert back.do("report", "teo-1", "--format", "html,md,json", "--out", "out").out.split() == [
        "out/teo-1.html", "out/teo-1.md", "out/teo-1.json",
    ]  # fmt: skip
    schema = json.loads((templates_dir() / "report.schema.json").read_text(encoding="utf-8"))
    written = json.loads((back.folder / "out" / "teo-1.json").read_text(encoding="utf-8"))
    Draft202012Validator(schema).validate(written)
    assert written == back.do("report", "teo-1", "--json").json
    assert written["made_on"] == "2026-05-01"


def test_the_paper_is_chosen_by_option_or_setting(back: Desk, monkeypatch: pytest.MonkeyPatch):
    back.do("report", "teo-1", "--paper", "Letter")
    assert "size: Letter" in (back.folder / "reports" / "teo-1.html").read_text(encoding="utf-8")
    monkeypatch.setenv("EVALKIT_PAPER", "Letter")
    back.do("report", "teo-1", "--out", "b")
    assert "size: Letter" in (back.folder / "b" / "teo-1.html").read_text(encoding="utf-8")
    back.do("report", "teo-1", "--paper", "A4", "--out", "c")
    assert "size: A4" in (back.folder / "c" / "teo-1.html").read_text(encoding="utf-8")

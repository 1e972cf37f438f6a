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
    out.do("report", "teo-1", "--open-early")
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
        "--fault", "rust:3:thumb:tip", "--value", "40", "--currency", "EUR", "--blade-length", "66.5", "--make", "cast",
    )  # fmt: skip
    pair = next(one for one in stocked.do("pair", "list", "--json").json["pairs"] if one["tag"] == "S-7")
    assert (pair["size_in"], pair["teeth"], pair["hand"], pair["make"]) == ("6.25", 30, "left", "cast")
    assert [(fault["tag"], fault["severity"], fault["blade"], fault["station"]) for fault in pair["faults"]] == [
        ("nick", 2, None, None), ("rust", 3, "thumb", "tip"),
    ]  # fmt: skip
    assert "nick, rust" in stocked.do("pair", "list").out


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
        {"key": "teo-1", "trainee": "teo", "state": "back with the mentor", "pairs": 2, "days_overdue": None,
         "is_assessed": False, "is_marked": False, "is_begun": False}
    ]  # fmt: skip
    assert stocked.do("round", "list", "--trainee", "teo", "--json").json["rounds"] == rounds


def test_rounds_are_numbered_on(back: Desk):
    marked(back)
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
    answer = out.do("assessment", "show", "teo-1", "--open-early", "--json").json
    assert answer["version"] == 1
    code = "-".join(answer["seal"][at : at + 3] for at in range(0, 12, 3))
    assert f"Seal code: {code}" in said
    assert answer["pairs"][0]["verdict"] == "accepted"
    assert (
        out.do("assessment", "show", "teo-1", "--open-early").out
        == out.do("assessment", "show", "teo-1", "--open-early", "--version", "1").out
    )


def test_a_sheet_shown_can_be_taken_in_again_unchanged(out: Desk):
    out.do("assessment", "take-in", "teo-1.md")
    out.write("shown.md", out.do("assessment", "show", "teo-1", "--open-early").out)
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
    assert (
        out.do("assessment", "show", "teo-1", "--open-early", "--version", "1", "--json").json["pairs"][0]["work"][
            "minutes"
        ]
        == 70
    )
    assert out.do("assessment", "show", "teo-1", "--open-early", "--json").json["pairs"][0]["work"]["minutes"] == 75
    out.do("report", "teo-1", "--open-early", "--format", "md")
    report = (out.folder / "reports" / "teo-1.md").read_text(encoding="utf-8")
    assert "The assessment is version 2, amended: minutes mistaken" in report


def test_a_transcribed_assessment_is_told_as_such(out: Desk):
    out.do("assessment", "take-in", "teo-1.md", "--transcribed")
    assert out.do("assessment", "show", "teo-1", "--open-early", "--json").json["is_transcribed"] is True


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


@pytest.mark.parametrize(
    "way",
    [
        ("assessment", "show", "teo-1", "--open-early"),
        ("report", "teo-1", "--open-early"),
        ("report", "teo-1", "--open-early", "--json"),
    ],
)
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


def test_a_sheet_names_the_pictures_of_before_and_is_amended_without_them(back: Desk, make_picture):
    """They lie in the book, under the names that the sheet gives them."""
    make_picture(back.folder / "mine.jpg")
    text = back.do("marking", "sheet", "teo-1").out
    back.write("marking.md", text.replace("### Photos\n", "### Photos\n\n- ![the finger tip](mine.jpg)\n", 1))
    back.do("marking", "take-in", "marking.md")
    (back.folder / "mine.jpg").unlink()
    again = back.do("marking", "sheet", "teo-1").out
    assert "mine.jpg" not in again
    back.write("marking.md", again.replace("the finger tip", "the finger tip, dull"))
    assert "version 2" in back.do("marking", "take-in", "marking.md", "--reason", "clearer words").out
    back.do("report", "teo-1")
    page = (back.folder / "reports" / "teo-1.html").read_text(encoding="utf-8")
    assert "the finger tip, dull" in page
    back.do("book", "check")


def test_a_picture_that_only_looks_kept_is_asked_for(back: Desk):
    text = back.do("marking", "sheet", "teo-1").out
    name = "0" * 64
    back.write("marking.md", text.replace("### Photos\n", f"### Photos\n\n- ![the tip]({name})\n", 1))
    assert f"photo '{name}'" in back.refuse("marking", "take-in", "marking.md")


def test_a_draft_is_put_away(back: Desk):
    back.answers("0.4 mm", "all 0.4", "3", "all clean", "3", "", "", "", "")
    back.do("mark", "teo-1")
    assert back.do("marking", "put-away", "teo-1").out == "teo-1: what was being worked on is put away.\n"
    assert "is not marking this round" in back.refuse("marking", "put-away", "teo-1")


def test_reports_in_every_quick_format(back: Desk):
    assert back.do("report", "teo-1", "--open-early", "--format", "html,md,json", "--out", "out").out.split() == [
        "out/teo-1.html", "out/teo-1.md", "out/teo-1.json",
    ]  # fmt: skip
    schema = json.loads((templates_dir() / "report.schema.json").read_text(encoding="utf-8"))
    written = json.loads((back.folder / "out" / "teo-1.json").read_text(encoding="utf-8"))
    Draft202012Validator(schema).validate(written)
    assert written == back.do("report", "teo-1", "--open-early", "--json").json
    assert written["made_on"] == "2026-05-01"


def test_the_paper_is_chosen_by_option_or_setting(back: Desk, monkeypatch: pytest.MonkeyPatch):
    back.do("report", "teo-1", "--open-early", "--paper", "Letter")
    assert "size: Letter" in (back.folder / "reports" / "teo-1.html").read_text(encoding="utf-8")
    monkeypatch.setenv("EVALKIT_PAPER", "Letter")
    back.do("report", "teo-1", "--open-early", "--out", "b")
    assert "size: Letter" in (back.folder / "b" / "teo-1.html").read_text(encoding="utf-8")
    back.do("report", "teo-1", "--open-early", "--paper", "A4", "--out", "c")
    assert "size: A4" in (back.folder / "c" / "teo-1.html").read_text(encoding="utf-8")


def marked(back: Desk) -> None:
    """The round marked by sheet, with one reading."""
    text = back.do("marking", "sheet", "teo-1").out
    back.write("marking.md", text.replace("- Tips: ?", "- Tips: 2", 1))
    back.do("marking", "take-in", "marking.md")


def test_the_assessment_is_not_shown_before_the_round_is_marked(back: Desk):
    for words in (("report", "teo-1"), ("report", "teo-1", "--json"), ("assessment", "show", "teo-1"),
                  ("assessment", "show", "teo-1", "--json")):  # fmt: skip
        assert back.refuse(*words) == (
            "evalkit: round teo-1: the round is not marked yet. Mark it first: evalkit mark teo-1; "
            "--open-early reads the assessment before that, not blind.\n"
        )
    assert not (back.folder / "reports").exists()
    back.answers("all 0.4", ".")
    back.do("mark", "teo-1")
    assert "the marking is begun, not finished." in back.refuse("report", "teo-1")
    assert "begun" in back.do("round", "list").out
    assert back.do("round", "list", "--json").json["rounds"][0]["is_begun"] is True
    back.do("marking", "put-away", "teo-1")
    marked(back)
    back.do("report", "teo-1")
    back.do("assessment", "show", "teo-1")
    assert "finished" in back.do("round", "list").out


def test_a_lost_box_can_be_reported_on_since_nobody_will_mark_it(out: Desk):
    out.do("assessment", "take-in", "teo-1.md")
    out.do("round", "returned", "teo-1")
    out.do("round", "lost", "teo-1")
    out.do("report", "teo-1")


def test_who_marked_already_is_not_told_to_mark_first(back: Desk):
    marked(back)
    sheet = (back.folder / "teo-1.md").read_text(encoding="utf-8")
    back.write("teo-1.md", sheet.replace("- Minutes: 70", "- Minutes: 75"))
    out = back.do("assessment", "take-in", "teo-1.md", "--reason", "minutes mistaken").out
    assert "Seal code" in out
    assert "Mark the box before" not in out


def test_a_report_is_not_dated_before_what_it_tells(back: Desk):
    marked(back)
    assert "the box moved last on 2026-04-27" in back.refuse("report", "teo-1", today="2026-04-26")
    back.do("report", "teo-1", today="2026-04-27")


def test_a_pair_is_not_planned_while_its_work_is_not_marked(back: Desk):
    plan = ("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101")
    said = back.refuse(*plan)
    assert "S-101: the pair came back with round teo-1, which is not marked yet." in said
    marked(back)
    back.do(*plan)


def test_a_round_is_not_planned_in_the_future(stocked: Desk):
    said = stocked.refuse("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101", "--on", "2026-05-02")
    assert "2026-05-02 is still to come (today is 2026-05-01)" in said


def test_empty_lists_say_so(empty_desk: Desk):
    empty_desk.do("book", "new")
    for noun in ("trainee", "pair", "round"):
        assert empty_desk.do(noun, "list").out == "Nothing yet.\n"


def test_the_history_of_what_is_not_there_is_refused(stocked: Desk):
    said = stocked.refuse("book", "history", "nosuch")
    assert said == "evalkit: there is no round, pair or person 'nosuch'. See: evalkit book history.\n"
    assert stocked.run("book", "history", "nosuch").code == 2
    assert "Did you mean 'S-101'?" in stocked.refuse("book", "history", "S-1O1")
    stocked.write("stock.csv", "tag,edge_type,size_in\nS-1,convex,6\nS-2,bevel,5\n")
    stocked.do("pair", "import", "stock.csv")
    assert stocked.do("book", "history", "S-1").out == "Nothing yet.\n"


def test_rubric_check_answers_other_programs(stocked: Desk):
    answer = stocked.do("rubric", "check", MINI, "--json").json
    assert answer == {"format": 1, "is_sound": True, "sound": [str(MINI)], "faults": []}
    stocked.write("a.toml", "format = 1\nkey = 'UPPER'\n")
    failed = stocked.run("rubric", "check", MINI, "a.toml", "--json")
    assert failed.code == 2
    assert failed.json["is_sound"] is False
    assert failed.json["sound"] == [str(MINI)]
    assert {"path", "line", "what", "mend"} == set(failed.json["faults"][0])
    assert failed.json["faults"][0]["path"] == "a.toml"


def test_a_pair_is_corrected_also_in_rounds_that_are_back(back: Desk):
    marked(back)
    answer = back.run(
        "pair", "change", "S-101", "--blade-length", "66,5", "--difficulty", "4", "--handle", "offset",
        "--make", "forged", "--pivot", "flat screw", "--origin", "a drawer", "--value", "40,50", "--currency", "EUR",
        "--fault", "banana:2", "--fault", "nick:3:finger:tip",
    )  # fmt: skip
    assert (answer.code, "'banana' is not a fault" in answer.err) == (0, True)
    out = answer.out
    assert "Corrected S-101: blade length, difficulty" in out
    assert "Known faults: banana (plain), nick (grave, finger tip)." in out
    pair = back.do("round", "show", "teo-1", "--json").json["pairs"][0]["pair"]
    assert (pair["blade_length_mm"], pair["difficulty"], pair["handle"], pair["make"], pair["pivot"]) == (
        66.5, 4, "offset", "forged", "flat screw",
    )  # fmt: skip
    assert (pair["declared_value"], pair["currency"], pair["origin"]) == ("40.50", "EUR", "a drawer")
    assert [fault["tag"] for fault in pair["faults"]] == ["banana", "nick"]
    assert (pair["edge_type"], pair["size_in"]) == ("convex", "6.0")
    assert "correct pair" in back.do("book", "history", "S-101").out
    assert "nothing changed" in back.do("pair", "change", "S-101", "--difficulty", "4").out
    back.do("book", "check")


@pytest.mark.parametrize(
    ("words", "what"),
    [
        ((), "nothing was given to change."),
        (("--blade-length", "5"), "blade length: '5' is not possible; it must be more than 20"),
        (("--value", "40"), "a declared value needs its currency"),
        (("--value", "forty", "--currency", "EUR"), "value: 'forty' is no number. A sum with at most two decimals"),
        (
            ("--currency", "euro", "--value", "4"),
            "currency: 'euro' cannot stand here. Three capital letters, like EUR.",
        ),
        (
            ("--make", "forgd"),
            "make: 'forgd' is not known here. Did you mean 'forged'? It takes: forged, cast, unknown.",
        ),
        (("--fault", "Big Nick"), "fault 1, tag: 'Big Nick' cannot stand here. Small letters, digits and hyphens"),
    ],
)
def test_a_correction_that_cannot_be_is_refused(words: tuple[str, ...], what: str, stocked: Desk):
    said = stocked.refuse("pair", "change", "S-101", *words)
    assert said.startswith(f"evalkit: pair S-101: {what}")
    assert "there is no pair 'S-999'" in stocked.refuse("pair", "change", "S-999", "--difficulty", "3")


def test_known_faults_are_said_back(stocked: Desk):
    add = ("pair", "add", "S-9", "--edge", "convex", "--size", "5,5", "--fault", "banana:2")
    assert stocked.run(*add).out == "Added S-9: convex, 5.5 in.\nKnown faults: banana (plain).\n"


@pytest.mark.parametrize("words", ["20260309", "1 day", "tomorrow", "2026-02-30"])
def test_a_day_that_is_none_is_refused_with_an_example(words: str, stocked: Desk):
    answer = stocked.run("trainee", "list", today=words)
    assert answer.code == 2
    assert answer.err.endswith("Write the day like 2026-03-09.\n")


def test_a_rubric_is_shown_without_marks_of_markdown(empty_desk: Desk):
    for name in ("shears", "first-rounds", "toothed"):
        shown = empty_desk.do("rubric", "show", name).out
        assert not set("*`_") & set(shown)
    assert "Set and half-moon" in empty_desk.do("rubric", "show", "shears").out


def test_a_filled_sheet_is_not_written_over_by_a_report(back: Desk):
    before = (back.folder / "teo-1.md").read_text(encoding="utf-8")
    ask = ("report", "teo-1", "--open-early", "--format", "md")
    said = back.run(*ask, "--out", ".").err
    assert "teo-1.md: there is a file of that name that is not an earlier edition of this report." in said
    assert (back.folder / "teo-1.md").read_text(encoding="utf-8") == before
    assert back.do(*ask).out == "reports/teo-1.md\n"
    assert back.do(*ask).out == "reports/teo-1.md\n"
    assert back.do(*ask, today="2026-05-02").out == "reports/teo-1.md (replaced)\n"
    assert back.do(*ask, "--out", ".", "--over").out == "teo-1.md (replaced)\n"

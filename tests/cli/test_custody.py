"""The journey by command: what left and what came, boxes overdue, and boxes lost, there or back."""

from __future__ import annotations

import json

import pytest

from tests.cli.desk import MINI, Desk


@pytest.fixture
def planned(stocked: Desk) -> Desk:
    stocked.do("pair", "add", "S-103", "--edge", "bevel", "--size", "5.5")
    stocked.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101,S-102,S-103", "--on", "2026-04-01")
    return stocked


def test_what_left_and_what_came(planned: Desk):
    planned.do("round", "send", "teo-1", "--on", "2026-04-02", "--ref", "AB 1")
    out = planned.do(
        "round", "received", "teo-1", "--on", "2026-04-06", "--missing", "3", "--damaged", "2: tip chipped.",
        "--extra", "a comb", "--condition", "box wet",
    ).out  # fmt: skip
    assert "On the way out: 3 pairs set out, 2 came. Missing: pair 3. Damaged: pair 2." in out
    assert "held against nobody" in out
    planned.do("round", "returned", "teo-1", "--on", "2026-04-20")
    out = planned.do("round", "check-in", "teo-1", "--on", "2026-04-27", "--missing", "1,3", "--damaged", "2").out
    assert "On the way back: 2 pairs set out, 1 came. Missing: pair 1. Damaged: pair 2." in out
    said = planned.do("round", "show", "teo-1").out
    assert (
        "Received on 2026-04-06: Missing: pair 3. Damaged in transit: pair 2. Too much: a comb "
        "Pair 2: tip chipped. box wet" in said
    )
    assert "On the way out: 3 pairs set out, 2 came." in said
    assert "On the way back: 2 pairs set out, 1 came." in said
    shown = planned.do("round", "show", "teo-1", "--json").json
    assert shown["way_out"] == {"left": 3, "missing": [3], "damaged": [2]}
    assert shown["way_back"] == {"left": 2, "missing": [1], "damaged": [2]}
    with planned.opened() as book:
        draft = book.find_draft("teo-1", "oda")
    assert draft is not None
    assert {pair.number: pair.transit_note for pair in draft.pairs} == {1: "", 2: "damaged in transit", 3: ""}
    assert {reading.seen.why for pair in draft.pairs for reading in pair.readings} == {"could not"}  # type: ignore[union-attr]
    listed = {one["tag"]: one["place"] for one in planned.do("pair", "list", "--json").json["pairs"]}
    assert listed == {
        "S-101": "missing since teo-1 came back",
        "S-102": "back with teo-1, not marked yet",
        "S-103": "missing since teo-1 came back",
    }


def test_a_box_in_order_says_so(planned: Desk):
    planned.do("round", "send", "teo-1", "--on", "2026-04-02")
    assert planned.do("round", "show", "teo-1", "--json").json["way_out"] is None
    out = planned.do("round", "received", "teo-1", "--on", "2026-04-06", "--condition", "dry").out
    assert "On the way out: 3 pairs set out; nothing is written down as missing or damaged." in out
    assert "Received on 2026-04-06: dry\n" in planned.do("round", "show", "teo-1").out


def test_a_pair_missing_there_and_not_named_on_the_way_back_is_asked_after(planned: Desk):
    planned.do("round", "send", "teo-1", "--on", "2026-04-02")
    planned.do("round", "received", "teo-1", "--on", "2026-04-06", "--missing", "3")
    planned.do("round", "returned", "teo-1", "--on", "2026-04-20")
    out = planned.do("round", "check-in", "teo-1", "--on", "2026-04-27").out
    assert "Missing on the way out, and not written down as missing since: pair 3." in out


@pytest.mark.parametrize("command", ["received", "check-in"])
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--missing", "9"), "no pair 9"),
        (("--damaged", "9: chipped"), "no pair 9"),
        (("--missing", "three"), "'three' is no number of a pair"),
        (("--damaged", "tip chipped"), "'tip chipped' is no number of a pair"),
        (("--missing", "2", "--damaged", "2: chipped"), "pair 2 is named twice"),
        (("--missing", "2,2"), "pair 2 is named twice"),
        (("--damaged", "2: " + "x" * 3000), "too long"),
        (("--on", "2027-01-01"), "still to come"),
    ],
)
def test_what_cannot_be_is_refused_whole(planned: Desk, command: str, words: tuple[str, ...], said: str):
    planned.do("round", "send", "teo-1", "--on", "2026-04-02")
    if command == "check-in":
        planned.do("round", "received", "teo-1", "--on", "2026-04-06")
        planned.do("round", "returned", "teo-1", "--on", "2026-04-20")
    assert said in planned.refuse("round", command, "teo-1", *words)


def test_a_box_of_which_nothing_is_heard_is_overdue(planned: Desk, monkeypatch: pytest.MonkeyPatch):
    planned.do("round", "send", "teo-1", "--on", "2026-04-02")

    def days(today: str) -> int | None:
        (round_,) = planned.do("round", "list", "--json", today=today).json["rounds"]
        return round_["days_overdue"]

    assert (days("2026-05-02"), days("2026-05-03")) == (None, 31)
    assert "overdue: 31 days" in " ".join(planned.do("round", "list", today="2026-05-03").out.split())
    monkeypatch.setenv("EVALKIT_OVERDUE_DAYS", "5")
    assert (days("2026-04-07"), days("2026-04-08")) == (None, 6)
    school = planned.do("school", "--out", "rep", today="2026-04-08").out
    assert "Teo Marsk: box teo-1 is overdue, 6 days without a step." in school
    assert planned.do("school", "--json", today="2026-04-08").json["trainees"][0]["days_overdue"] == {"teo-1": 6}
    planned.do("round", "received", "teo-1", "--on", "2026-04-08", today="2026-04-08")
    assert planned.do("school", "--json", today="2026-04-08").json["trainees"][0]["days_overdue"] == {}


def test_a_planned_box_is_not_overdue(planned: Desk):
    assert [
        one["days_overdue"] for one in planned.do("round", "list", "--json", today="2027-05-01").json["rounds"]
    ] == [None]


def test_a_box_that_is_back_is_not_overdue(back: Desk):
    assert [one["days_overdue"] for one in back.do("round", "list", "--json", today="2027-05-01").json["rounds"]] == [
        None
    ]


def test_lost_on_the_way_out(planned: Desk):
    planned.do("round", "send", "teo-1", "--on", "2026-04-02")
    out = planned.do("round", "lost", "teo-1", "--on", "2026-04-20", "--condition", "no trace").out
    assert "sealed assessment" not in out
    planned.do("round", "sheet", "teo-1", "--out", "blank.md")
    planned.do("report", "teo-1", "--format", "md,json,html", "--out", "rep")
    text = (planned.folder / "rep" / "teo-1.md").read_text(encoding="utf-8")
    assert "The box was lost on its way out: nothing of it was assessed or marked, and no verdict is shown." in text
    assert "Nothing can be marked: the box is lost." in text
    assert "not marked yet" not in text
    assert "the box is lost; nothing of it can be marked" in planned.refuse("mark", "teo-1")
    assert "cannot be 'received' now" in planned.refuse("round", "received", "teo-1")
    assert "was lost with round teo-1" in planned.refuse("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101")
    assert "lost on the way" in planned.run("round", "propose", "teo", "--rubric", MINI, "--pairs", "1").err
    assert progress_of(planned) == (0, [{"round": "teo-1", "why": "lost on the way"}])


def test_nothing_can_have_been_assessed_of_a_box_that_never_arrived(planned: Desk):
    planned.do("round", "send", "teo-1", "--on", "2026-04-02")
    planned.do("round", "lost", "teo-1", "--on", "2026-04-20")
    planned.do("round", "sheet", "teo-1", "--out", "late.md")
    text = (planned.folder / "late.md").read_text(encoding="utf-8").replace("- Tips: ?", "- Tips: 2", 1)
    planned.write("late-filled.md", text)
    assert "was lost before it reached the trainee" in planned.refuse("assessment", "take-in", "late-filled.md")


def test_lost_on_the_way_back_the_assessment_is_kept_and_tells_what_is_known(out: Desk):
    out.do("assessment", "take-in", "teo-1.md")
    out.do("round", "returned", "teo-1", "--on", "2026-04-20")
    said = out.do("round", "lost", "teo-1", "--on", "2026-04-30").out
    assert "The sealed assessment is kept" in said
    out.do("report", "teo-1", "--format", "md,json,html", "--out", "rep")
    text = (out.folder / "rep" / "teo-1.md").read_text(encoding="utf-8")
    assert "The box was lost on its way back: nothing of it can be marked, what the assessment says is all" in text
    assert "Would have gone out: not known." in text
    assert "How even is even enough?" in text, "what the trainee wrote stands in it"
    report = json.loads((out.folder / "rep" / "teo-1.json").read_text(encoding="utf-8"))
    assert (report["is_assessed"], report["is_marked"]) == (True, False)
    assert {pair["verdict"] for pair in report["pairs"]} == {"not shown"}
    assert (
        set(report["verdicts"].values()) == {0} or report["verdicts"]["accepted"] == report["verdicts"]["rework"] == 0
    )
    assert "nothing of it can be marked" in out.refuse("mark", "teo-1")
    assert "nothing of it can be marked" in out.refuse("marking", "take-in", marking_sheet(out))
    assert progress_of(out) == (0, [{"round": "teo-1", "why": "lost on the way"}])
    assert out.do("book", "check").out.startswith("The book is sound")


def test_an_assessment_that_comes_after_the_loss_is_still_sealed(out: Desk):
    out.do("round", "returned", "teo-1", "--on", "2026-04-20")
    out.do("round", "lost", "teo-1", "--on", "2026-04-30")
    out.do("assessment", "take-in", "teo-1.md")
    out.do("report", "teo-1", "--format", "md", "--out", "rep")
    assert "what the assessment says is all" in (out.folder / "rep" / "teo-1.md").read_text(encoding="utf-8")


def marking_sheet(desk: Desk) -> str:
    desk.do("marking", "sheet", "teo-1", "--out", "mark.md")
    text = (desk.folder / "mark.md").read_text(encoding="utf-8").replace("- Tips: ?", "- Tips: 2", 1)
    return str(desk.write("marked.md", text))


def progress_of(desk: Desk) -> tuple[int, list[dict[str, str]]]:
    """How many rounds count, and which are set aside."""
    found = desk.do("progress", "teo", "--json").json
    return len(found["rounds"]), found["set_aside"]


def test_a_box_checked_in_is_marked_by_sheet_and_nothing_of_the_check_in_is_lost(planned: Desk):
    for words in (("send",), ("received",), ("returned",)):
        planned.do("round", *words, "teo-1", "--on", "2026-04-20")
    blank = planned.do("marking", "sheet", "teo-1").out
    planned.do("round", "check-in", "teo-1", "--on", "2026-04-27", "--missing", "1", "--damaged", "2: tip chipped")
    planned.write("old.md", blank.replace("- Tips: ?", "- Tips: 2", 1))
    refused = planned.refuse("marking", "take-in", "old.md")
    assert "says nothing of what is kept of pairs 1, 2" in refused
    assert "evalkit marking sheet teo-1" in refused
    sheet = planned.do("marking", "sheet", "teo-1").out
    assert "- What happened: tip chipped" in sheet
    assert "could not" in sheet
    planned.write("new.md", sheet)
    assert "version 1" in planned.do("marking", "take-in", "new.md").out
    with planned.opened() as book:
        marking = book.get_marking("teo-1").marking
        assert book.find_draft("teo-1", "oda") is None
    assert [pair.transit_note for pair in marking.pairs] == ["", "tip chipped", ""]
    assert all(one.seen.why == "could not" for one in marking.pairs[0].readings)
    assert not any(pair.was_opened for pair in marking.pairs)
    planned.do("book", "check")


def test_a_check_in_is_said_anew(planned: Desk):
    for words in ("send", "received", "returned"):
        planned.do("round", words, "teo-1", "--on", "2026-04-20")
    assert "no check-in to correct" in planned.refuse("round", "check-in", "teo-1", "--correct")
    back = ("round", "check-in", "teo-1", "--on", "2026-04-27", "--ref", "AB 2")
    planned.do(*back, "--missing", "1", "--damaged", "2: tip chipped", "--extra", "a comb")
    out = planned.do("round", "check-in", "teo-1", "--correct", "--missing", "3").out
    assert "received back on 2026-04-27" in out
    assert "Missing: pair 3." in out
    with planned.opened() as book:
        leg, draft = book.get_round("teo-1").legs[-1], book.find_draft("teo-1", "oda")
        assert book.check() == []
    assert (leg.carrier_ref, leg.condition) == ("AB 2", "Missing: pair 3. Too much: a comb")
    assert draft is not None
    assert {pair.number: len(pair.readings) > 0 for pair in draft.pairs} == {1: False, 2: False, 3: True}
    assert not any(pair.transit_note for pair in draft.pairs)
    assert "2 came" in planned.do("round", "show", "teo-1").out
    assert "no pair 9" in planned.refuse("round", "check-in", "teo-1", "--correct", "--missing", "9")


def test_the_plan_of_a_box_that_is_here_is_taken_back_and_its_key_with_it(planned: Desk):
    assert "its 3 pairs may go in another box" in planned.do("round", "unplan", "teo-1").out
    assert "no round" in planned.refuse("round", "show", "teo-1")
    plan = ("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-102,S-101", "--on", "2026-04-01")
    assert "was taken back" in planned.refuse(*plan, "--key", "teo-1")
    planned.do(*plan)
    assert [one["key"] for one in planned.do("round", "list", "--json").json["rounds"]] == ["teo-2"]
    planned.do("round", "send", "teo-2", "--on", "2026-04-02")
    assert "the box is on its way" in planned.refuse("round", "unplan", "teo-2")
    planned.do("book", "check")

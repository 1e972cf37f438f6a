"""Progress, school, sign-off and steadiness from the command line, over a small book of one marked round."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from evalkit.cli import app
from evalkit.cli.frame import Listed
from evalkit.files.places import templates_dir
from tests.cli.desk import Desk

LINES = {
    "progress": Listed("evalkit.cli.progress:progress", "Say where a trainee stands and write the progress report."),
    "school": Listed("evalkit.cli.progress:school", "Show every trainee on one page, and who needs a box next."),
    "sign-off": Listed("evalkit.cli.progress:sign_off", "Record that customers' shears may come, or take that back."),
    "steadiness": Listed("evalkit.cli.steadiness:app", "Mark some pairs a second time, blind."),
}
MARKS = {
    "- Ride line (mm):\n  - thumb: heel ?, middle ?, tip ?\n  - finger: heel ?, middle ?, tip ?": (
        "- Ride line (mm):\n  - thumb: all 0.4\n  - finger: all 0.4"
    ),
    "- Tips: ?": "- Tips: 2",
    "- Hair swatch: heel ?, middle ?, tip ?": "- Hair swatch: all clean",
    "- Cleanliness: ?": "- Cleanliness: 3",
}


@pytest.fixture(autouse=True)
def listed(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, line in LINES.items():
        monkeypatch.setitem(app.COMMANDS, name, line)


def filled(sheet: str, **other: str) -> str:
    for blank, mark in MARKS.items():
        sheet = sheet.replace(blank, other.get(mark, mark))
    return sheet


@pytest.fixture
def marked(back: Desk) -> Desk:
    """The round is marked; both of its pairs are fit."""
    back.do("marking", "sheet", "teo-1", "--out", "blank-marking.md")
    back.write("marking.md", filled((back.folder / "blank-marking.md").read_text(encoding="utf-8")))
    back.do("marking", "take-in", "marking.md")
    return back


def schema(name: str) -> Draft202012Validator:
    return Draft202012Validator(json.loads((templates_dir() / name).read_text(encoding="utf-8")))


def test_progress_of_a_trainee_without_a_marked_round(back: Desk):
    answer = back.do("progress", "teo")
    assert "Not enough evidence" in answer.out
    assert "nothing is known, neither good nor bad" in answer.out
    page = (back.folder / "reports" / "teo-progress.html").read_text(encoding="utf-8")
    assert "Round teo-1 is left out: not marked yet." in page


def test_progress_says_what_it_has_and_writes_every_format_asked_for(marked: Desk):
    answer = marked.do("progress", "teo", "--out", "out", "--format", "html,md,json", "--paper", "Letter")
    assert "2 marked pairs in 1 round" in answer.out
    assert "Under 5 pairs with levels there is no trend" in answer.out
    assert "The decision is the mentor's." in answer.out
    names = sorted(path.name for path in (marked.folder / "out").iterdir())
    assert names == ["teo-progress.html", "teo-progress.json", "teo-progress.md"]
    assert "size: Letter" in (marked.folder / "out" / "teo-progress.html").read_text(encoding="utf-8")


def test_progress_for_other_programs(marked: Desk):
    told = marked.do("progress", "teo", "--json").json
    schema("progress.schema.json").validate(told)
    assert told["counted"]["latest"]["of"] + told["counted"]["n_not_shown"] == 1  # one of the two pairs is ordinary
    assert told["model"] is None
    alone = marked.do("progress", "teo", "--edge", "convex", "--json").json
    assert alone["edge_types"] == ["convex"]
    assert alone["readiness"]["n_pairs"] == 1


def test_the_school_on_one_page(marked: Desk):
    marked.do("trainee", "add", "ana", "Ana Vik")
    answer = marked.do("school", "--out", "out")
    assert "1. Ana Vik: No box came back yet." in answer.out
    assert (marked.folder / "out" / "school.html").is_file()
    told = marked.do("school", "--json").json
    schema("school.schema.json").validate(told)
    assert told["next_boxes"] == ["ana", "teo"]


def test_a_sign_off_against_the_figures_asks_for_a_reason(marked: Desk):
    assert "not enough evidence for bevel" in marked.refuse("sign-off", "teo", "--edge", "bevel")
    assert "names its edge types" in marked.refuse("sign-off", "teo")
    assert "no sword pair" in marked.refuse("sign-off", "teo", "--edge", "sword", "--note", "I know her")
    assert "Did you mean 'bevel'" in marked.refuse("sign-off", "teo", "--edge", "bevl")
    answer = marked.do("sign-off", "teo", "--edge", "bevel", "--note", "forty at the bench, all clean")
    assert "Signed off: Teo Marsk, bevel. Not enough evidence." in answer.out
    assert "stands" in marked.refuse("sign-off", "teo", "--edge", "bevel", "--note", "again")
    with marked.opened() as book:
        (kept,) = book.list_sign_offs("teo")
    evidence = json.loads(kept.sign_off.evidence)
    schema("progress.schema.json").validate(evidence["edge_types"]["bevel"])
    page = marked.do("progress", "teo", "--json").json
    assert page["sign_offs"][0]["answers"] == {"bevel": "not enough evidence"}


def test_a_sign_off_is_taken_back_with_a_reason(marked: Desk):
    assert "no such sign-off stands" in marked.refuse("sign-off", "teo", "--withdraw", "--reason", "dull")
    marked.do("sign-off", "teo", "--edge", "bevel", "--note", "seen")
    marked.do("sign-off", "teo", "--edge", "convex", "--note", "seen")
    assert "several sign-offs stand" in marked.refuse("sign-off", "teo", "--withdraw", "--reason", "dull")
    assert "needs its reason" in marked.refuse("sign-off", "teo", "--withdraw", "--edge", "bevel")
    answer = marked.do("sign-off", "teo", "--withdraw", "--edge", "bevel", "--reason", "two came back dull")
    assert answer.out == "Withdrawn: bevel of teo, signed off on 2026-05-01.\n"
    told = marked.do("progress", "teo", "--json").json["sign_offs"]
    assert [(one["edge_types"], one["withdrawn_on"]) for one in told] == [
        (["bevel"], "2026-05-01"),
        (["convex"], None),
    ]


def test_a_second_marking_from_the_draw_to_the_answer(marked: Desk):
    assert "No pair was marked twice" in marked.do("steadiness", "show").out
    answer = marked.do("steadiness", "pick", "teo-1", "--pairs", "2", "--out", "second.md")
    assert "S-101" in answer.out
    blank = (marked.folder / "second.md").read_text(encoding="utf-8")
    assert "level 1" not in blank
    assert "Tips: 2" not in blank
    marked.write("second.md", filled(blank, **{"- Tips: 2": "- Tips: 1"}))
    assert "Kept the second marking of 2 pairs" in marked.do("steadiness", "take-in", "second.md").out
    assert "kept already" in marked.do("steadiness", "take-in", "second.md").out
    said = marked.do("steadiness", "show").out
    assert "oda, marking twice: 2 pairs" in said
    assert "Under 5 pairs no coefficient is given" in said
    told = marked.do("steadiness", "show", "--json").json
    (twice,) = told["twice_marked"]
    assert twice["criteria"]["tips"] == {"n": 0, "of": 2}
    assert twice["kappa"] is None
    assert "no marked pair is left" in marked.refuse("steadiness", "pick", "teo-1")


def test_a_round_not_marked_has_nothing_to_mark_twice(back: Desk):
    assert "no marked pair is left" in back.refuse("steadiness", "pick", "teo-1")


@pytest.mark.parametrize("words", [("progress", "nobody"), ("sign-off", "nobody", "--edge", "bevel")])
def test_a_stranger_is_not_found(marked: Desk, words: tuple[str, ...]):
    assert "there is no trainee 'nobody'" in marked.refuse(*words)


def test_help_says_what_each_is_for(empty_desk: Desk):
    for name in LINES:
        assert empty_desk.do(name, "--help").out.strip()


def test_a_blank_second_marking_is_not_kept(marked: Desk):
    marked.do("steadiness", "pick", "teo-1", "--pairs", "2", "--out", "second.md")
    assert "nothing is filled in" in marked.refuse("steadiness", "take-in", "second.md")


def test_a_second_marking_of_some_pairs_only(marked: Desk):
    """The draw seldom takes the whole box, and what was drawn is not always all filled in."""
    marked.do("steadiness", "pick", "teo-1", "--pairs", "1", "--out", "second.md")
    blank = (marked.folder / "second.md").read_text(encoding="utf-8")
    assert blank.count("## Pair") == 1
    marked.write("second.md", filled(blank))
    assert "Kept the second marking of 1 pair" in marked.do("steadiness", "take-in", "second.md").out
    marked.do("steadiness", "pick", "teo-1", "--pairs", "2", "--out", "other.md")
    other = (marked.folder / "other.md").read_text(encoding="utf-8")
    marked.write("other.md", filled(other.replace("\n## Letter", "\n## Pair 9\n\n## Letter")))
    assert "9" in marked.refuse("steadiness", "take-in", "other.md")


def test_a_pair_left_blank_is_not_marked_twice(marked: Desk):
    marked.do("steadiness", "pick", "teo-1", "--pairs", "2", "--out", "second.md")
    blank = (marked.folder / "second.md").read_text(encoding="utf-8")
    first, second = blank.split("## Pair 2")
    marked.write("second.md", filled(first) + "## Pair 2" + second)
    assert "Kept the second marking of 1 pair" in marked.do("steadiness", "take-in", "second.md").out
    assert "S-102" in marked.do("steadiness", "pick", "teo-1").out


def test_a_second_marking_names_no_pictures(marked: Desk):
    marked.do("steadiness", "pick", "teo-1", "--pairs", "2", "--out", "second.md")
    blank = (marked.folder / "second.md").read_text(encoding="utf-8")
    named = filled(blank).replace("### Photos\n", "### Photos\n\n- ![the heel](heel.jpg)\n", 1)
    marked.write("second.md", named)
    assert "keeps no pictures" in marked.refuse("steadiness", "take-in", "second.md")


def test_the_draw_without_a_sheet_is_short_and_says_how_to_get_one(marked: Desk):
    said = marked.do("steadiness", "pick", "teo-1", "--pairs", "2", "--seed", "7").out
    assert len(said.splitlines()) == 4
    assert "S-101" in said
    assert "S-102" in said
    command = said.rpartition("sheet: evalkit ")[2].split()
    assert command == ["steadiness", "pick", "teo-1", "--pairs", "2", "--seed", "7", "--out", "teo-1-second.md"]
    assert marked.do(*command).out.startswith("Wrote teo-1-second.md.\n")
    assert (marked.folder / "teo-1-second.md").read_text(encoding="utf-8").startswith("---")
    assert "a file of that name" in marked.refuse(*command)

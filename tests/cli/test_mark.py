"""Marking at the terminal, answer by answer. The box holds a convex and a bevel pair, judged by four criteria."""

from __future__ import annotations

from itertools import chain

import pytest

from evalkit.cli.marking_words import EVERYTHING, HOW
from evalkit.domain.triage import Decision
from tests.cli.desk import Desk

LINES = ("Ride line", "Tips", "Hair swatch", "Cleanliness")
REMARKS = ("Damaged in transit", "It called for", "One thing to keep", "One thing to change")
GOOD = ("all 0.4", "3", "all clean", "3")
NONE = ("", "", "", "")
PAIR = (*GOOD, *NONE)
FINISH = ("yes", "Well done.")


def draft(desk: Desk) -> dict[int, dict[str, str]]:
    """What is kept of each pair so far: criterion to the words of its readings."""
    with desk.opened() as book:
        marking = book.find_draft("teo-1", "oda")
    if marking is None:
        return {}
    return {
        pair.number: {
            key: ", ".join(
                str(getattr(one.seen, "level", getattr(one.seen, "number", getattr(one.seen, "result", "-"))))
                for one in pair.readings
                if one.criterion == key
            )
            for key in dict.fromkeys(one.criterion for one in pair.readings)
        }
        for pair in marking.pairs
    }


@pytest.fixture
def on_its_way(out: Desk) -> Desk:
    """Sealed, and posted back; not opened yet."""
    out.do("assessment", "take-in", "teo-1.md")
    out.do("round", "returned", "teo-1", "--on", "2026-04-20")
    return out


def report(desk: Desk) -> dict:
    return desk.do("report", "teo-1", "--json").json


def test_a_whole_round(back: Desk):
    asked = back.answers(*PAIR, "all 0.4", "1", "heel clean, middle clean, tip push 3 mm", "3", *NONE, *FINISH)
    out = back.do("mark", "teo-1").out
    assert out.startswith("Round teo-1, Teo Marsk: 2 pairs to mark.\n")
    assert HOW in out
    for prompt, expected in zip(asked, chain(LINES, REMARKS, LINES, REMARKS), strict=False):
        assert prompt.strip().startswith(expected)
    assert asked[0] == (
        "  Ride line, mm or level N (thumb heel, thumb middle, thumb tip, finger heel, finger middle, finger tip): "
    )
    assert asked[1] == "  Tips (tip): "
    assert out.rstrip().endswith("Finished, version 1. Next: evalkit report teo-1")
    with back.opened() as book:
        marking = book.get_marking("teo-1").marking
    assert [len(pair.readings) for pair in marking.pairs] == [11, 11]
    assert (marking.letter, str(marking.marked_on), marking.is_blind) == ("Well done.", "2026-05-01", True)
    assert [pair["verdict"] for pair in report(back)["pairs"]] == ["accepted", "rework"]


def test_the_view_of_the_trainee_stays_closed_until_the_pair_is_marked(back: Desk):
    back.answers(*GOOD, *NONE)
    out = back.do("mark", "teo-1").out
    before, _, after = out.partition("  Kept. Yours: accepted.")
    assert "accepted" not in before
    assert "How even" not in before
    assert after.startswith(" Teo Marsk: accepted.\n")
    assert "Tips: tip yours 3, theirs 2" in after
    assert "asks (1): How even is even enough?" in after


def test_a_question_mark_shows_the_ladder_and_asks_again(back: Desk):
    asked = back.answers("?", "all level 2", "?", "2", ".")
    out = back.do("mark", "teo-1").out
    assert asked[0] == asked[1]
    assert "      0  missing\n      1  broken\n      2  even enough\n      3  even\n" in out
    assert "      3  meet exactly\n" in out
    assert draft(back) == {1: {"ride-line": "2, 2, 2, 2, 2, 2", "tips": "2"}}


def test_a_step_back_shows_what_is_kept_and_replaces_it(back: Desk):
    asked = back.answers("all 0.4", "1", "<", "2", ".")
    back.do("mark", "teo-1")
    assert asked[3] == "  Tips (tip) [1]: "
    assert draft(back)[1]["tips"] == "2"


def test_a_step_back_from_the_first_line_stays_there(back: Desk):
    asked = back.answers("<", "<", "all 0.4", ".")
    back.do("mark", "teo-1")
    assert asked[0] == asked[1] == asked[2]


def test_a_full_stop_keeps_the_pair_as_far_as_it_goes_and_it_is_resumed(back: Desk):
    back.answers("all 0.4", ".")
    assert "What was read is kept. Go on with: evalkit mark teo-1" in back.do("mark", "teo-1").out
    assert draft(back) == {1: {"ride-line": "0.4, 0.4, 0.4, 0.4, 0.4, 0.4"}}
    asked = back.answers(*PAIR, "no")
    out = back.do("mark", "teo-1").out
    assert out.startswith("Round teo-1, Teo Marsk: 1 pair to mark.")
    assert "Pair 2: bevel" in out
    assert "Pair 1: Still untested: Tips; Hair swatch; Cleanliness." in out
    assert asked[-1] == "All pairs are marked. Finish the marking? yes/no: "
    assert "Take a pair again with: evalkit mark teo-1 --pair NUMBER" in out
    asked = back.answers("", "2", "", "", *NONE, "yes", "")
    back.do("mark", "teo-1", "--pair", "1")
    assert "[thumb heel 0.4, thumb middle 0.4" in asked[0]
    assert report(back)["pairs"][0]["returned"]["levels"][1]["level"] == 2


def test_the_end_of_input_is_enough_for_now(back: Desk):
    back.answers("all 0.4", "3")
    out = back.do("mark", "teo-1").out
    assert "What was read is kept. Go on with: evalkit mark teo-1" in out
    assert draft(back) == {1: {"ride-line": "0.4, 0.4, 0.4, 0.4, 0.4, 0.4", "tips": "3"}}


@pytest.mark.parametrize("n_answers", [5, 6, 7])
def test_remarks_are_kept_when_it_ends_among_them(n_answers: int, back: Desk):
    back.answers(*(*GOOD, "Tips", "leave", "the finish")[:n_answers], ".")
    back.do("mark", "teo-1")
    with back.opened() as book:
        marking = book.find_draft("teo-1", "oda")
    assert marking is not None
    pair = marking.pairs[0]
    assert pair.transit == ("tips",)
    assert pair.called_for == (Decision.LEAVE if n_answers > 5 else None)
    assert pair.keep == ("the finish" if n_answers > 6 else "")


def test_stopping_before_anything_was_said_keeps_nothing(back: Desk):
    before = back.state()
    back.answers(".")
    back.do("mark", "teo-1")
    assert back.state() == before


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("4", "level 4 is off the ladder. The levels are 0 to 3."),
        ("heel 2", "is not read at heel"),
        ("lovely", "is not understood"),
        ("2 kg", "is not understood"),
        ("2, 3", "stands twice"),
        ("(", "bracket"),
        ("n/a", "must-pass"),
    ],
)
def test_an_answer_that_cannot_be_is_asked_again(wrong: str, said: str, back: Desk):
    asked = back.answers("all 0.4", wrong, "2", ".")
    out = back.do("mark", "teo-1").out
    assert said in out
    assert asked[1] == asked[2] == "  Tips (tip): "
    assert draft(back)[1]["tips"] == "2"


def test_remarks_that_cannot_be_are_asked_again(back: Desk):
    asked = back.answers(
        *GOOD, "Handle", "Tips, finish", "grind", "adjust only", "x" * 201, "the \x1b[D finish", "the finish", "", "."
    )
    out = back.do("mark", "teo-1").out
    assert "Name criteria of this pair, or 'none': Ride line, Tips, Hair swatch, Cleanliness." in out
    assert "'grind' is no decision." in out
    assert out.count("Say it in at most 200 signs of plain text.") == 2
    assert [prompt.strip().partition(" (")[0].partition(":")[0] for prompt in asked[4:12]] == [
        "Damaged in transit", "Damaged in transit", "It called for", "It called for",
        "One thing to keep", "One thing to keep", "One thing to keep", "One thing to change",
    ]  # fmt: skip
    with back.opened() as book:
        marking = book.find_draft("teo-1", "oda")
    assert marking is not None
    assert (marking.pairs[0].transit, marking.pairs[0].called_for) == (("tips", "finish"), Decision.ADJUST_ONLY)


def test_what_the_post_spoiled_counts_neither_way(back: Desk):
    back.answers("all 0.4", "0", "all clean", "3", "tips", "", "", "", *PAIR, *FINISH)
    back.do("mark", "teo-1")
    first = report(back)["pairs"][0]
    assert first["verdict"] == "not shown"
    assert [one["is_transit"] for one in first["returned"]["levels"]] == [False, True, False, False]


def test_of_a_pair_that_came_damaged_it_is_asked_until_it_is_said(on_its_way: Desk):
    """An empty line would hold against the work what the post did."""
    on_its_way.do("round", "check-in", "teo-1", "--on", "2026-04-27", "--damaged", "1: tip chipped")
    asked = on_its_way.answers("all 0.4", "0", "all clean", "3", "", "tips", "", "", "", *PAIR, *FINISH)
    out = on_its_way.do("mark", "teo-1").out
    assert "Came back damaged: tip chipped." in out
    assert asked[4] == asked[5] == "  Damaged in transit (criteria, or none): "
    assert asked[13].strip().startswith("Damaged in transit (criteria):")
    first = report(on_its_way)["pairs"][0]
    assert [one["is_transit"] for one in first["returned"]["levels"]] == [False, True, False, False]


def test_damage_that_spoiled_nothing_is_said_by_none(on_its_way: Desk):
    on_its_way.do("round", "check-in", "teo-1", "--on", "2026-04-27", "--damaged", "1: tip chipped")
    on_its_way.answers("all 0.4", "0", "all clean", "3", "none", "", "", "", *PAIR, "y")
    assert "Finished, version 1" in on_its_way.do("mark", "teo-1").out
    assert report(on_its_way)["pairs"][0]["verdict"] == "rework"


def test_opening_early_is_recorded_as_not_blind(back: Desk):
    asked = back.answers("open", "no", "open", "yes", *PAIR, *PAIR, *FINISH)
    out = back.do("mark", "teo-1").out
    assert asked[1] == "      This pair is then not marked blind, and the report says so. Read it? yes/no: "
    assert out.count("sharpen; own verdict: accepted") == 1
    pairs = report(back)["pairs"]
    assert [pair["was_opened"] for pair in pairs] == [True, False]
    assert report(back)["is_blind"] is False
    back.do("report", "teo-1", "--format", "md")
    text = (back.folder / "reports" / "teo-1.md").read_text(encoding="utf-8")
    assert "Not marked blind: the assessment had been read before marking pair 1." in text


def test_a_pair_changed_after_both_views_were_shown_is_not_blind(back: Desk):
    back.answers(*PAIR, *PAIR, "no")
    back.do("mark", "teo-1")
    back.answers("", "2", "", "", *NONE, *FINISH)
    back.do("mark", "teo-1", "--pair", "1")
    assert [pair["was_opened"] for pair in report(back)["pairs"]] == [True, False]


def test_a_pair_looked_at_again_and_left_as_it_is_stays_blind(back: Desk):
    back.answers(*PAIR, *PAIR, "no")
    back.do("mark", "teo-1")
    back.answers(*NONE, *NONE, *FINISH)
    back.do("mark", "teo-1", "--pair", "1")
    assert report(back)["is_blind"] is True


def test_a_finished_marking_is_amended_with_a_reason_only(back: Desk):
    back.answers(*PAIR, *PAIR, *FINISH)
    back.do("mark", "teo-1")
    assert "evalkit mark teo-1 --amend 'REASON'" in back.refuse("mark", "teo-1")
    asked = back.answers("", "2", "", "", *NONE, *NONE, *NONE, "yes", "Looked again.")
    out = back.do("mark", "teo-1", "--amend", "better light").out
    assert out.startswith("Round teo-1, Teo Marsk: 2 pairs to mark.")
    assert asked[1] == "  Tips (tip) [3]: "
    assert "Finished, version 2." in out
    answer = report(back)
    assert answer["pairs"][0]["returned"]["levels"][1]["level"] == 2
    with back.opened() as book:
        assert book.get_marking("teo-1", version=1).marking.letter == "Well done."
    back.do("report", "teo-1", "--format", "md")
    text = (back.folder / "reports" / "teo-1.md").read_text(encoding="utf-8")
    assert "The marking is version 2, amended: better light" in text


def test_there_is_nothing_to_amend_before_it_is_finished(back: Desk):
    assert "no finished marking to amend" in back.refuse("mark", "teo-1", "--amend", "why not")


def test_a_number_that_the_box_has_not_is_refused(back: Desk):
    assert "there is no pair 3 in this round." in back.refuse("mark", "teo-1", "--pair", "3")


def test_a_box_without_an_assessment_is_marked_too(out: Desk):
    out.do("round", "returned", "teo-1")
    out.do("round", "check-in", "teo-1")
    out.answers("open", "yes", *PAIR, *PAIR, *FINISH)
    said = out.do("mark", "teo-1").out
    assert "There is no assessment of this pair." in said
    assert "Teo Marsk: no assessment." in said
    assert report(out)["is_blind"] is True


def test_everything_tested_is_said(back: Desk):
    back.answers(*GOOD, ".")
    assert f"  {EVERYTHING}\n" in back.do("mark", "teo-1").out


def test_two_mentors_mark_each_their_own(back: Desk):
    with back.opened() as book:
        from evalkit.domain.round import Person

        book.add_person("mentor", Person(key="berit", name="Berit Vang"), "oda")
    assert "this book has 2 mentors" in back.refuse("mark", "teo-1")
    back.answers(*PAIR, *PAIR, *FINISH)
    back.do("--as", "berit", "mark", "teo-1")
    sheet = back.do("--as", "berit", "marking", "sheet", "teo-1").out
    assert "mentor: berit" in sheet
    assert "- Tips: 3" in sheet
    assert "- Tips: ?" in back.do("--as", "oda", "marking", "sheet", "teo-1").out


def test_what_was_understood_is_said_back_with_its_level(back: Desk):
    back.answers("all 2", "<", "all level 2", "<", "thumb all 0.4, finger heel 0.02, finger middle could not", "3",
                 "heel clean, middle clean, tip push 3 mm", ".")  # fmt: skip
    out = back.do("mark", "teo-1").out
    said = [line.strip() for line in out.splitlines() if line.startswith("      = ")]
    assert said == [
        "= all 2 mm: level 1",
        "= all level 2",
        (
            "= thumb heel, thumb middle, thumb tip 0.4 mm: level 3; finger heel 0.02 mm: level 1; "
            "finger middle could not: no level"
        ),
        "= level 3",
        "= heel, middle clean: level 3; tip push 3 mm: level 1",
    ]


def test_a_pair_at_which_nothing_was_read_stays_closed_and_not_marked(back: Desk):
    before = back.state()
    back.answers(*NONE, *NONE, *NONE, *NONE)
    out = back.do("mark", "teo-1").out
    assert back.state() == before
    assert out.count("Nothing was read: the pair stays not marked") == 2
    assert "Yours:" not in out
    assert "asks (1)" not in out
    assert "Not marked yet: 1, 2. Go on with: evalkit mark teo-1" in out
    back.answers(*NONE, "", "leave", "", "", *PAIR)
    out = back.do("mark", "teo-1").out
    assert out.count("Yours:") == 1
    assert "Not marked yet: 1." in out
    assert draft(back) == {1: {}, 2: draft(back)[2]}
    asked = back.answers(*PAIR, *FINISH)
    assert "1 pair to mark." in back.do("mark", "teo-1").out
    assert len(asked) == len(PAIR) + len(FINISH)
    assert report(back)["is_blind"] is True


def test_stopping_by_hand_keeps_what_was_read(back: Desk, monkeypatch: pytest.MonkeyPatch):
    waiting = ["all 0.4", "3"]

    def typed(_: str = "") -> str:
        if not waiting:
            raise KeyboardInterrupt
        return waiting.pop(0)

    monkeypatch.setattr("builtins.input", typed)
    out = back.do("mark", "teo-1").out
    assert out.endswith("What was read is kept. Go on with: evalkit mark teo-1\n")
    assert draft(back) == {1: {"ride-line": "0.4, 0.4, 0.4, 0.4, 0.4, 0.4", "tips": "3"}}


def test_who_is_no_mentor_is_refused_before_the_first_question(back: Desk):
    asked = back.answers(*PAIR)
    assert "there is no mentor 'teo'" in back.refuse("--as", "teo", "mark", "teo-1")
    assert asked == []


def test_it_says_at_its_start_what_is_not_blind_any_more(back: Desk):
    back.answers("open", "yes", ".")
    assert "Not blind any more" not in back.do("mark", "teo-1").out
    back.answers(".")
    out = back.do("mark", "teo-1").out
    assert "Not blind any more, because you have read the assessment: pair 1." in out.partition("Pair 1:")[0]
    back.do("assessment", "show", "teo-1", "--open-early")
    back.answers(".")
    assert "you have read the assessment: pair 1, 2." in back.do("mark", "teo-1").out


def test_a_slip_is_answered_without_speaking_of_a_question_mark(back: Desk):
    back.answers("all fine", "level 2?", ".")
    out = back.do("mark", "teo-1").out
    assert out.count("or press Enter alone to leave it.") == 2
    assert "leave the ?" not in out

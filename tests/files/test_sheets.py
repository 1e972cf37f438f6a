"""The round sheet: written and read back, filled by human hands, and refused with every fault on its line."""

from __future__ import annotations

import re
import time
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evalkit.domain.assessment import AssessedPair, Assessment, Photo
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.measures import Unit
from evalkit.domain.pair import EdgeType, Station
from evalkit.domain.reading import NotSeen, Reading, SeenCut, SeenLevel, SeenMeasure, Stage, Unseen
from evalkit.domain.round import Leg, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision, IntakeClass
from evalkit.errors import FileFaultsError, InputError
from evalkit.files.places import rubrics_dir
from evalkit.files.rubrics import load_rubric
from evalkit.files.sheets import (
    SheetKind,
    read_assessment_sheet,
    read_marking_sheet,
    read_sheet_file,
    sheet_header,
    write_assessment_sheet,
    write_marking_sheet,
)
from evalkit.files.sheets.text import printable
from tests.files.sheet_strategies import (
    LINES,
    PLANNED,
    ROWS,
    assessments,
    markings,
    odd_rubric,
    plain_rubric,
    round_for,
)

OFTEN = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
SELDOM = settings(OFTEN, max_examples=6)
PLAIN = plain_rubric()
ODD = odd_rubric()
TWO = (EdgeType.CONVEX, EdgeType.BEVEL)
SHIPPED = ("shears", "first-rounds", "toothed")


def shipped(name: str) -> Rubric:
    return load_rubric(rubrics_dir() / f"{name}.toml")


def sheet_round(rubric: Rubric = PLAIN) -> Round:
    return round_for(rubric, TWO)


def blank(rubric: Rubric = PLAIN) -> str:
    return write_assessment_sheet(sheet_round(rubric), rubric)


def filled(*changes: tuple[str, str], text: str | None = None) -> str:
    """A blank sheet of two pairs in which each `old` was replaced, once, by `new`; the first that is found."""
    text = blank() if text is None else text
    for old, new in changes:
        assert old in text, f"the sheet has no {old!r}"
        text = text.replace(old, new, 1)
    return text


def read(text: str, rubric: Rubric = PLAIN) -> Assessment:
    return read_assessment_sheet(text, "sheet.md", sheet_round(rubric), rubric)


def faults_of(text: str) -> list[str]:
    """Every fault as 'line: words'; the words that a line of the sheet stands on are looked up by the caller."""
    with pytest.raises(FileFaultsError) as caught:
        read(text)
    assert all(fault.path == "sheet.md" and fault.mend for fault in caught.value.faults)
    return [f"{fault.line}: {fault.what} {fault.mend}" for fault in caught.value.faults]


def line_of(text: str, words: str) -> int:
    return text[: text.index(words)].count("\n") + 1


def seen_at(pair: AssessedPair | MarkedPair, key: str, stage: Stage = Stage.AS_RECEIVED) -> dict[str, Reading]:
    found = [one for one in pair.readings if one.criterion == key and one.stage is stage]
    return {str(one.place): one for one in found}


# --- there and back --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SHIPPED)
def test_a_blank_sheet_of_a_shipped_rubric_says_nothing_was_tested(name: str) -> None:
    rubric = shipped(name)
    round_ = round_for(rubric, rubric.edge_types)
    text = write_assessment_sheet(round_, rubric)
    assessment = read_assessment_sheet(text, "sheet.md", round_, rubric)
    assert assessment.pairs == tuple(AssessedPair(number=number) for number in round_.numbers)
    assert write_assessment_sheet(round_, rubric, assessment) == text
    marking = read_marking_sheet(write_marking_sheet(round_, rubric), "sheet.md", round_, rubric)
    assert marking.pairs == tuple(MarkedPair(number=number) for number in round_.numbers)


@SELDOM
@given(data=st.data(), rubric=st.sampled_from([shipped(name) for name in SHIPPED]))
def test_an_assessment_by_a_shipped_rubric_survives_the_sheet(data: st.DataObject, rubric: Rubric) -> None:
    check_assessment(rubric, data)


@OFTEN
@given(data=st.data(), rubric=st.sampled_from((PLAIN, ODD)))
def test_an_assessment_survives_the_sheet(data: st.DataObject, rubric: Rubric) -> None:
    check_assessment(rubric, data)


def check_assessment(rubric: Rubric, data: st.DataObject) -> None:
    round_ = round_for(rubric, tuple(data.draw(st.permutations(rubric.edge_types)))[:2], first=9)
    assessment = data.draw(assessments(rubric, round_))
    text = write_assessment_sheet(round_, rubric, assessment)
    again = read_assessment_sheet(text, "sheet.md", round_, rubric)
    assert again == assessment
    assert write_assessment_sheet(round_, rubric, again) == text


@SELDOM
@given(data=st.data(), rubric=st.sampled_from([shipped(name) for name in SHIPPED]))
def test_a_marking_by_a_shipped_rubric_survives_the_sheet(data: st.DataObject, rubric: Rubric) -> None:
    check_marking(rubric, data)


@OFTEN
@given(data=st.data(), rubric=st.sampled_from((PLAIN, ODD)))
def test_a_marking_survives_the_sheet(data: st.DataObject, rubric: Rubric) -> None:
    check_marking(rubric, data)


def check_marking(rubric: Rubric, data: st.DataObject) -> None:
    round_ = round_for(rubric, tuple(data.draw(st.permutations(rubric.edge_types)))[:2])
    marking = data.draw(markings(rubric, round_))
    asked = data.draw(st.dictionaries(st.sampled_from(round_.numbers), st.lists(LINES, max_size=3).map(tuple)))
    text = write_marking_sheet(round_, rubric, marking, asked)
    again = read_marking_sheet(text, "sheet.md", round_, rubric, asked)
    assert again == marking
    assert write_marking_sheet(round_, rubric, again, asked) == text


@SELDOM
@given(data=st.data())
def test_windows_line_ends_and_a_byte_order_mark_change_nothing(data: st.DataObject) -> None:
    round_ = sheet_round()
    assessment = data.draw(assessments(PLAIN, round_))
    text = write_assessment_sheet(round_, PLAIN, assessment)
    assert read("\ufeff" + text.replace("\n", "\r\n")) == assessment


def test_control_signs_are_written_as_signs_that_can_be_seen() -> None:
    pair = AssessedPair(number=1, notes="an\x9bescape", questions=("a\x85b",), lessons="one\r\ntwo")
    assert printable("bell\x07, \x1b[31m") == "bell\u2407, \u241b[31m"
    assessment = Assessment(
        round_key="teo-3", trainee_key="teo", rubric_digest=PLAIN.digest, pairs=(pair, AssessedPair(number=2))
    )
    text = write_assessment_sheet(sheet_round(), PLAIN, assessment)
    again = read(text)
    assert again.pairs[0].notes == "an\ufffdescape"
    assert again.pairs[0].questions == ("a\ufffdb",)
    assert again.pairs[0].lessons == "one\ntwo"
    assert write_assessment_sheet(sheet_round(), PLAIN, again) == text


def test_the_order_of_readings_is_the_rubrics_whatever_the_order_they_came_in() -> None:
    text = filled(("Dry tissue: heel ?, middle ?, tip ?", "Dry tissue: tip clean, heel fold"), ("Tips: ?", "Tips: 2"))
    assessment = read(text)
    shuffled = assessment.pairs[0].model_copy(update={"readings": assessment.pairs[0].readings[::-1]})
    other = assessment.model_copy(update={"pairs": (shuffled, *assessment.pairs[1:])})
    assert read(write_assessment_sheet(sheet_round(), PLAIN, other)) == assessment


def test_headings_in_any_order_read_the_same() -> None:
    text = filled(("Tips: ?", "Tips: 2"), ("### Notes\n", "### Notes\n\nquiet\n"))
    pairs = re.split(r"(?=^## )", text, flags=re.MULTILINE)
    head, first, second, letter = pairs
    parts = re.split(r"(?=^### )", first, flags=re.MULTILINE)
    turned = parts[0] + "".join(part.rstrip("\n") + "\n\n" for part in reversed(parts[1:]))
    assert read(head + letter + "\n" + second + turned) == read(text)


# --- what stands on a sheet ------------------------------------------------------------------------------------------


def test_a_pair_is_asked_what_its_edge_type_is_judged_by() -> None:
    text = blank()
    convex, bevel = text.split("## Pair ")[1:]
    assert "- Wet tissue: heel ?, middle ?, tip ?" in convex
    assert "Wet tissue" not in bevel
    assert "- Tension (advisory, deg open): ?" in bevel
    assert "- Ride line (mm):\n  - thumb: heel ?, middle ?, tip ?\n  - finger: heel ?, middle ?, tip ?\n" in convex
    assert "convex, 6.0 in, left hand, tag S-101" in convex


def test_the_sheet_begins_with_the_cautions_that_matter_at_the_bench() -> None:
    text = " ".join(blank().replace(">", " ").split())
    for words in ("Disinfect first", "BEFORE any work", "Never close blades on a burr", "never a pass"):
        assert words in text


def test_a_marking_sheet_shows_nothing_of_the_trainees() -> None:
    """It is made without the assessment; this holds that no line invites or names what only the trainee saw."""
    text = write_marking_sheet(sheet_round(), PLAIN)
    for words in ("As received", "As finished", "Own verdict", "Class", "Decision", "Lessons", "Teo Marsk"):
        assert words not in text.replace("marking", "")
    assert "before you read the assessment" in text


def test_questions_stand_quoted_only_when_they_are_handed_over() -> None:
    round_ = sheet_round()
    text = write_marking_sheet(round_, PLAIN, None, {2: ("Why does the tip fold?", "Which film?")})
    assert "> 1. Why does the tip fold?\n\n1. ?\n\n> 2. Which film?\n\n2. ?\n" in text
    assert "> 1." not in write_marking_sheet(round_, PLAIN)
    answered = text.replace("\n2. ?", "\n2. 9 micron,\n   worn.\n\n   Then none.")
    marking = read_marking_sheet(answered, "sheet.md", round_, PLAIN)
    assert [(one.question, one.text) for one in marking.pairs[1].answers] == [(2, "9 micron,\nworn.\n\nThen none.")]


def test_a_marking_in_full() -> None:
    round_ = sheet_round()
    text = filled(
        ("Marked on: ?", "Marked on: 9 March 2026"),
        ("Damaged in transit: none", "Damaged in transit: Ride line, tips"),
        ("What happened: ?", "What happened: a corner of the box was crushed"),
        ("Dry tissue: heel ?, middle ?, tip ?", "Dry tissue: all clean"),
        ("Called for: ?", "Called for: Adjust-only"),
        ("Keep: ?", "Keep: the quiet close"),
        ("Change: ?", "Change: fewer strokes"),
        ("### Comments\n", "### Comments\n\n- Ride line: wide: 0.9\n  at the tip\n- burr: *two* nicks\n"),
        ("### Photos\n", "### Photos\n\n- ![the tip](photos/tip one.jpg)\n- photos/heel.JPG\n"),
        ("### Notes\n", "### Notes\n\nSee you in April.\n"),
        ("## Letter\n", "## Letter\n\nDear Teo,\n\nwell done.\n"),
        text=write_marking_sheet(round_, PLAIN),
    )
    marking = read_marking_sheet(text, "sheet.md", round_, PLAIN)
    pair = marking.pairs[0]
    assert marking.mentor_key == "ines"
    assert marking.marked_on == date(2026, 3, 9)
    assert marking.letter == "Dear Teo,\n\nwell done."
    assert pair.transit == ("ride-line", "tips")
    assert pair.transit_note == "a corner of the box was crushed"
    assert pair.called_for is Decision.ADJUST_ONLY
    assert (pair.keep, pair.change) == ("the quiet close", "fewer strokes")
    assert [(one.criterion, one.text) for one in pair.comments] == [
        ("ride-line", "wide: 0.9\nat the tip"), ("burr", "*two* nicks"),
    ]  # fmt: skip
    assert pair.photos == (Photo(file="photos/tip one.jpg", caption="the tip"), Photo(file="photos/heel.JPG"))
    assert {str(one.place) for one in pair.readings} == {"heel", "middle", "tip"}
    assert not pair.was_opened


# --- filled by hand --------------------------------------------------------------------------------------------------


def test_a_sheet_filled_by_a_busy_hand() -> None:
    text = filled(
        ("- Written on: ?", "* Written on:  March 9, 2026  "),
        ("- Disinfected with: ?", "- Disinfected with: ? spray, 10 min,\n  09:10 to 09:20"),
        ("- Dry tissue: heel ?, middle ?, tip ?", "-\tDRY TISSUE: heel CLEAN, mid ? Clean , tip – Fold (if   slow)  "),
        ("- Hair: heel ?, middle ?, tip ?", "– hair: Heel push 2mm; middle: push 0,5 mm; tip could not (no hair left)"),
        ("- Wet tissue: heel ?, middle ?, tip ?", "Wet tissue: all torn"),
        ("- Tips: ?", "* **Tips**:  Level 2"),
        ("  - thumb: heel ?, middle ?, tip ?", '\t* Thumb: heel 0,4 mm, middle 1/64", tip 0.40 +- 0.05'),
        ("  - finger: heel ?, middle ?, tip ?", "\t* finger blade: all level 1"),
        ("- Burr and nicks (count): thumb ?, finger ?", "- Burr and nicks: thumb 0, finger 2 (near the tip)"),
        ("- Tension (advisory, deg open): ?", "- tension (deg open): 32° (Finger ring, from 90) (stiff)"),
        ("- Class: ?", "- Class: b"),
        ("- Decision: ?", "- Decision: Sharpen"),
        ("- Step: ?", "- Step: raise the edge, 15µm\n- Step: hone flat 3000 stone\n- Step: strop"),
        ("- Angle: ?", "- Angle: 45° dial"),
        ("- Parts: ?", "- Parts: bumper; washer"),
        ("- Minutes: ?", "- Minutes: 1 h 20"),
        ("- Width before (mm): heel ?, middle ?, tip ?", "- Width before: heel 9,8, middle 8.4 mm, tip 0.2 in"),
        ("- Own verdict: ?", "- own Verdict: Accepted"),
        ("### Questions\n", "### Questions:\n\nWhy does it\nfold?\n\n* And the *burr*?\n"),
        ("### Lessons\n", "### LESSONS\n   \nOne lamp.\n\n#### Later\n\n* more\n\n"),
    )  # fmt: skip
    assessment = read(text.replace("\n", "\r\n"))
    pair = assessment.pairs[0]
    dry, hair, ride = (seen_at(pair, key) for key in ("dry-tissue", "hair", "ride-line"))
    assert assessment.written_on == date(2026, 3, 9)
    assert assessment.disinfected_with == "spray, 10 min,\n09:10 to 09:20"
    assert [dry[at].seen.result for at in ("heel", "middle", "tip")] == ["clean", "clean", "fold"]
    assert dry["tip"].note == "if   slow"
    assert hair["heel"].seen == SeenCut(medium="hair", result="push", push_mm=2)
    assert hair["middle"].seen == SeenCut(medium="hair", result="push", push_mm=0.5)
    assert (hair["tip"].seen, hair["tip"].note) == (NotSeen(why=Unseen.COULD_NOT), "no hair left")
    assert [one.seen.result for one in seen_at(pair, "wet-tissue").values()] == ["tear"] * 3
    assert seen_at(pair, "tips")["tip"].seen == SeenLevel(level=2)
    assert ride["thumb heel"].seen == SeenMeasure(number=0.4, unit=Unit.MM)
    assert ride["thumb middle"].seen == SeenMeasure(number=0.015625, unit=Unit.INCH)
    assert ride["thumb tip"].seen == SeenMeasure(number=0.4, unit=Unit.MM, doubt=0.05)
    assert ride["finger tip"].seen == SeenLevel(level=1)
    assert seen_at(pair, "burr")["finger"].note == "near the tip"
    tension = seen_at(pair, "tension")["whole pair"]
    assert tension.seen == SeenMeasure(number=32, unit=Unit.DEG_OPEN, ring="finger", start_deg=90)
    assert tension.note == "stiff"
    assert pair.stated_class is IntakeClass.B
    assert [(one.what, one.grit, one.scale) for one in pair.work.steps] == [
        ("raise the edge", 15, "micron"), ("hone flat", 3000, "stone"), ("strop", None, None),
    ]  # fmt: skip
    assert (pair.work.angle.number, pair.work.angle.unit) == (45, Unit.DEG_DIAL)
    assert pair.work.parts == ("bumper", "washer")
    assert pair.work.minutes == 80
    assert pair.work.width_before_mm[Station.TIP] == pytest.approx(0.2 * 25.4)
    assert pair.verdict == "accepted"
    assert pair.questions == ("Why does it fold?", "And the *burr*?")
    assert pair.lessons == "One lamp.\n\n#### Later\n\n* more"
    tidy = write_assessment_sheet(sheet_round(), PLAIN, assessment)
    assert read(tidy) == assessment


def test_an_answer_for_every_place_beside_the_lines_of_the_blades() -> None:
    text = filled(("- Ride line (mm):", "- Ride line (mm): all 0.4"))
    assert len(seen_at(read(text).pairs[0], "ride-line")) == 6
    text = filled(("- Ride line (mm):", "- Ride line (mm): could not (no loupe)"))
    found = seen_at(read(text).pairs[0], "ride-line")
    assert {place: one.note for place, one in found.items()} == {"whole pair": "no loupe"}


def test_a_quarter_inch_is_6_35_mm() -> None:
    """25.4 mm to the inch exactly (international inch, 1959)."""
    text = filled(("Width before (mm): heel ?", "Width before (mm): heel 1/4 in"))
    assert read(text).pairs[0].work.width_before_mm == {Station.HEEL: 6.35}


def test_prose_keeps_its_markdown_and_its_html_as_typed() -> None:
    prose = (
        "#### My own heading\n\n<script>alert(1)</script>\n\n[link]: javascript:alert(1)\n\n"
        "```\n## Pair 2\n```\n\n    indented  \n\n| a | b |\n\n&nbsp;&#40;"
    )
    assert read(filled(("### Notes\n", f"### Notes\n\n{prose}\n"))).pairs[0].notes == prose


# --- hostile words ---------------------------------------------------------------------------------------------------

HOSTILE = (
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "[a](javascript:alert(1))", "{{ 7 * 7 }}",
    "${jndi:ldap://x}", "=1+1", "'; DROP TABLE pairs; --", "../../etc/passwd", "%s%n", "\u202egnp.exe", "## Pair 2",
    "---", "&lt;b&gt;", "&#60;b&#62;", "A" * 150, "__import__('os').system('x')", "🪒" * 40, "- Tips: 0",
)  # fmt: skip


LIKE_NOTHING = ("```", "*", "__", "**none**", "_-_", "`?`")
"""Words of which nothing, or the sign for nothing, is left once a sheet's emphasis is taken away."""


@pytest.mark.parametrize("words", [*HOSTILE, *LIKE_NOTHING])
def test_hostile_words_in_every_field_stay_words(words: str) -> None:
    data = {
        "round_key": "teo-3", "trainee_key": "teo", "rubric_digest": PLAIN.digest, "disinfected_with": words,
        "letter": words,
        "pairs": [
            {
                "number": 1, "reason": words, "notes": words, "questions": [words], "lessons": words,
                "photos": [{"file": words, "caption": words}], "work": {"steps": [{"what": words}], "parts": [words]},
                "readings": [
                    {"number": 1, "stage": "as received", "criterion": "tips", "station": "tip",
                     "seen": {"kind": "level", "level": 3}, "note": words},
                ],
            },
            {"number": 2},
        ],
    }  # fmt: skip
    assessment = Assessment.model_validate(data)
    text = write_assessment_sheet(sheet_round(), PLAIN, assessment)
    assert read(text) == assessment
    assert len(re.findall(r"^## ", text.split("~~~")[0], re.MULTILINE)) <= 3


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_typed_into_places_for_values_are_faults_or_kept(words: str) -> None:
    """A value that is not one is refused with its line; free text is taken as it stands."""
    text = filled(("Tips: ?", f"Tips: {words}"))
    assert any(fault.startswith(f"{line_of(text, 'Tips: ')}: ") for fault in faults_of(text))
    meant = words.replace("&#60;", "<").replace("&#62;", ">")
    assert read(filled(("Reason: ?", f"Reason: {words}"))).pairs[0].reason == meant
    in_brackets = {ord("("): "[", ord(")"): "]"}
    kept = read(filled(("Tips: ?", f"Tips: 2 ({words.translate(in_brackets)})")))
    assert kept.pairs[0].readings[0].note == meant.translate(in_brackets)


# --- faults ----------------------------------------------------------------------------------------------------------

MARK = "§"
"""In the table below it stands where the fault is, when that is not where the change begins."""

FAULTS = [
    ("## Pair 2", "## Pair 3", "there is no pair 3 in round 'teo-3'. The box holds the numbers 1, 2."),
    ("## Pair 2", "## Pair 1", "pair 1 stands twice, first on line 37. Leave one of the two."),
    ("## Pair 2", "## Pear 2", "the heading 'Pear 2' is none of this sheet's."),
    ("### Work", "### Wrok", "Did you mean 'Work'?"),
    ("### As finished", "### Work", "'Work' stands twice for one pair, first on line"),
    ("### Notes", "### Notes\n\n§## Thoughts", "In your own text begin headings with ####."),
    ("### Notes\n", "### Notes\n\n§so far\n---\n", "Leave an empty line between the two."),
    ("- Tips:", "- Tops:", "'Tops' is no line of this list. Did you mean 'tips'?"),
    ("- Tips: ?", "- Tips 2", "Put a colon behind 'tips'."),
    ("Tips: ?", "Tips: 4", "level 4 is off the ladder. The levels are 0 to 3."),
    ("Tips: ?", "Tips: 2?", "leaves it open"),
    ("Tips: ?", "Tips: thumb heel 2", "'Tips' is not read at thumb heel on a convex pair. It is read at: tip."),
    ("Tips: ?", "Tips: n/a", "must-pass"),
    ("Tips: ?", "Tips: 0.4 mm", "'0.4 mm' is not understood for 'Tips'. Write a level, 0 to 3;"),
    ("Tips: ?", "Tips: 2\n§- Tips: 1", "'Tips' at tip stands twice, first on line"),
    ("Dry tissue: heel ?, middle ?", "Dry tissue: heel clean, heel fold", "'Dry tissue' at heel stands twice."),
    ("Dry tissue: heel ?", "Dry tissue: heel clen", "Did you mean 'clean'?"),
    ("Dry tissue: heel ?", "Dry tissue: top clean", "not understood"),
    ("Dry tissue: heel ?, middle ?, tip ?", "Dry tissue: clean", "does not say where on the pair"),
    ("Dry tissue: heel ?", "Dry tissue: heel clean in hair",
     "'Dry tissue' is not cut in hair. It is cut in: dry tissue."),
    ("Dry tissue: heel ?", "Dry tissue: heel clean 2 mm", "has no push in mm"),
    ("Dry tissue: heel ?", "Dry tissue: heel clean (a", "has no partner"),
    ("thumb: heel ?", "thumb: heel 0.4 kg", "'kg' does not measure 'Ride line'. Give it in 'mm' or 'in'."),
    ("thumb: heel ?", "thumb: heel -0.4", "-0.4 mm is not possible here (0 to 1000)"),
    ("thumb: heel ?", "thumb: heel 1/0 in", "is not a number"),
    ("thumb: heel ?", "thumb: finger heel 1", "stands on the line of the thumb blade"),
    ("- thumb: heel ?", "- thump: heel 1", "has no place under 'Ride line'"),
    ("- Tips: ?", "- Tips: 2\n§  - more", "has no place under 'Tips'"),
    ("Class: ?", "Class: F", "'F' is no class. Write one of: A, B, C, D, E, X; or leave the ?."),
    ("Decision: ?", "Decision: sharpn", "Did you mean 'sharpen'?"),
    ("Decision: ?", "Decision: leave", "a pair left alone needs its reason."),
    ("Own verdict: ?", "Own verdict: not shown", "is no verdict. Write one of: accepted, rework;"),
    ("Angle: ?", "Angle: 45", "does not say which angle is meant. Write '45 included', or '45 dial'"),
    ("Angle: ?", "Angle: 95 included", "cannot be"),
    ("Minutes: ?", "Minutes: long", "'long' are no minutes."),
    ("Minutes: ?", "Minutes: 9000", "minutes: input should be less than or equal to 6000."),
    ("Minutes: ?", "Minutes: 5\n§- Minutes: 6", "was said on line"),
    ("Width before (mm): heel ?", "Width before (mm): heel 99", "a blade 99 mm wide at the heel is not possible."),
    ("Width after (mm): heel ?", "Width after (mm): hell 9", "Did you mean 'heel'?"),
    ("Length before (mm): ?", "Length before (mm): long", "is not a length"),
    ("Length before (mm): ?\n- Length after (mm): ?", "Length before (mm): 80\n§- Length after (mm): 81",
     "the blade cannot be longer after than before."),
    ("Step: ?", "Step: " + "s" * 250, "what: this is longer than 200 signs. Make it shorter."),
    ("Step: ?", "Step: hone, 0 stone", "greater than 0"),
    ("Written on: ?", "Written on: 2026-02-30", "there is no day '2026-02-30'."),
    ("Written on: ?", "Written on: 3/9/2026", "'3/9/2026' is not a day. Write it like 2026-03-09"),
    ("Written on: ?", "Written on: 2025-12-31", "2025-12-31 lies before 2026-01-05"),
    ("Written on: ?", "Written on: ?\n§- Weather: fine", "'Weather' is no line of this list."),
    ("### Photos\n", "### Photos\n\n§- my picture\n", "Write ![what it shows](file.jpg)."),
    ("### Photos\n", "### Photos\n\n§> look\n", "has no place here"),
    ("left hand, tag S-101", "left hand, tag S-109", "pair 1 of this round is convex, tag S-101"),
    ("tag S-101", "tag S-101, looks bent",
     "has no place here. What you have to say of the pair goes under '### Notes'."),
    ("> Disinfect first", "> I used spray. Disinfect first", "are not those that this sheet was sent with"),
    ("# Round teo-3: assessment", "# My sheet: assessment", "is not the title of this sheet"),
    ("### Work\n\n- Step: ?", "### Work\n\n§I only oiled it.", "Write lines like 'name: what you saw'"),
    ("### Decision\n\n- Decision: ?", "### Decision\n\n§```\nx\n```", "has no place here"),
    ("### As received\n", "### As received\n\n§[x]: /y\n", "'[x]' is no line of this list."),
    ("### Notes\n", "### Notes\n\n§```\nopen\n", "the block begun with ``` is never closed."),
    ("Tips: ?", "Tips: 2 (" + "n" * 2001 + ")", "note: this is longer than 2000 signs. Make it shorter."),
    ("### Questions\n", "### Questions\n\n" + "- Why?\n" * 21, "questions: these are more than 20. Leave some out."),
    ("## Letter\n", "## Letter\n\n" + "l" * 20001, "letter: this is longer than 20000 signs."),
    ("round: teo-3", "round: teo-4", "this sheet belongs to round 'teo-4', not to 'teo-3'."),
    ("trainee: teo", "trainee: ana", "this sheet is 'ana''s; round 'teo-3' went to 'teo'."),
    ("rubric-version: 2", "rubric-version: 3", "'rubric-version' is '3', the round says '2'."),
    ("rubric: small", "rubric: large", "'rubric' is 'large', the round says 'small'."),
    ("---\nevalkit: 1\nsheet: assessment", "---\nevalkit: 1\nsheet: marking", "the head has no line 'mentor:'."),
    ("sheet: assessment", "sheet: letter", "'letter' is no kind of sheet."),
    ("evalkit: 1", "evalkit: 2", "this sheet has format '2'"),
    ("trainee: teo", "trainee: teo\n§trainee: ana", "'trainee' stands twice in the head."),
    ("trainee: teo", "trainee: teo\n§mood: good", "does not belong into the head"),
    ("trainee: teo", "trainee: Teo Marsk!", "is no key of a trainee"),
    ("---\nevalkit: 1\n", "---\n", "the head has no line 'evalkit:'."),
    ("Tips: ?", "Tips: 2\x00", "a control sign (number 0) stands here."),
    ("### Notes\n", "### Notes\n\n§\x1b[31mred\n", "a control sign (number 27) stands here."),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "words"), FAULTS, ids=[new[:40].split("\n")[0] or old[:40] for old, new, _ in FAULTS]
)
def test_a_fault_comes_with_its_line_and_its_remedy(old: str, new: str, words: str) -> None:
    marked = filled((old, new if MARK in new else MARK + new))
    line = line_of(marked, MARK)
    found = faults_of(marked.replace(MARK, ""))
    assert [fault for fault in found if fault.startswith(f"{line}: ") and words in fault], found


def test_a_missing_pair_is_a_fault_of_the_whole_sheet() -> None:
    text = blank()
    without = text[: text.index("## Pair 2")] + text[text.index("## Letter") :]
    assert faults_of(without) == [
        "0: pair 2 is missing. Put '## Pair 2' back; left blank, it counts as not tested."
    ]  # fmt: skip


def test_a_changed_rubric_is_one_fault_and_not_a_hundred() -> None:
    text = filled(("rubric-digest: ", "rubric-digest: 0"), ("Tips: ?", "Tips: 9"))
    (fault,) = faults_of(text)
    assert fault.startswith(f"{line_of(text, 'rubric-digest')}: the rubric has changed since")


def test_the_shortest_digest_that_counts_has_twelve_signs() -> None:
    (fault,) = faults_of(filled((f"rubric-digest: {PLAIN.digest[:12]}", f"rubric-digest: {PLAIN.digest[:4]}")))
    assert "the rubric has changed since" in fault
    assert read(filled((f"rubric-digest: {PLAIN.digest[:12]}", f"rubric-digest: {PLAIN.digest}")))


def test_faults_of_a_sheet_come_all_at_once_in_the_order_of_their_lines() -> None:
    text = filled(
        ("Tips: ?", "Tips: 9"), ("thumb: heel ?, middle ?", "thumb: heel x, middle y"), ("Class: ?", "Class: Z"),
        ("Minutes: ?", "Minutes: -"), ("Angle: ?", "Angle: 45"), ("## Letter", "## Lettre"),
    )  # fmt: skip
    found = faults_of(text)
    assert len(found) == 6
    lines = [int(fault.split(":")[0]) for fault in found]
    assert lines == sorted(lines)


def test_a_criterion_that_is_not_asked_of_such_a_pair_says_so() -> None:
    text = blank()
    at = text.index("## Pair 2")
    text = text[:at] + text[at:].replace("- Dry tissue", "- Wet tissue: all clean\n- Dry tissue", 1)
    line = text[: text.index("- Wet tissue: all clean")].count("\n") + 1
    (fault,) = faults_of(text)
    assert fault.startswith(f"{line}: 'Wet tissue' is not asked on a bevel pair. Take the line out")


def test_a_sheet_for_the_other_kind_is_refused() -> None:
    round_ = sheet_round()
    with pytest.raises(FileFaultsError, match="this is a sheet for the marking, not for the assessment"):
        read(write_marking_sheet(round_, PLAIN))
    with pytest.raises(FileFaultsError, match="this is a sheet for the assessment, not for the marking"):
        read_marking_sheet(blank(), "sheet.md", round_, PLAIN)


MARKING_FAULTS = [
    (("Damaged in transit: none", "Damaged in transit: tipps"), "'tipps' is no criterion. Did you mean 'tips'?"),
    (("Called for: ?", "Called for: grind"), "'grind' is no decision. Write one of: sharpen, adjust only, leave"),
    (("### Comments\n", "### Comments\n\n- Tops: x\n"), "Did you mean 'tips'?"),
    (("### Comments\n", "### Comments\n\n- fine all round\n"), "is no line of this list"),
    (("### Answers\n", "### Answers\n\n- Because.\n"), "Begin each answer with the number of its question"),
    (("### Answers\n", "### Answers\n\nBecause.\n"), "Begin each answer with the number of its question"),
    (("### Answers\n", "### Answers\n\n1. a\n1. b\n\n   c\n"), "question 1 is answered twice"),
    (("### Answers\n", "### Answers\n\n1. a\n\n> q\n\n1. b\n"), "question 1 is answered twice"),
    (
        ("### Answers\n", "### Answers\n\n> 1. Why?\nBecause.\n"),
        "is not a question as it was sent; quoted lines are not read.",
    ),
    (("### Answers\n", "### Answers\n\n21. late\n"), "less than or equal to 20"),
    (("Marked on: ?", "Marked on: 2026-13-01"), "there is no day '2026-13-01'"),
    (("mentor: ines", "mentor: Ines Vael"), "is no key of a mentor"),
    (("Keep: ?", "Keep: " + "k" * 201), "keep: this is longer than 200 signs. Make it shorter."),
]


@pytest.mark.parametrize(("change", "words"), MARKING_FAULTS, ids=[change[1][:40] for change, _ in MARKING_FAULTS])
def test_a_fault_of_a_marking(change: tuple[str, str], words: str) -> None:
    round_ = sheet_round()
    text = filled(change, text=write_marking_sheet(round_, PLAIN))
    with pytest.raises(FileFaultsError) as caught:
        read_marking_sheet(text, "sheet.md", round_, PLAIN)
    fault = next(one for one in caught.value.faults if words in str(one))
    assert fault.line > 0


def test_a_day_before_the_box_arrived_is_a_fault() -> None:
    round_ = sheet_round().after(Leg(kind="sent", happened_on=PLANNED)).after(
        Leg(kind="received", happened_on=date(2026, 2, 1))
    )  # fmt: skip
    text = filled(("Written on: ?", "Written on: 2026-01-20"))
    with pytest.raises(FileFaultsError, match="2026-01-20 lies before 2026-02-01"):
        read_assessment_sheet(text, "sheet.md", round_, PLAIN)


def test_what_the_sheet_has_no_line_for_is_not_written() -> None:
    pair = AssessedPair(
        number=1, readings=(Reading(number=1, stage="as received", criterion="strange", seen=SeenLevel(level=1)),)
    )
    elsewhere = AssessedPair(
        number=1, readings=(Reading(number=1, stage="as received", criterion="tips", seen=SeenLevel(level=1)),)
    )
    base = Assessment(round_key="teo-3", trainee_key="teo", rubric_digest=PLAIN.digest, pairs=(pair,))
    with pytest.raises(InputError, match="'strange', for which the sheet has no line"):
        write_assessment_sheet(sheet_round(), PLAIN, base)
    with pytest.raises(InputError, match="'Tips' is not read at whole pair"):
        write_assessment_sheet(sheet_round(), PLAIN, base.model_copy(update={"pairs": (elsewhere,)}))
    stray = AssessedPair(number=7)
    with pytest.raises(InputError, match="there is no pair 7"):
        write_assessment_sheet(sheet_round(), PLAIN, base.model_copy(update={"pairs": (stray,)}))


FOREIGN = "zq7xk"
WAYS = (
    "{}", "- {}", "* {}", "  {}", "    {}", "  - {}", "> {}", "1. {}", "# {}", "## {}", "#### {}", "{}: 2",
    "- {}: clean", "```\n{}\n```", "[{}]: /url", "<!-- {} -->", "| {} |", "{}\n---", "\t{}",
    "- Tips: 2 ({})", "thumb: {}",
)  # fmt: skip


@settings(OFTEN, max_examples=120)
@given(data=st.data())
def test_no_word_that_was_written_is_lost_in_silence(data: st.DataObject) -> None:
    """A word put anywhere into a sheet, in any way, is in what was read, or there is a fault."""
    is_marking = data.draw(st.booleans())
    round_ = sheet_round()
    asked = {1: ("Why?", "How?")}
    text = write_marking_sheet(round_, PLAIN, None, asked) if is_marking else blank()
    lines = text.splitlines()
    at = data.draw(st.integers(0, len(lines) - 1))
    way = data.draw(st.sampled_from((*WAYS, "end", "start", "middle")))
    if way in ("end", "start", "middle"):
        cut = {"end": len(lines[at]), "start": 0, "middle": len(lines[at]) // 2}[way]
        lines[at] = lines[at][:cut] + FOREIGN + lines[at][cut:]
    else:
        lines.insert(at, way.format(FOREIGN))
    try:
        if is_marking:
            got: Assessment | Marking = read_marking_sheet("\n".join(lines), "sheet.md", round_, PLAIN, asked)
        else:
            got = read("\n".join(lines))
    except FileFaultsError:
        return
    assert FOREIGN in got.model_dump_json()


@settings(OFTEN, max_examples=15)
@given(data=st.data())
def test_a_mangled_sheet_is_read_or_refused_but_never_breaks(data: st.DataObject) -> None:
    lines = write_assessment_sheet(sheet_round(), PLAIN, data.draw(assessments(PLAIN, sheet_round()))).split("\n")
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        match data.draw(st.integers(0, 3)):
            case 0:
                del lines[at]
                lines = lines or [""]
            case 1:
                lines.insert(at, lines[data.draw(st.integers(0, len(lines) - 1))])
            case 2:
                lines[at] = data.draw(ROWS)
            case _:
                lines[at] = lines[at][: len(lines[at]) // 2]
    try:
        assessment = read("\n".join(lines))
    except FileFaultsError:
        return
    assert read(write_assessment_sheet(sheet_round(), PLAIN, assessment)) == assessment


# --- the head alone --------------------------------------------------------------------------------------------------


def test_the_head_is_known_without_the_round() -> None:
    header = sheet_header(blank(), "sheet.md")
    assert (header.kind, header.round_key, header.trainee_key) == (SheetKind.ASSESSMENT, "teo-3", "teo")
    assert (header.rubric_key, header.rubric_version, header.rubric_digest) == ("small", 2, PLAIN.digest[:12])
    assert header.mentor_key is None
    assert header.lines["round"] == 4
    marking = sheet_header(write_marking_sheet(sheet_round(), PLAIN).replace("\n", "\r\n"), "sheet.md")
    assert (marking.kind, marking.mentor_key) == (SheetKind.MARKING, "ines")


@pytest.mark.parametrize("text", ["", "hello", "---\n", "---\nround: teo-3\n", "# Round teo-3\n\n---\nround: x\n---\n"])
def test_a_text_without_a_head_is_refused_on_its_first_line(text: str) -> None:
    for read_it in (lambda: sheet_header(text, "sheet.md"), lambda: read(text)):
        with pytest.raises(FileFaultsError) as caught:
            read_it()
        assert {fault.line for fault in caught.value.faults} == {1}
        assert "Copy the head" in str(caught.value)


# --- the file --------------------------------------------------------------------------------------------------------


def test_a_file_is_read_whatever_its_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "sheet.md"
    path.write_bytes(b"\xef\xbb\xbf" + blank().replace("\n", "\r\n").encode())
    assert read_sheet_file(path) == blank()


@pytest.mark.parametrize(
    ("data", "words", "line"),
    [
        ("Größe\nheel 2\n".encode("latin-1"), "byte 3 of the file (0xf6) is not UTF-8 text.", 1),
        (b"one\ntwo \x96 three\n", "byte 9 of the file (0x96) is not UTF-8 text.", 2),
        ("sheet".encode("utf-16"), "this text is UTF-16.", 1),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "byte 1 of the file", 1),
        (b"a\nb\x00c\n", "a control sign (number 0) stands here.", 2),
        (b"x" * 2_000_001, "the sheet is larger than 2 MB.", 0),
    ],
    ids=["latin-1", "windows-1252", "utf-16", "a picture", "a nul", "too large"],
)
def test_a_file_that_is_no_sheet_is_refused_with_the_place(tmp_path: Path, data: bytes, words: str, line: int) -> None:
    path = tmp_path / "sheet.md"
    path.write_bytes(data)
    with pytest.raises(FileFaultsError) as caught:
        read_sheet_file(path)
    assert words in str(caught.value)
    assert caught.value.faults[0].line == line


def test_a_sheet_that_is_not_there_is_one_clear_error(tmp_path: Path) -> None:
    for path in (tmp_path / "none.md", tmp_path):
        with pytest.raises(InputError, match="the sheet cannot be read"):
            read_sheet_file(path)


def test_a_million_lines_are_refused_before_they_are_parsed(tmp_path: Path) -> None:
    path = tmp_path / "sheet.md"
    path.write_bytes(b"\n" * 1_000_000)
    start = time.process_time()
    with pytest.raises(FileFaultsError, match="1000001 lines"):
        read_sheet_file(path)
    with pytest.raises(FileFaultsError, match="1000001 lines"):
        read("\n" * 1_000_000)
    assert time.process_time() - start < 1


@pytest.mark.parametrize(
    "piece",
    ["> " * 200, "- " * 200, "* * * " * 60, "[" * 400, "- x: (", "(" * 400, "`" * 400, "- Tips: 9\n", "## Pair 1\n"],
    ids=["quotes", "lists", "rules", "links", "items", "brackets", "ticks", "faults", "pairs"],
)  # fmt: skip
def test_a_sheet_made_to_be_slow_is_answered_soon(piece: str) -> None:
    """200 kB of one construct under 'As received'; far above what a person writes."""
    lines = "\n".join([piece] * (200_000 // len(piece)))[:200_000]
    text = filled(("### As received\n", f"### As received\n\n{lines}\n"))
    start = time.process_time()
    with pytest.raises(FileFaultsError) as caught:
        read(text)
    assert len(caught.value.faults) <= 201
    assert time.process_time() - start < 5

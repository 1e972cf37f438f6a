"""The grammar of one reading: every way to write it, every way to get it wrong, and there and back again."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.domain.criterion import CriterionOn, Use
from evalkit.domain.levels import fault_of
from evalkit.domain.measures import Unit, convert
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import (
    WHOLE_PAIR,
    CutResult,
    Medium,
    NotSeen,
    Place,
    Reading,
    Seen,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Unseen,
)
from evalkit.domain.rubric import Rubric
from evalkit.files.places import rubrics_dir
from evalkit.files.rubrics import load_rubric
from evalkit.files.sheets.numbers import ValueWordsError
from evalkit.files.sheets.text import number_words, plain, printable, said, spoken, spoken_line, written
from evalkit.files.sheets.values import UNSEEN_WORDS, parse_places, parse_value, places_words, try_places, value_words
from tests.files.sheet_strategies import NOTES, PROSE, ROWS, odd_rubric, plain_rubric, seen

PLAIN, ODD = plain_rubric(), odd_rubric()
SHEARS = load_rubric(rubrics_dir() / "shears.toml")


def on_for(key: str, rubric: Rubric = PLAIN, edge_type: EdgeType = EdgeType.CONVEX) -> CriterionOn:
    return next(on for on in rubric.on(edge_type) if on.key == key)


TIPS, DRY, HAIR, RIDE, BURR, TENSION = (
    on_for(key) for key in ("tips", "dry-tissue", "hair", "ride-line", "burr", "tension")
)  # fmt: skip
ANGLE, DIAL, GAP, INCHES = (on_for(key, ODD) for key in ("bracket", "dial", "gap", "rod"))


def mm(number: float, **more: object) -> SeenMeasure:
    return SeenMeasure(number=number, unit=Unit.MM, **more)


def cut(medium: str, result: str, push_mm: float | None = None) -> SeenCut:
    return SeenCut(medium=medium, result=result, push_mm=push_mm)


VALUES: list[tuple[CriterionOn, str, Seen | None, str]] = [
    (TIPS, "", None, ""),
    (TIPS, "?", None, ""),
    (TIPS, "  -  ", None, ""),
    (TIPS, "–", None, ""),
    (TIPS, "? (ran out of time)", NotSeen(why=Unseen.NOT_TESTED), "ran out of time"),
    (TIPS, "not tested", NotSeen(why=Unseen.NOT_TESTED), ""),
    (TIPS, "Could not (no loupe)", NotSeen(why=Unseen.COULD_NOT), "no loupe"),
    (TIPS, "couldn’t", NotSeen(why=Unseen.COULD_NOT), ""),
    (TIPS, "N/A", NotSeen(why=Unseen.NOT_APPLICABLE), ""),
    (TIPS, "not applicable", NotSeen(why=Unseen.NOT_APPLICABLE), ""),
    (TIPS, "2", SeenLevel(level=2), ""),
    (TIPS, "? 2", SeenLevel(level=2), ""),
    (TIPS, "Level  3 (as new (nearly))", SeenLevel(level=3), "as new (nearly)"),
    (TIPS, "0 () (a) (b)", SeenLevel(level=0), "; a; b"),
    (DRY, "CLEAN", cut("dry tissue", "clean"), ""),
    (DRY, "not  cut", cut("dry tissue", "not cut"), ""),
    (DRY, "torn", cut("dry tissue", "tear"), ""),
    (DRY, "2", SeenLevel(level=2), ""),
    (HAIR, "push", cut("hair", "push"), ""),
    (HAIR, "push 2 mm", cut("hair", "push", 2), ""),
    (HAIR, "pushed 0,5mm in synthetic hair", cut("synthetic hair", "push", 0.5), ""),
    (HAIR, "clean in hair (damp)", cut("hair", "clean"), "damp"),
    (RIDE, "0.4", mm(0.4), ""),
    (RIDE, "0,4 mm", mm(0.4), ""),
    (RIDE, ".4mm", mm(0.4), ""),
    (RIDE, "0.40 ± 0.05 mm", mm(0.4, doubt=0.05), ""),
    (RIDE, "0.40mm +- 0,05", mm(0.4, doubt=0.05), ""),
    (RIDE, "0.4 +/- 0.05", mm(0.4, doubt=0.05), ""),
    (RIDE, "1/64 in", SeenMeasure(number=1 / 64, unit=Unit.INCH), ""),
    (RIDE, '1 1/2"', SeenMeasure(number=1.5, unit=Unit.INCH), ""),
    (RIDE, "0.016 inch", SeenMeasure(number=0.016, unit=Unit.INCH), ""),
    (RIDE, "level 2", SeenLevel(level=2), ""),
    (RIDE, "2", mm(2), ""),
    (INCHES, "0.02", SeenMeasure(number=0.02, unit=Unit.INCH), ""),
    (BURR, "3", SeenMeasure(number=3, unit=Unit.COUNT), ""),
    (ANGLE, "45", SeenMeasure(number=45, unit=Unit.DEG_INCLUDED), ""),
    (ANGLE, "45°", SeenMeasure(number=45, unit=Unit.DEG_INCLUDED), ""),
    (ANGLE, "45 included", SeenMeasure(number=45, unit=Unit.DEG_INCLUDED), ""),
    (ANGLE, "35 dial", SeenMeasure(number=35, unit=Unit.DEG_DIAL), ""),
    (ANGLE, "35 ° on the dial", SeenMeasure(number=35, unit=Unit.DEG_DIAL), ""),
    (ANGLE, "50 degrees dial ± 1", SeenMeasure(number=50, unit=Unit.DEG_DIAL, doubt=1), ""),
    (DIAL, "40", SeenMeasure(number=40, unit=Unit.DEG_DIAL), ""),
    (TENSION, "32 open", SeenMeasure(number=32, unit=Unit.DEG_OPEN), ""),
    (TENSION, "32 (finger ring)", SeenMeasure(number=32, unit=Unit.DEG_OPEN, ring="finger"), ""),
    (TENSION, "32 (from 45.5°)", SeenMeasure(number=32, unit=Unit.DEG_OPEN, start_deg=45.5), ""),
    (TENSION, "9 (Thumb ring from 90) (a)", SeenMeasure(number=9, unit=Unit.DEG_OPEN, ring="thumb", start_deg=90), "a"),
    (TENSION, "32 (stiff) (finger ring)", SeenMeasure(number=32, unit=Unit.DEG_OPEN), "stiff; finger ring"),
    (TENSION, "15 mm", SeenMeasure(number=15, unit=Unit.MM_TIP_GAP), ""),
    (GAP, "15", SeenMeasure(number=15, unit=Unit.MM_TIP_GAP), ""),
    (GAP, "30 deg open", SeenMeasure(number=30, unit=Unit.DEG_OPEN), ""),
]  # fmt: skip


@pytest.mark.parametrize(("on", "text", "what", "note"), VALUES, ids=[text or "blank" for _, text, _, _ in VALUES])
def test_a_value_is_understood(on: CriterionOn, text: str, what: Seen | None, note: str) -> None:
    assert parse_value(on, text) == (what, note)


def test_at_45_the_two_conventions_agree_and_at_55_they_do_not() -> None:
    """The bench dial reads 90 less the included angle. Common practice, no source."""
    for text, included in (("45 dial", 45), ("45 included", 45), ("55 included", 55), ("35 dial", 55), ("55 dial", 35)):
        what, _ = parse_value(ANGLE, text)
        assert convert(what.number, what.unit, Unit.DEG_INCLUDED) == included


def test_a_quarter_inch_is_6_35_mm() -> None:
    """25.4 mm to the inch exactly (international inch, 1959)."""
    what, _ = parse_value(RIDE, "1/4 in")
    assert convert(what.number, what.unit, Unit.MM) == 6.35


WRONG = [
    (TIPS, "fine", "'fine' is not understood for 'Tips'. Write a level, 0 to 3; or 'could not', 'n/a', or"),
    (TIPS, "4", "level 4 is off the ladder. The levels are 0 to 3."),
    (TIPS, "-1", "not understood"),
    (TIPS, "clean", "'clean' is not understood for 'Tips'"),
    (TIPS, "2 mm", "'2 mm' is not understood for 'Tips'"),
    (TIPS, "could knot", "Did you mean 'could not'?"),
    (TIPS, "2 ?", "'2 ?' leaves it open. Write the value with your doubt in brackets"),
    (TIPS, "2 (a) b", "'2 (a) b' goes on after its remark."),
    (TIPS, "2 (a", "a bracket of '2 (a' has no partner."),
    (TIPS, "2 a)", "a bracket of '2 a)' has no partner."),
    (DRY, "claen", "Did you mean 'clean'?"),
    (DRY, "clean in hair", "'Dry tissue' is not cut in hair. It is cut in: dry tissue."),
    (DRY, "fold 2 mm", "a cut that is 'fold' has no push in mm"),
    (HAIR, "push 200 mm", "'push 200 mm' cannot be: input should be less than or equal to 100."),
    (RIDE, "wide", "Write a number in mm, or by eye 'level 0' to 'level 3'"),
    (RIDE, "0.4 kg", "'kg' does not measure 'Ride line'. Give it in 'mm' or 'in'."),
    (RIDE, "0.4 mm ± 0.1 in", "has two units"),
    (RIDE, "0.4 deg", "'deg' does not measure 'Ride line'."),
    (RIDE, "-0.4", "-0.4 mm is not possible here (0 to 1000)"),
    (RIDE, "1/0", "'1/0' is not a number."),
    (RIDE, "9" * 400, "cannot be"),
    (ANGLE, "32 open", "'open' does not measure"),
    (ANGLE, "130 included", "130 deg included is not possible here (0 to 120)"),
    (TENSION, "32 (from 900)", "'from 900' is no way to drop a blade. Write it like (finger ring, from 90)."),
    (TENSION, "32 (from 9.9.9)", "is no way to drop a blade"),
    (BURR, "2 mm", "'mm' does not measure 'Burr and nicks'. Give it in 'count'."),
]  # fmt: skip


@pytest.mark.parametrize(("on", "text", "words"), WRONG, ids=[text[:30] for _, text, _ in WRONG])
def test_a_wrong_value_says_what_and_how_to_mend_it(on: CriterionOn, text: str, words: str) -> None:
    with pytest.raises(ValueWordsError) as caught:
        parse_value(on, text)
    assert words in f"{caught.value.what} {caught.value.mend}"
    assert caught.value.mend


def placed(on: CriterionOn, text: str, blade: Blade | None = None) -> dict[str, tuple[Seen, str]]:
    return {str(place): (what, note) for place, what, note in parse_places(on, text, blade)}


def test_a_line_names_its_places() -> None:
    clean, fold = cut("dry tissue", "clean"), cut("dry tissue", "fold")
    assert placed(DRY, "heel clean, middle clean, tip fold (slow, damp)") == {
        "heel": (clean, ""), "middle": (clean, ""), "tip": (fold, "slow, damp"),
    }  # fmt: skip
    assert placed(DRY, "Heel: clean; MID = clean; tip – fold") == {
        "heel": (clean, ""), "middle": (clean, ""), "tip": (fold, ""),
    }  # fmt: skip
    assert placed(DRY, "all clean (quiet)") == dict.fromkeys(("heel", "middle", "tip"), (clean, "quiet"))
    assert placed(DRY, "heel ?, middle , tip clean") == {"tip": (clean, "")}
    assert placed(DRY, "heel 0,") == {"heel": (SeenLevel(level=0), "")}
    assert placed(DRY, "?") == placed(DRY, "") == placed(DRY, "all ?") == {}
    assert placed(RIDE, "thumb heel 0,4,thumb tip 0,5 , finger - heel 1/64 in") == {
        "thumb heel": (mm(0.4), ""), "thumb tip": (mm(0.5), ""),
        "finger heel": (SeenMeasure(number=1 / 64, unit=Unit.INCH), ""),
    }  # fmt: skip
    assert set(placed(RIDE, "finger all 0.4")) == {"finger heel", "finger middle", "finger tip"}
    assert set(placed(RIDE, "heel 0.4, tip 0.5", Blade.FINGER)) == {"finger heel", "finger tip"}
    assert set(placed(BURR, "thumb 0, finger blade 2")) == {"thumb", "finger"}
    assert placed(TIPS, "2") == placed(TIPS, "tip 2") == placed(TIPS, "all 2") == {"tip": (SeenLevel(level=2), "")}
    assert placed(RIDE, "could not (no loupe)") == {"whole pair": (NotSeen(why=Unseen.COULD_NOT), "no loupe")}


WRONG_PLACES = [
    (DRY, "clean", "'clean' does not say where on the pair. 'Dry tissue' is read at: heel, middle, tip."),
    (DRY, "thumb heel clean", "is not read at thumb heel on a convex pair. It is read at: heel, middle, tip."),
    (DRY, "heel clean, heel fold", "'Dry tissue' at heel stands twice. Leave one of the two."),
    (DRY, "all clean, tip fold", "'Dry tissue' at tip stands twice."),
    (DRY, "whole pair clean", "'Dry tissue' is not read at whole pair"),
    (DRY, "tpi clean", "not understood"),
    (RIDE, "heel 0.4", "'Ride line' is not read at heel on a convex pair."),
    (RIDE, "thumb 0.4", "does not say where"),
    (TENSION, "tip 32", "'Tension' is not read at tip on a convex pair. It is read at: whole pair."),
]  # fmt: skip


@pytest.mark.parametrize(("on", "text", "words"), WRONG_PLACES, ids=[text for _, text, _ in WRONG_PLACES])
def test_a_wrong_place_says_which_there_are(on: CriterionOn, text: str, words: str) -> None:
    with pytest.raises(ValueWordsError) as caught:
        parse_places(on, text)
    assert words in f"{caught.value.what} {caught.value.mend}"


def test_every_fault_of_a_line_is_found_at_once() -> None:
    found, faults = try_places(DRY, "heel clen, middle clean, tip fould")
    assert [str(place) for place, _, _ in found] == ["middle"]
    assert [fault.what for fault in faults] == [
        "'clen' is not understood for 'Dry tissue'.", "'fould' is not understood for 'Dry tissue'.",
    ]  # fmt: skip


# --- there and back --------------------------------------------------------------------------------------------------

ALL_ON = [
    on
    for rubric in (PLAIN, ODD, SHEARS)
    for edge_type in EdgeType
    for on in rubric.on(edge_type)
    if on.use is not Use.NOT_APPLICABLE
]


@settings(max_examples=400, deadline=None)
@given(data=st.data(), on=st.sampled_from(ALL_ON))
def test_what_is_written_reads_back(data: st.DataObject, on: CriterionOn) -> None:
    what, note = data.draw(seen(on)), data.draw(NOTES)
    words = value_words(on, what, note)
    assert "\n" not in words
    assert parse_value(on, words) == (what, note)
    assert value_words(on, *parse_value(on, words)) == words


def test_nothing_is_a_question_mark() -> None:
    assert value_words(TIPS, None) == "?"
    assert places_words(DRY) == "heel ?, middle ?, tip ?"
    assert places_words(TIPS) == places_words(TENSION) == "?"
    assert places_words(RIDE, (), Blade.THUMB) == "heel ?, middle ?, tip ?"
    assert places_words(BURR) == "thumb ?, finger ?"


@settings(max_examples=200, deadline=None)
@given(data=st.data(), on=st.sampled_from(ALL_ON))
def test_places_that_are_written_read_back(data: st.DataObject, on: CriterionOn) -> None:
    places = data.draw(st.lists(st.sampled_from(on.places), unique=True))
    readings = [
        Reading(
            number=1, stage="as returned", criterion=on.key, blade=place.blade, station=place.station,
            seen=data.draw(seen(on)), note=data.draw(NOTES),
        )
        for place in sorted(places, key=on.places.index)
    ]  # fmt: skip
    if WHOLE_PAIR not in on.places and data.draw(st.booleans()):
        whole = Reading(number=1, stage="as returned", criterion=on.key, seen=NotSeen(why=Unseen.COULD_NOT))
        readings.insert(0, whole)
    words = places_words(on, readings)
    assert parse_places(on, words) == [(one.place, one.seen, one.note) for one in readings]


@settings(max_examples=300, deadline=None)
@given(text=st.one_of(ROWS, st.from_regex(r"[a-z0-9 .,;()±/%°?-]{0,25}", fullmatch=True)), on=st.sampled_from(ALL_ON))
def test_any_words_are_understood_or_refused_with_a_remedy(text: str, on: CriterionOn) -> None:
    """And what is understood fits the rubric but for what only a whole reading can break."""
    found, faults = try_places(on, text)
    assert all(fault.what and fault.mend for fault in faults)
    for place, what, note in found:
        assert isinstance(place, Place)
        reading = Reading(
            number=1, stage="as returned", criterion=on.key, blade=place.blade, station=place.station, seen=what,
            note=note,
        )  # fmt: skip
        fault = fault_of(on, reading, PLAIN)
        assert fault is None or "must-pass" in fault[0]


@given(text=PROSE)
def test_free_text_of_one_line_reads_back(text: str) -> None:
    assert spoken(written(text)) == text
    assert not written(text)[0].isspace()
    assert not written(text)[-1].isspace()
    assert spoken_line(written(text.replace("\n", " "))) == text.replace("\n", " ").replace("\t", " ")


@given(number=st.floats(0, allow_nan=False, allow_infinity=False))
def test_a_number_reads_back_as_exactly_itself(number: float) -> None:
    words = number_words(number)
    assert float(words) == number
    assert "e" not in words
    assert not words.endswith(".0")


def test_only_printable_references_are_resolved() -> None:
    for text in ("&#0;", "&#27;", "&#55296;", "&#9999999;", "&amp;", "&#x41;", "&#;"):
        assert spoken(text) == text
    assert spoken("&#40;&#233;") == "(é"
    assert said(" ? word ") == "word"
    assert printable("a\r\nb\rc\x00") == "a\nb\nc\u2400"
    assert plain("  **Tips**  –  ok ") == "tips - ok"


def test_the_grammar_knows_every_member_of_the_closed_lists() -> None:
    """A new unit, cut, medium, reason or place must be taught to it."""
    assert set(UNSEEN_WORDS) == set(Unseen)
    assert {parse_value(HAIR, result)[0].result for result in CutResult} == set(CutResult)
    units = {unit for on in (RIDE, INCHES, ANGLE, DIAL, TENSION, GAP, BURR) for unit in (on.unit,)}
    assert units == set(Unit)
    for medium in set(Medium) - {Medium.DRY_TISSUE}:
        with pytest.raises(ValueWordsError, match=f"is not cut in {medium}"):
            parse_value(DRY, f"clean in {medium}")
    for place in (Place(blade, station) for blade in (None, *Blade) for station in (None, *Station)):
        _, faults = try_places(TENSION, f"{place} could not")
        assert all(f"is not read at {place}" in fault.what or "does not say where" in fault.what for fault in faults)

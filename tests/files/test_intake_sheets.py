"""The intake sheet: written, read and written again it is the same; every fault with its line."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evalkit.domain.assessment import Photo
from evalkit.domain.intake import Intake, IntakePair
from evalkit.domain.reading import Stage
from evalkit.domain.round import Leg, LegKind
from evalkit.errors import FileFaultsError
from evalkit.files.sheets import read_intake_sheet, sheet_header, write_intake_sheet, write_marking_sheet
from tests.reports.values import RUBRIC, assessment_of, round_of

ROUND = round_of().model_copy(update={"legs": (Leg(kind=LegKind.SENT, happened_on=date(2026, 4, 2)),)})


def intake_of(notes: str = "", read_on: date | None = None) -> Intake:
    """What the trainee saw as received, in the mentor's hand."""
    pairs = tuple(
        IntakePair(
            number=pair.number,
            readings=pair.at_stage(Stage.AS_RECEIVED),
            notes=notes if pair.number == 1 else "",
            photos=(Photo(file="box.jpg", caption="laid out"),) if pair.number == 2 else (),
        )
        for pair in assessment_of(ROUND).pairs
    )
    return Intake(
        round_key=ROUND.key,
        mentor_key=ROUND.mentor.key,
        rubric_digest=ROUND.rubric_digest,
        read_on=read_on,
        pairs=pairs,
    )


def read(text: str) -> Intake:
    return read_intake_sheet(text, "in.md", ROUND, RUBRIC)


def faults_of(text: str) -> list[tuple[int, str]]:
    with pytest.raises(FileFaultsError) as told:
        read(text)
    return [(fault.line, fault.what) for fault in told.value.faults]


def test_a_filled_sheet_is_read_back_and_written_again_the_same():
    intake = intake_of("two nicks\n\nnear the tip", date(2026, 4, 1))
    assert any(pair.readings for pair in intake.pairs)
    text = write_intake_sheet(ROUND, RUBRIC, intake)
    assert read(text) == intake
    assert write_intake_sheet(ROUND, RUBRIC, read(text)) == text
    header = sheet_header(text, "in.md")
    assert (header.kind, header.mentor_key) == ("intake", ROUND.mentor.key)


def test_a_blank_sheet_says_of_no_pair_that_it_was_tested():
    intake = read(write_intake_sheet(ROUND, RUBRIC))
    assert [pair.number for pair in intake.pairs] == list(ROUND.numbers)
    assert all(pair == IntakePair(number=pair.number) for pair in intake.pairs)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=60), st.dates(date(2020, 1, 1), date(2026, 4, 2))
)
def test_any_notes_and_day_come_back(notes: str, day: date):
    text = write_intake_sheet(ROUND, RUBRIC, intake_of(notes, day))
    again = read(text)
    assert again.read_on == day
    assert write_intake_sheet(ROUND, RUBRIC, again) == text


def test_it_asks_only_how_the_pairs_leave():
    text = write_intake_sheet(ROUND, RUBRIC)
    assert text.count("### As received") == len(ROUND.pairs)
    for other in ("As finished", "As returned", "Decision", "Own verdict", "Keep", "## Letter"):
        assert other not in text


def test_a_day_after_the_box_was_sent_is_a_fault_on_its_line():
    text = write_intake_sheet(ROUND, RUBRIC).replace("- Read on: ?", "- Read on: 2026-04-03")
    line = text.splitlines().index("- Read on: 2026-04-03") + 1
    assert faults_of(text) == [(line, "2026-04-03 lies after 2026-04-02, the day on which the box was sent.")]


def test_a_letter_has_no_place_and_its_words_are_not_lost_in_silence():
    text = write_intake_sheet(ROUND, RUBRIC) + "\n## Letter\n\nDear Teo\n"
    ((line, what),) = faults_of(text)
    assert what == "an intake sheet has no letter."
    assert text.splitlines()[line - 1] == "## Letter"


def test_parts_of_other_sheets_are_told():
    text = write_intake_sheet(ROUND, RUBRIC).replace("### As received", "### As finished", 1)
    assert any("'As finished' is none of this sheet's" in what for _, what in faults_of(text))
    ((_, what),) = faults_of(write_marking_sheet(ROUND, RUBRIC))
    assert "for the marking, not for the intake" in what


def test_a_level_off_the_ladder_is_told_with_its_line():
    text = write_intake_sheet(ROUND, RUBRIC).replace("- Tip condition: ?", "- Tip condition: 7", 1)
    line = text.splitlines().index("- Tip condition: 7") + 1
    assert [at for at, _ in faults_of(text)] == [line]

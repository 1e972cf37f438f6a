"""What the post did to a pair, in the report: lost, damaged, what that excused; and words that stood unexplained."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evalkit.domain.arriving import Losses, arrival_words
from evalkit.domain.assessment import AssessedPair
from evalkit.domain.marking import MarkedPair
from evalkit.domain.reading import NotSeen, Stage, Unseen
from evalkit.domain.round import LegKind
from evalkit.domain.triage import CLASS_WORDS, Decision
from evalkit.domain.verdict import Verdict
from evalkit.maths.differences import Limits
from evalkit.progress.results import answer_round
from evalkit.reports.round_facts import agreement_facts
from evalkit.reports.round_rows import report_row
from evalkit.reports.rows import ReportRow
from evalkit.reports.to_markdown import to_markdown
from tests.progress.test_absent import BOX, lost
from tests.reports.values import (
    CUTS,
    LINE,
    MADE_ON,
    RUBRIC,
    TIP,
    WHOLE,
    assessment_of,
    marking_of,
    picture_of,
    readings,
    result_of,
    round_of,
)

NOT_IN_BOX = "not in the box when it came back"
GONE = tuple(
    one
    for key, places in (("ride-line", LINE), ("tips", TIP), ("finish", WHOLE), ("hair", CUTS))
    for one in readings(1, Stage.AS_RETURNED, key, places, NotSeen(why=Unseen.COULD_NOT), note="it was not in the box")
)


def came_back(losses: Losses, marked: MarkedPair, assessed: AssessedPair | None = None) -> ReportRow:
    """The small round with this first pair, and these words on its way back."""
    round_ = round_of()
    legs = tuple(
        leg.model_copy(update={"condition": arrival_words(losses)}) if leg.kind is LegKind.RECEIVED_BACK else leg
        for leg in round_.legs
    )
    round_ = round_.model_copy(update={"legs": legs})
    marking, assessment = marking_of(round_), assessment_of(round_)
    marking = marking.model_copy(update={"pairs": (marked, *marking.pairs[1:])})
    if assessed:
        assessment = assessment.model_copy(update={"pairs": (assessed, *assessment.pairs[1:])})
    result = answer_round(round_, RUBRIC, assessment, marking)
    return report_row(result, made_on=MADE_ON, picture_of=picture_of)


def test_a_lost_pair_has_its_standing_and_neither_score_nor_tests():
    row = came_back(Losses(missing=(1,)), MarkedPair(number=1, readings=GONE))
    line, section = row.summary[0], row.pairs[0]
    assert (line.verdict, line.verdict_shape, line.remark) == (NOT_IN_BOX, "unseen", "")
    assert (line.score, line.score_range, line.strip) == ("–", "", None)
    assert (section.why, section.sum_words) == ("", "")
    assert section.findings[0] == (
        "Not in the box when it came back: nothing of it could be marked, so there is neither verdict nor score."
    )
    assert "could not" not in repr(section.findings)
    assert all("it was not in the box" not in note for one in section.criteria for note in one.notes)
    assert row.journey[-1] == "Received back on 27 April 2026: Missing: pair 1"  # the page ends it with a full stop
    verdicts = next(one for one in row.facts if one.name == "Verdicts")
    assert verdicts.words == "1 accepted, 0 rework, 1 not shown"
    assert verdicts.remark == "2 of 3 pairs graded; no. 1 missing when the box came back, outside the average"


def test_no_page_lists_tests_for_a_lost_pair():
    words = to_markdown(report_row(lost(BOX, 3), made_on=MADE_ON, picture_of=picture_of))
    assert f"## Pair 3: {NOT_IN_BOX}" in words
    assert "would settle it" not in words
    assert "0.0 to 100.0" not in words


def test_damage_on_the_way_back_stands_with_what_it_excused():
    marked = MarkedPair(number=1, transit_note="Pocket torn, tip bent.", transit=("tips",))
    assert came_back(Losses(damaged=(1,)), marked).pairs[0].findings[0] == (
        "Damaged in transit on the way back: Pocket torn, tip bent. Not held against the work: Tip condition."
    )


@pytest.mark.parametrize(
    ("note", "line"),
    [
        (
            "Pocket torn",
            "Damaged in transit on the way back: Pocket torn. No criterion was put down to it.",
        ),
        ("", "Damaged in transit on the way back. No criterion was put down to it."),
    ],
)
def test_damage_that_excused_nothing_is_told_as_well(note: str, line: str):
    assert line in came_back(Losses(damaged=(1,)), MarkedPair(number=1, transit_note=note)).pairs[0].findings


def test_an_undamaged_pair_tells_of_no_damage():
    row = came_back(Losses(), MarkedPair(number=1))
    assert not any("transit" in line for line in row.pairs[0].findings)


# --- words that stood unexplained -------------------------------------------------------------------------------------


def test_the_own_verdict_on_a_pair_left_alone_is_shown():
    alone = AssessedPair(number=1, decision=Decision.LEAVE, reason="cracked", verdict=Verdict.REWORK)
    row = came_back(Losses(), MarkedPair(number=1, called_for=Decision.LEAVE), alone)
    assert (row.summary[0].verdict, row.summary[0].own_verdict) == ("rightly left alone", "rework")


def test_a_pair_left_alone_without_a_word_on_it_has_no_verdict_of_its_own():
    alone = AssessedPair(number=1, decision=Decision.LEAVE, reason="cracked")
    row = came_back(Losses(), MarkedPair(number=1, called_for=Decision.LEAVE), alone)
    assert row.summary[0].own_verdict == "–"


def test_the_letters_are_explained():
    row = report_row(result_of(), made_on=MADE_ON, picture_of=picture_of)
    assert all(f"{letter} {words}" in row.classes for letter, words in CLASS_WORDS.items())


def test_two_differences_of_unlike_sign_are_explained_and_only_they():
    result = result_of()
    why = "it points the other way than the levels do"
    found = {}
    for bias in (9.3, -9.3, 0.0):
        agreement = replace(
            result.agreement, mean_difference=-0.06, limits=Limits(n=6, k=1.96, confidence=0.95, bias=bias)
        )
        facts = agreement_facts(replace(result, agreement=agreement))
        found[bias] = next(one.remark for one in facts if one.name == "Own score minus mentor's")
    assert {bias: why in remark for bias, remark in found.items()} == {9.3: True, -9.3: False, 0.0: False}

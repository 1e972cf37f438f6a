"""The words on what was there to find: one sentence, its shares, its lines, and by whose eyes the work is judged."""

from __future__ import annotations

import pytest

from evalkit.progress.results import answer_round
from evalkit.reports.found_words import found_facts, found_words, pair_found_lines
from evalkit.reports.round_facts import round_facts
from evalkit.reports.round_rows import report_row
from tests.progress.boxes import days_later
from tests.progress.test_found import BEFORE, BOX, intake_of, read_before

READ = read_before(BOX, BEFORE)


def test_without_intake_readings_nothing_is_said():
    assert (found_words(BOX), found_facts(BOX)) == ("", ())
    assert all(pair_found_lines(pair, BOX) == () for pair in BOX.pairs)


def test_the_sentence_counts_what_the_result_counts():
    assert found_words(READ) == (
        "Before it went, Oda Ferrin saw 4 faults in the box; as received, Nia Holm found 1, missed 2 and did not look "
        "for 1. Thought faulty though clean: 1 of 1 criterion."
    )
    facts = {fact.name: fact.words for fact in found_facts(READ)}
    assert facts == {
        "Faults found as received": "1 of 4 (25 %; 4 to 70 %)",
        "Faults imagined as received": "1 of 1 (100 %; 20 to 100 %)",
    }


def test_each_pair_tells_its_own():
    first, second = READ.pairs
    assert pair_found_lines(first, READ) == (
        "Before posting Oda Ferrin saw a fault in Burr (found) and Tips (missed).",
        "As received a fault was seen that Oda Ferrin had not seen before posting: Finish.",
    )
    assert pair_found_lines(second, READ) == (
        "Before posting Oda Ferrin saw a fault in Burr (missed) and Tips (not looked for).",
    )


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ([{}, {}], "Oda Ferrin read the box before it went; nothing of it can be set beside the assessment."),
        (
            [{"burr": 3}, {}],
            "Before it went, Oda Ferrin saw no fault in the box. Thought faulty though clean: 1 of 1 criterion.",
        ),
        ([{"burr": 0}, {}], "Before it went, Oda Ferrin saw 1 fault in the box; as received, Nia Holm found 1."),
    ],
)
def test_the_ends_of_the_sentence(rows, sentence: str):
    assert found_words(read_before(BOX, rows)) == sentence


def test_without_an_assessment_nothing_stands_beside_it():
    alone = answer_round(BOX.round, BOX.rubric, None, BOX.marking, intake=intake_of(BOX, BEFORE))
    assert found_words(alone) == "Oda Ferrin read the box before it went; there is no assessment to set beside that."
    assert found_facts(alone) == ()


def test_the_page_says_by_whose_eyes_the_work_is_judged():
    def eyes(result) -> list[tuple[str, str]]:
        return [(fact.words, fact.remark) for fact in round_facts(result) if fact.name == "Worse than it came"]

    (two,) = eyes(BOX)
    assert two[1].endswith("as returned by the mentor's eyes, against as received by the trainee's")
    (hers,) = eyes(READ)
    assert hers == ("0 of 4 criteria", "by Oda Ferrin's own eyes both times, before posting and as returned")
    both = eyes(read_before(BOX, [BEFORE[0], {}]))
    assert [words for words, _ in both] == ["0 of 3 criteria", "1 of 1 criterion"]


def test_the_method_is_explained_where_it_was_used():
    def method(result) -> str:
        return " ".join(report_row(result, made_on=days_later(3), picture_of=str).method)

    assert "Found as received" in method(READ)
    assert "Found as received" not in method(BOX)

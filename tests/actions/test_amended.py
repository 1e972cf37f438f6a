"""What an amendment changed, told in words pair by pair."""

from __future__ import annotations

from evalkit.actions.amended import MOST_READINGS, changed_words
from tests.reports.values import CUTS, LINE, RUBRIC, level, marking_of, round_of

ROUND = round_of()
MARKING = marking_of(ROUND)


def told(number: int, **update: object) -> tuple[str, ...]:
    pairs = tuple(pair.model_copy(update=update) if pair.number == number else pair for pair in MARKING.pairs)
    return changed_words(MARKING, MARKING.model_copy(update={"pairs": pairs}), ROUND, RUBRIC)


def test_nothing_changed_says_nothing():
    assert changed_words(MARKING, MARKING, ROUND, RUBRIC) == ()


def test_a_reading_is_told_with_what_it_was_and_whether_the_verdict_turned():
    first = MARKING.pairs[1]
    at = next(n for n, one in enumerate(first.readings) if one.criterion == "tips")
    worse = first.readings[at].model_copy(update={"seen": level(0)})
    others = (*first.readings[:at], worse, *first.readings[at + 1 :])
    (line,) = told(2, readings=others)
    assert line.startswith("Pair 2 was changed: Tip condition at tip 0, was ")
    assert line.endswith("; now rework, was accepted.")


def test_words_alone_leave_the_verdict_unsaid():
    assert told(1, keep="Another word.") == ("Pair 1 was changed: one thing to keep.",)
    assert told(1, comments=()) == ("Pair 1 was changed: comment on Ride line.",)


def test_many_readings_are_counted():
    assert len(LINE) + len(CUTS) > MOST_READINGS
    (line,) = told(1, readings=())
    assert " readings" in line
    assert "now not shown" in line or "verdict stays" in line


def test_the_letter_is_told():
    after = MARKING.model_copy(update={"letter": "Another."})
    assert changed_words(MARKING, after, ROUND, RUBRIC) == ("The letter was changed.",)

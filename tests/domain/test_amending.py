"""What one version of a marking says otherwise than the version before it."""

from __future__ import annotations

from evalkit.domain.amending import ReadingChange, WordsChange, changes_between, criterion_name
from evalkit.domain.marking import Comment, MarkedPair
from tests.reports.values import RUBRIC, marking_of, round_of

MARKING = marking_of(round_of())


def changed(number: int, **update: object):
    pairs = tuple(pair.model_copy(update=update) if pair.number == number else pair for pair in MARKING.pairs)
    return changes_between(MARKING, MARKING.model_copy(update={"pairs": pairs}))


def test_the_same_marking_says_nothing_otherwise():
    assert changes_between(MARKING, MARKING) == ()
    assert changed(1, was_opened=True) == (), "whether it was blind is no word of the marking"


def test_a_reading_taken_away_added_or_changed():
    first = MARKING.pairs[0]
    (gone,) = changed(1, readings=first.readings[1:])
    assert gone == ReadingChange(1, first.readings[0].criterion, first.readings[0].place, first.readings[0], None)
    noted = first.readings[0].model_copy(update={"note": "seen twice"})
    (other,) = changed(1, readings=(noted, *first.readings[1:]))
    assert isinstance(other, ReadingChange)
    assert (other.before, other.after) == (first.readings[0], noted)


def test_the_order_of_readings_is_no_change():
    assert changed(1, readings=tuple(reversed(MARKING.pairs[0].readings))) == ()


def test_words_are_named():
    comment = Comment(criterion="tips", text="quite another")
    assert changed(2, comments=(comment,))[-1] == WordsChange(2, "comment on tips")
    assert changed(2, keep="other") == (WordsChange(2, "one thing to keep"),)
    assert changed(3, notes="other") == (WordsChange(3, "notes"),)


def test_a_pair_that_came_or_went():
    fewer = MARKING.model_copy(update={"pairs": MARKING.pairs[:2]})
    gone = changes_between(MARKING, fewer)
    assert {change.number for change in gone} == {3}
    assert {change.number for change in changes_between(fewer, MARKING)} == {3}
    empty = MARKING.model_copy(update={"pairs": (*MARKING.pairs[:2], MarkedPair(number=3))})
    assert changes_between(fewer, empty) == ()


def test_a_criterion_is_called_by_its_name():
    assert criterion_name(RUBRIC, "tips") == "Tip condition"
    assert criterion_name(RUBRIC, "gone") == "gone"

"""What was missing or damaged when a box was opened comes back from its words as it went in."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.domain.arriving import Losses, arrival_words, find_missing_since, losses_in, losses_on
from evalkit.domain.round import Leg, LegKind
from tests.book.values import JOURNEY, round_of

numbers = st.lists(st.integers(1, 999), unique=True, max_size=8).map(sorted).map(tuple)
words = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=40).filter(
    lambda text: not text.strip().startswith(("Missing:", "Damaged in transit:"))
)


@given(numbers, numbers, words, words)
def test_the_words_are_read_back(missing: tuple[int, ...], damaged: tuple[int, ...], extra: str, condition: str):
    losses = Losses(missing, damaged)
    assert losses_in(arrival_words(losses, extra, condition)) == losses


@pytest.mark.parametrize(
    ("said", "losses"),
    [
        ("", Losses()),
        ("dry", Losses()),
        ("Missing: nothing", Losses()),
        ("The clerk said: Missing: pair 3.", Losses()),
        ("Missing: pair 3.", Losses((3,))),
        ("Missing: pair 3, 5. Damaged in transit: pair 7. Pair 7: tip chipped.", Losses((3, 5), (7,))),
        ("Damaged in transit: pair 1 to 4. Box wet", Losses((), (1, 2, 3, 4))),
        ("Missing: pair 1 to 999999999. ", Losses()),
    ],
)
def test_other_words_tell_of_no_pair(said: str, losses: Losses):
    assert losses_in(said) == losses


def test_each_leg_tells_its_own():
    legs = [
        JOURNEY[0],
        Leg(kind=LegKind.RECEIVED, happened_on=date(2026, 3, 4), condition="Missing: pair 2."),
        JOURNEY[2],
        Leg(kind=LegKind.RECEIVED_BACK, happened_on=date(2026, 3, 6), condition="Damaged in transit: pair 1."),
    ]
    round_ = round_of().model_copy(update={"legs": tuple(legs)})
    assert losses_on(round_, LegKind.RECEIVED) == Losses((2,))
    assert losses_on(round_, LegKind.RECEIVED_BACK) == Losses((), (1,))
    assert losses_on(round_of(), LegKind.RECEIVED) == Losses()
    assert losses_on(round_, LegKind.RECEIVED_BACK).numbers == {1}


def test_a_pair_is_missing_since_the_day_on_which_its_box_came_back_without_it():
    back = JOURNEY[3].model_copy(update={"condition": "Missing: pair 3."})
    round_ = round_of().model_copy(update={"legs": (*JOURNEY[:3], back)})
    assert find_missing_since(round_, "S-103") == back.happened_on
    assert find_missing_since(round_, "S-101") is None
    assert find_missing_since(round_, "S-999") is None
    assert find_missing_since(round_of(), "S-103") is None

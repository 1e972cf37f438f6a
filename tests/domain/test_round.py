"""A box goes out and comes back, one leg at a time and never back in time."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.round import (
    NEXT_LEGS,
    Leg,
    LegKind,
    NumberedPair,
    Person,
    Round,
    RoundState,
    span_words,
    state_after,
)
from evalkit.errors import InputError

DAY = date(2026, 3, 2)


def numbered(number: int, tag: str | None = None) -> NumberedPair:
    pair = Pair(tag=tag or f"P{number}", edge_type=EdgeType.CONVEX, size_in=Decimal(6))
    return NumberedPair(number=number, pair=pair)


def round_of(*pairs: NumberedPair) -> Round:
    return Round(
        key="spring",
        trainee=Person(key="tess", name="Tess"),
        mentor=Person(key="mina", name="Mina"),
        rubric_key="shears",
        rubric_version=1,
        rubric_digest="0" * 64,
        planned_on=DAY,
        pairs=pairs or (numbered(1), numbered(2)),
    )


def travelled(*kinds: LegKind) -> Round:
    box = round_of()
    for at, kind in enumerate(kinds):
        box = box.after(Leg(kind=kind, happened_on=DAY + timedelta(days=at)))
    return box


JOURNEY = (LegKind.SENT, LegKind.RECEIVED, LegKind.RETURNED, LegKind.RECEIVED_BACK)


def test_the_whole_journey():
    states = [travelled(*JOURNEY[:n]).state for n in range(5)]
    assert states == [
        RoundState.PLANNED,
        RoundState.ON_ITS_WAY,
        RoundState.WITH_TRAINEE,
        RoundState.ON_ITS_WAY_BACK,
        RoundState.BACK,
    ]
    assert travelled(*JOURNEY).leg_on(LegKind.RETURNED) == DAY + timedelta(days=2)
    assert travelled().leg_on(LegKind.SENT) is None


@pytest.mark.parametrize("n", [1, 3])
def test_a_box_can_be_lost_only_on_its_way(n):
    assert travelled(*JOURNEY[:n], LegKind.LOST).state is RoundState.LOST


@given(st.lists(st.sampled_from(LegKind), max_size=6))
def test_only_what_can_come_next_comes_next(kinds):
    box = round_of()
    for kind in kinds:
        if kind in NEXT_LEGS[box.state]:
            box = box.after(Leg(kind=kind, happened_on=DAY))
            assert box.state is state_after(kind)
        else:
            before = box
            with pytest.raises(InputError, match="cannot be"):
                box.after(Leg(kind=kind, happened_on=DAY))
            assert box == before


def test_every_state_has_its_next_legs_and_the_end_has_none():
    assert set(NEXT_LEGS) == set(RoundState)
    assert {state for state, legs in NEXT_LEGS.items() if not legs} == {RoundState.BACK, RoundState.LOST}


def test_a_leg_cannot_lie_before_the_one_before_it():
    sent = travelled(LegKind.SENT)
    with pytest.raises(InputError, match="lies before 2026-03-02"):
        sent.after(Leg(kind=LegKind.RECEIVED, happened_on=DAY - timedelta(days=1)))
    with pytest.raises(InputError, match="lies before 2026-03-02"):
        round_of().after(Leg(kind=LegKind.SENT, happened_on=DAY - timedelta(days=1)))
    assert sent.after(Leg(kind=LegKind.RECEIVED, happened_on=DAY)).state is RoundState.WITH_TRAINEE


def test_a_leg_leaves_the_round_before_it_as_it_was():
    box = round_of()
    box.after(Leg(kind=LegKind.SENT, happened_on=DAY))
    assert box.legs == ()


@pytest.mark.parametrize(
    ("pairs", "words"),
    [((numbered(1), numbered(1, "P2")), "same number"), ((numbered(1), numbered(2, "P1")), "twice")],
)
def test_numbers_and_tags_stand_once(pairs, words):
    with pytest.raises(ValidationError, match=words):
        round_of(*pairs)


def test_a_round_needs_a_pair():
    with pytest.raises(ValidationError, match="at least 1"):
        Round.model_validate(dict(round_of()) | {"pairs": ()})


def test_a_missing_pair_is_named_with_those_that_are_there():
    assert round_of().get_pair(2).pair.tag == "P2"
    with pytest.raises(InputError, match=r"no pair 9 in this round\. The box holds the numbers 1, 2\."):
        round_of().get_pair(9)


@pytest.mark.parametrize(
    ("numbers", "words"), [((1, 2, 3), "1 to 3"), ((1, 3, 7), "1, 3, 7"), ((1, 2), "1, 2"), ((5,), "5"), ((), "")]
)
def test_numbers_are_said_as_a_person_would(numbers, words):
    assert span_words(numbers) == words


def test_the_order_of_pairs_does_not_change_the_numbers():
    assert round_of(numbered(2), numbered(1)).numbers == (1, 2)

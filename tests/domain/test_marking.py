"""The mentor's record: what it may hold, and whether it was made blind."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from evalkit.domain.marking import Answer, MarkedPair, Marking
from evalkit.domain.reading import Place, SeenLevel, Stage
from tests.domain.strategies import reading_of


def reading(number: int = 3, stage: Stage = Stage.AS_RETURNED):
    one = reading_of("tip", Place(), SeenLevel(level=2))
    return one.model_copy(update={"number": number, "stage": stage})


def marking(*pairs: MarkedPair) -> Marking:
    return Marking(round_key="spring", mentor_key="mina", rubric_digest="0" * 64, pairs=pairs)


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ({"readings": (reading(number=4),)}, "pair 4 as returned does not belong here"),
        ({"readings": (reading(stage=Stage.AS_RECEIVED),)}, "as received does not belong here"),
        ({"readings": (reading(), reading())}, "'tip' at whole pair as returned stands twice"),
        ({"answers": (Answer(question=1, text="Yes."), Answer(question=1, text="No."))}, "answered twice"),
        ({"transit": ("Not A Key",)}, "pattern"),
        ({"number": 0}, "greater than or equal to 1"),
    ],
)
def test_what_does_not_belong_is_refused(own, words):
    with pytest.raises(ValidationError, match=words):
        MarkedPair.model_validate({"number": 3} | own)


def test_one_opened_assessment_makes_a_marking_not_blind():
    assert marking(MarkedPair(number=1), MarkedPair(number=2)).is_blind
    assert not marking(MarkedPair(number=1), MarkedPair(number=2, was_opened=True)).is_blind


def test_a_number_stands_once_and_is_found():
    one = MarkedPair(number=1)
    assert marking(one).find_pair(1) is one
    assert marking(one).find_pair(2) is None
    with pytest.raises(ValidationError, match="a number stands twice"):
        marking(one, one)

"""Readings before posting: what may stand in them, and until when they may be made."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from evalkit.domain.intake import Intake, IntakePair, check_before_trainee
from evalkit.domain.reading import Reading, SeenLevel, Stage
from evalkit.errors import InputError
from tests.book.values import JOURNEY, intake_of, round_of


def reading(number: int, stage: Stage = Stage.AS_RECEIVED) -> Reading:
    return Reading(number=number, stage=stage, criterion="tips", seen=SeenLevel(level=1))


@pytest.mark.parametrize("stage", [Stage.AS_FINISHED, Stage.AS_RETURNED])
def test_only_readings_as_received_belong_there(stage: Stage):
    assert IntakePair(number=1, readings=(reading(1),)).readings == (reading(1),)
    with pytest.raises(ValidationError, match="does not belong here"):
        IntakePair(number=1, readings=(reading(1, stage),))
    with pytest.raises(ValidationError, match="does not belong here"):
        IntakePair(number=2, readings=(reading(1),))


def test_nothing_stands_twice():
    with pytest.raises(ValidationError, match="stands twice for one pair"):
        IntakePair(number=1, readings=(reading(1), reading(1)))
    intake = intake_of(round_of())
    with pytest.raises(ValidationError, match="a number stands twice"):
        Intake(**{**dict(intake), "pairs": (IntakePair(number=1), IntakePair(number=1))})
    assert intake.find_pair(1) == intake.pairs[0]
    assert intake.find_pair(3) is None


@pytest.mark.parametrize("n_legs", range(len(JOURNEY) + 1))
def test_they_may_be_made_until_the_trainee_has_the_box(n_legs: int):
    round_ = round_of().model_copy(update={"legs": JOURNEY[:n_legs]})
    if n_legs < 2:
        check_before_trainee(round_)
    else:
        with pytest.raises(InputError, match="before it reaches the trainee"):
            check_before_trainee(round_)

"""The trainee's record: what it may hold, and what metal was lost."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from evalkit.domain.assessment import AssessedPair, Assessment, WorkLog, WorkStep
from evalkit.domain.pair import Station
from evalkit.domain.reading import Place, SeenLevel, Stage
from tests.domain.strategies import reading_of


def reading(number: int = 3, stage: Stage = Stage.AS_FINISHED, level: int = 2):
    one = reading_of("tip", Place(), SeenLevel(level=level))
    return one.model_copy(update={"number": number, "stage": stage})


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ({"readings": (reading(number=4),)}, "pair 4 as finished does not belong here"),
        ({"readings": (reading(stage=Stage.AS_RETURNED),)}, "as returned does not belong here"),
        ({"readings": (reading(), reading(level=3))}, "'tip' at whole pair as finished stands twice"),
        ({"verdict": "not shown"}, "accepted or rework"),
        ({"decision": "leave"}, "needs its reason"),
        ({"decision": "leave", "reason": "  "}, "needs its reason"),
        ({"questions": ("one\ntwo",)}, "pattern"),
        ({"photos": ({"file": ""},)}, "at least 1"),
    ],
)
def test_what_does_not_belong_is_refused(own, words):
    with pytest.raises(ValidationError, match=words):
        AssessedPair.model_validate({"number": 3} | own)


def test_one_place_may_be_read_at_two_stages():
    pair = AssessedPair(number=3, readings=(reading(), reading(stage=Stage.AS_RECEIVED, level=0)))
    assert [one.seen.level for one in pair.at_stage(Stage.AS_RECEIVED)] == [0]
    assert pair.at_stage(Stage.AS_RETURNED) == ()


def test_metal_removed_with_a_pencil():
    """Heel 9.0 to 8.7 mm: 0.3. Middle 8.0 to 8.04, within the caliper's doubt: none. Tip measured once: not known."""
    work = WorkLog(
        width_before_mm={Station.HEEL: 9.0, Station.MIDDLE: 8.0},
        width_after_mm={Station.HEEL: 8.7, Station.MIDDLE: 8.04, Station.TIP: 5.0},
    )
    assert work.removed_mm == {Station.HEEL: pytest.approx(0.3), Station.MIDDLE: 0}
    assert work.most_removed_mm == pytest.approx(0.3)
    assert WorkLog().most_removed_mm is None


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ({"width_before_mm": {"tip": 0}}, "not possible"),
        ({"width_after_mm": {"tip": 60}}, "not possible"),
        ({"width_after_mm": {"tip": float("nan")}}, "finite"),
        ({"width_before_mm": {"tip": 5}, "width_after_mm": {"tip": 5.2}}, "cannot be wider after"),
        ({"length_before_mm": 70, "length_after_mm": 71}, "cannot be longer after"),
        ({"minutes": -1}, "greater than or equal to 0"),
        ({"angle": {"number": 45, "unit": "mm"}}, "deg included"),
        ({"angle": {"number": 90, "unit": "deg dial"}}, "less than 90"),
    ],
)
def test_impossible_measures_are_refused(own, words):
    with pytest.raises(ValidationError, match=words):
        WorkLog.model_validate(own)


@pytest.mark.parametrize("own", [{"grit": 1000}, {"scale": "mesh"}])
def test_a_grit_without_its_scale_says_little(own):
    with pytest.raises(ValidationError, match="needs its scale"):
        WorkStep.model_validate({"what": "hone"} | own)


def test_a_number_stands_once_and_is_found():
    pairs = (AssessedPair(number=1), AssessedPair(number=2))
    record = Assessment(round_key="spring", trainee_key="tess", rubric_digest="0" * 64, pairs=pairs)
    assert record.find_pair(2) is pairs[1]
    assert record.find_pair(3) is None
    with pytest.raises(ValidationError, match="a number stands twice"):
        Assessment(round_key="spring", trainee_key="tess", rubric_digest="0" * 64, pairs=(pairs[0], pairs[0]))

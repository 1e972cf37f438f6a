"""One thing seen: what a reading may say, and what it may not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, Station
from evalkit.domain.reading import (
    WHOLE_PAIR,
    CutResult,
    Medium,
    NotSeen,
    Place,
    Reading,
    SeenCut,
    SeenLevel,
    SeenMeasure,
    Stage,
    Unseen,
    find_doubled,
)


def reading(seen: object, **own: object) -> Reading:
    return Reading.model_validate({"number": 3, "stage": "as received", "criterion": "tip", "seen": seen} | own)


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        ({"kind": "level", "level": -1}, "greater than or equal to 0"),
        ({"kind": "level", "level": 10}, "less than or equal to 9"),
        ({"kind": "level"}, "Field required"),
        ({"kind": "rung", "level": 1}, "does not match any of the expected tags"),
        ({"kind": "measure", "number": 121, "unit": "deg included"}, "not possible here"),
        ({"kind": "measure", "number": 91, "unit": "deg dial"}, "not possible here"),
        ({"kind": "measure", "number": -0.1, "unit": "mm"}, "not possible here"),
        ({"kind": "measure", "number": float("inf"), "unit": "mm"}, "finite"),
        ({"kind": "measure", "number": 1, "unit": "mm", "doubt": -1}, "greater than or equal to 0"),
        ({"kind": "measure", "number": 1}, "Field required"),
        ({"kind": "cut", "medium": "hair", "result": "clean", "push_mm": 1}, "has no push in mm"),
        ({"kind": "cut", "medium": "hair", "result": "push", "push_mm": 101}, "less than or equal to 100"),
        ({"kind": "cut", "medium": "string", "result": "clean"}, "'dry tissue'"),
        ({"kind": "not seen", "why": "forgot"}, "'not tested'"),
        ({"kind": "not seen", "why": "not tested", "level": 2}, "Extra inputs"),
    ],
)
def test_what_cannot_be_seen_is_refused(seen, words):
    with pytest.raises(ValidationError, match=words):
        reading(seen)


@pytest.mark.parametrize("number", [0, 1000])
def test_a_pair_wears_a_number_from_1_to_999(number):
    with pytest.raises(ValidationError):
        reading({"kind": "level", "level": 1}, number=number)


SEEN = st.one_of(
    st.builds(SeenLevel, level=st.integers(0, 9)),
    st.builds(SeenMeasure, number=st.floats(0, 90), unit=st.sampled_from(Unit), doubt=st.none() | st.floats(0, 5)),
    st.builds(SeenCut, medium=st.sampled_from(Medium), result=st.sampled_from(CutResult)),
    st.builds(NotSeen, why=st.sampled_from(Unseen)),
)
READINGS = st.builds(
    Reading,
    number=st.integers(1, 3),
    stage=st.sampled_from(Stage),
    criterion=st.sampled_from(("tip", "rod-line")),
    blade=st.sampled_from((None, *Blade)),
    station=st.sampled_from((None, *Station)),
    seen=SEEN,
    note=st.text(st.characters(exclude_categories=("Cc", "Cs"), include_characters="\n\t"), max_size=20),
)


@given(READINGS)
def test_a_reading_survives_the_way_through_json(one):
    assert Reading.model_validate_json(one.model_dump_json()) == one
    assert one.is_seen is not isinstance(one.seen, NotSeen)
    assert one.place == (one.blade, one.station)


@given(st.lists(READINGS, max_size=8))
def test_a_doubled_reading_is_found(readings):
    """By comparing every two of them."""
    same = [
        later
        for at, later in enumerate(readings)
        for earlier in readings[:at]
        if (earlier.number, earlier.stage, earlier.criterion, earlier.place)
        == (later.number, later.stage, later.criterion, later.place)
    ]
    assert find_doubled(readings) == (same[0] if same else None)


def test_places_name_themselves():
    named = {Place(Blade.THUMB, Station.TIP): "thumb tip", Place(None, Station.HEEL): "heel", WHOLE_PAIR: "whole pair"}
    assert {place: str(place) for place in named} == named

"""The list to judge by: what hangs together, what does not, and what is different for one edge type."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from evalkit.domain.bands import Limit, LimitOf
from evalkit.domain.criterion import Criterion, Use
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import CutResult, Place
from evalkit.domain.rubric import Rubric, rubric_faults
from tests.domain.strategies import rubrics, words

CUTS = dict.fromkeys((cut.value for cut in CutResult), 1)
JUDGED: dict[str, object] = {"key": "tip", "name": "Tip", "levels": words(4), "weight": 2}
MEASURED = JUDGED | {"kind": "measured", "unit": "mm", "bands": [{"level": 3, "to": 1}, {"level": 2, "to": 2}]}
CUT = JUDGED | {"kind": "cut", "media": ["hair"], "cuts": CUTS}


def rubric(*criteria: dict[str, object], **own: object) -> Rubric:
    return Rubric.model_validate(
        {"key": "small", "name": "Small", "levels": words(4), "criteria": criteria or (JUDGED,)} | own
    )


@pytest.mark.parametrize(
    ("criterion", "fault"),
    [
        (JUDGED | {"kind": "measured"}, "needs a unit and bands"),
        (MEASURED | {"bands": []}, "needs a unit and bands"),
        (JUDGED | {"kind": "cut"}, "needs media and cuts"),
        (CUT | {"cuts": {"clean": 3}}, "does not say what these earn: catch, fold, push, tear, not cut"),
        (JUDGED | {"unit": "mm"}, "unit belongs to a measured"),
        (JUDGED | {"target": 45}, "target belongs to a measured"),
        (CUT | {"bands": MEASURED["bands"]}, "bands belongs to a measured"),
        (MEASURED | {"push_mm": {1: 3}}, "push_mm belongs to a cut"),
        (JUDGED | {"media": ["hair"]}, "media belongs to a cut"),
        (JUDGED | {"blades": ["thumb", "thumb"]}, "names a place twice"),
        (JUDGED | {"weight": 0, "must_pass": 2}, "needs a weight"),
        (JUDGED | {"limits": [{"of": "spread along a blade", "at_most": {3: 1}}]}, "worked out from measured values"),
        (CUT | {"push_mm": {0: 3}}, "levels 1 and up"),
        (CUT | {"push_mm": {1: 1, 2: 3}}, "a higher level more push"),
        (CUT | {"types": {"bevel": {"push_mm": {0: 3}}}}, "levels 1 and up"),
        (JUDGED | {"types": {"bevel": {"bands": MEASURED["bands"]}}}, "bands belongs to a measured"),
        (MEASURED | {"types": {"bevel": {"bands": []}}}, "a measured criterion needs bands"),
        (MEASURED | {"bands": [{"level": 3}]}, "needs 'from', 'to' or 'within'"),
        (MEASURED | {"bands": [{"level": 3, "within": 1, "to": 2}]}, "not both"),
        (MEASURED | {"bands": [{"level": 3, "from": 2, "to": 1}]}, "upside down"),
        (MEASURED | {"limits": [{"of": "spread along a blade", "at_most": {0: 1}}]}, "levels 1 and up"),
        (MEASURED | {"limits": [{"of": "spread along a blade", "at_most": {2: 1, 3: 2}}]}, "may not allow more"),
    ],
)
def test_a_criterion_that_contradicts_itself_is_refused(criterion, fault):
    with pytest.raises(ValidationError, match=fault):
        Criterion.model_validate(criterion)


@pytest.mark.parametrize(
    ("criterion", "fault"),
    [
        (JUDGED | {"levels": words(3)}, "words 3 levels, the ladder has 4"),
        (JUDGED | {"types": {"bevel": {"levels": words(2)}}}, "words 2 levels for bevel"),
        (JUDGED | {"must_pass": 4}, "off the ladder"),
        (CUT | {"cuts": CUTS | {"clean": 4}}, "off the ladder"),
        (CUT | {"push_mm": {4: 1}}, "off the ladder"),
        (CUT | {"types": {"bevel": {"push_mm": {4: 1}}}}, "off the ladder"),
        (JUDGED | {"limits": [{"of": "places below fit", "at_most": {4: 1}}]}, "off the ladder"),
        (MEASURED | {"bands": [{"level": 4, "to": 1}]}, "off the ladder"),
        (MEASURED | {"bands": [{"level": 2, "to": 1}]}, "no band for the top level 3"),
        (MEASURED | {"bands": [{"level": 3, "to": 1}, {"level": 3, "to": 2}]}, "two bands for one level"),
        (MEASURED | {"bands": [{"level": 3, "to": 2}, {"level": 2, "to": 1}]}, "reaches outside"),
        (MEASURED | {"bands": [{"level": 3, "within": 2}]}, "no target"),
        (MEASURED | {"types": {"bevel": {"bands": [{"level": 3, "within": 2}]}}}, "no target"),
        (JUDGED | {"types": {"bevel": {"use": "advisory"}}}, "nothing counts for a bevel pair"),
    ],
)
def test_a_criterion_that_does_not_fit_the_rubric_is_refused(criterion, fault):
    with pytest.raises(ValidationError, match=fault):
        rubric(criterion)


@pytest.mark.parametrize(
    ("own", "fault"),
    [
        ({"fit": 4}, "fit is level 4, but the ladder ends at 3"),
        ({"criteria": (JUDGED, JUDGED)}, "stands twice"),
        ({"mark": 101}, "less than or equal to 100"),
        ({"levels": words(1)}, "at least 2"),
        ({"criteria": ()}, "at least 1"),
        ({"edge_types": ()}, "edge_types is empty"),
        ({"format": 2}, "less than or equal to 1"),
    ],
)
def test_a_rubric_that_does_not_hang_together_is_refused(own, fault):
    with pytest.raises(ValidationError, match=fault):
        rubric(**own)


def test_what_is_different_for_one_edge_type():
    """A bevel pair is read at the tip of each blade, within 2 of 50; a sword pair only for advice."""
    special = {
        "bevel": {"blades": ["thumb", "finger"], "stations": ["tip"], "target": 50, "levels": tuple("abcd")},
        "sword": {"use": "advisory"},
        "toothed": {"use": "not applicable"},
    }
    angle = JUDGED | {
        "kind": "measured", "unit": "deg included", "target": 45, "bands": [{"level": 3, "within": 2}], "must_pass": 2,
        "types": special,
    }  # fmt: skip
    whole = rubric(angle, JUDGED | {"key": "other"})
    on = {kind: whole.on(kind)[0] for kind in EdgeType}
    assert on[EdgeType.CONVEX].places == (Place(),)
    assert on[EdgeType.CONVEX].bands == ((3, 43, 47),)
    assert on[EdgeType.BEVEL].places == (Place(Blade.THUMB, Station.TIP), Place(Blade.FINGER, Station.TIP))
    assert on[EdgeType.BEVEL].bands == ((3, 48, 52),)
    assert on[EdgeType.BEVEL].levels == tuple("abcd")
    assert (on[EdgeType.SWORD].weight, on[EdgeType.SWORD].must_pass, on[EdgeType.SWORD].use) == (0, None, Use.ADVISORY)
    assert on[EdgeType.TOOTHED].use is Use.NOT_APPLICABLE
    assert (on[EdgeType.CONVEX].weight, on[EdgeType.CONVEX].must_pass) == (2, 2)


def test_a_criterion_without_weight_advises():
    on = rubric(JUDGED, JUDGED | {"key": "other", "weight": 0}).on(EdgeType.CONVEX)
    assert [one.use for one in on] == [Use.COUNTS, Use.ADVISORY]


def test_no_blades_for_one_type_is_the_whole_pair_and_silence_is_as_the_criterion_says():
    both = JUDGED | {"blades": ["thumb", "finger"], "types": {"bevel": {"blades": []}, "sword": {"why": "the same"}}}
    whole = rubric(both)
    assert whole.on(EdgeType.BEVEL)[0].places == (Place(),)
    assert whole.on(EdgeType.SWORD)[0].places == whole.on(EdgeType.CONVEX)[0].places == (
        Place(Blade.THUMB), Place(Blade.FINGER),
    )  # fmt: skip


def test_below_its_lowest_line_a_limit_leaves_one_level_less():
    assert Limit(of=LimitOf.FAILING, at_most={2: 0}).floor == 1


def test_the_digest_is_of_the_content():
    """Another order of keys is the same rubric; another word, or another order of criteria, is not."""
    one = rubric(JUDGED, JUDGED | {"key": "other"})
    turned = {key: one.model_dump(by_alias=True)[key] for key in reversed(one.model_dump(by_alias=True))}
    assert Rubric.model_validate(turned).digest == one.digest
    assert rubric(JUDGED, JUDGED | {"key": "other", "ask": "?"}).digest != one.digest
    assert rubric(JUDGED | {"key": "other"}, JUDGED).digest != one.digest
    assert len(one.digest) == 64


def test_a_rubric_frozen_before_known_faults_had_weight_keeps_its_digest():
    """The digest was computed by the program as it was before `harder_with`."""
    criteria = (
        JUDGED,
        MEASURED | {"key": "width", "types": {"bevel": {"use": "advisory"}}},
        CUT | {"key": "hair", "must_pass": 2},
    )
    one = rubric(*criteria, drop_test={"ring": "finger"})
    assert one.digest == "f1f9df0b2848171f9f0392d9bac458bd3a428aa3eae0f863cb47feb380a0be88"
    assert "harder_with" not in one.content
    harder = rubric(*criteria, drop_test={"ring": "finger"}, harder_with={"nick": ["width"]})
    assert Rubric.model_validate(json.loads(harder.content)) == harder
    assert harder.digest != one.digest


@pytest.mark.parametrize(
    ("harder", "fault"),
    [
        ({"nick": ["hare"]}, "'nick' names 'hare', which is no criterion here"),
        ({"nick": ["tip", "tip"]}, "'nick' names a criterion twice"),
        ({"nick": []}, "'nick' makes no criterion harder"),
        ({"Nick": ["tip"]}, "should match pattern"),
    ],
)
def test_a_known_fault_makes_criteria_of_the_rubric_harder(harder, fault):
    assert rubric(harder_with={"nick": ["tip"]}).harder_with == {"nick": ("tip",)}
    with pytest.raises(ValidationError, match=fault):
        rubric(harder_with=harder)


@settings(max_examples=40)
@given(rubrics(), st.data())
def test_a_rubric_survives_the_way_through_json(one, data):
    text = one.model_dump_json(by_alias=True)
    back = Rubric.model_validate_json(text)
    assert back == one
    assert back.digest == one.digest
    plain = json.loads(text)
    keys = data.draw(st.permutations(list(plain)))
    assert Rubric.model_validate_json(json.dumps({key: plain[key] for key in keys})).digest == one.digest
    assert list(rubric_faults(one)) == []


@settings(max_examples=40)
@given(rubrics())
def test_the_best_band_lies_within_all_others(one):
    for on in one.on(one.edge_types[0]):
        for (upper, low, high), (lower, low_2, high_2) in zip(on.bands, on.bands[1:], strict=False):
            assert upper > lower
            assert low_2 <= low <= high <= high_2
        for level in range(1, one.top + 1):
            earning = [(low, high) for at, low, high in on.bands if at >= level]
            widest = on.band_of(level)
            assert (widest in earning) if earning else (widest is None)
            assert all(widest[0] <= low and high <= widest[1] for low, high in earning)

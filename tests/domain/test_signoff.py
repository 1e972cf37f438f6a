"""A sign-off carries its evidence and can be taken back once, with a reason."""

from __future__ import annotations

from datetime import date

import pytest
from pydantic import ValidationError

from evalkit.domain.pair import EdgeType
from evalkit.domain.signoff import SignOff
from evalkit.errors import AlreadyError, InputError

GIVEN = {
    "trainee_key": "nia",
    "mentor_key": "oda",
    "edge_types": ("bevel",),
    "signed_on": date(2026, 5, 1),
    "answers": {"bevel": "ready"},
    "evidence": '{"format": 1}',
}


def test_it_stands_until_it_is_withdrawn():
    sign_off = SignOff.model_validate(GIVEN)
    assert sign_off.stands
    taken = sign_off.withdrawn(date(2026, 6, 1), "three came back dull")
    assert not taken.stands
    assert sign_off.stands
    assert taken.evidence == sign_off.evidence
    assert SignOff.model_validate_json(taken.model_dump_json()) == taken


def test_withdrawing_badly():
    sign_off = SignOff.model_validate(GIVEN)
    with pytest.raises(InputError, match="needs its reason"):
        sign_off.withdrawn(date(2026, 6, 1), " ")
    with pytest.raises(InputError, match="before the day"):
        sign_off.withdrawn(date(2026, 4, 1), "dull")
    with pytest.raises(AlreadyError, match="withdrawn on"):
        sign_off.withdrawn(date(2026, 6, 1), "dull").withdrawn(date(2026, 7, 1), "dull")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"edge_types": ()}, "at least 1"),
        ({"edge_types": ("bevel", "bevel")}, "stands twice"),
        ({"answers": {}}, "needs the answer"),
        ({"answers": {"bevel": "ready", "sword": "ready"}}, "no other"),
        ({"withdrawn_on": date(2026, 6, 1)}, "its day and its reason"),
        ({"reason": "dull"}, "its day and its reason"),
        ({"withdrawn_on": date(2026, 4, 1), "reason": "dull"}, "before it was given"),
        ({"evidence": ""}, "evidence"),
        ({"evidence": "[1]"}, "evidence"),
    ],
)
def test_what_cannot_be(change, said):
    with pytest.raises(ValidationError, match=said):
        SignOff.model_validate({**GIVEN, **change})


def test_edge_types_are_the_trade_s():
    assert SignOff.model_validate(GIVEN).edge_types == (EdgeType.BEVEL,)

"""A pair hangs together, or says what does not."""

from __future__ import annotations

from decimal import Decimal

import pytest
from pydantic import ValidationError

from evalkit.domain.pair import Blade, EdgeType, KnownFault, Pair, Station


def pair(**own: object) -> Pair:
    return Pair.model_validate({"tag": "S-014", "edge_type": "convex", "size_in": "6"} | own)


@pytest.mark.parametrize("size", ["4", "5.25", "5.5", "6.75", "10"])
def test_sizes_come_in_quarters(size):
    assert pair(size_in=size).size_in == Decimal(size)


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ({"size_in": "5.6"}, "not a step of a quarter inch"),
        ({"size_in": "3.75"}, "greater than or equal to 4"),
        ({"size_in": "10.25"}, "less than or equal to 10"),
        ({"teeth": 30}, "has no teeth"),
        ({"edge_type": "toothed", "teeth": 2}, "greater than or equal to 3"),
        ({"declared_value": "120"}, "needs its currency"),
        ({"currency": "EUR"}, "needs its currency"),
        ({"declared_value": "120", "currency": "euro"}, "pattern"),
        ({"declared_value": "-1", "currency": "EUR"}, "greater than or equal to 0"),
        ({"tag": "two words"}, "pattern"),
        ({"tag": "-1"}, "pattern"),
        ({"edge_type": "hollow"}, "'convex'"),
        ({"difficulty": 6}, "less than or equal to 5"),
        ({"blade_length_mm": 500}, "less than 200"),
        ({"blade_length_mm": float("nan")}, "finite"),
        ({"pivot": "two\nlines"}, "pattern"),
        ({"origin": "nul \x00 byte"}, "pattern"),
        ({"colour": "pink"}, "Extra inputs"),
    ],
)
def test_what_cannot_be_is_refused(own, words):
    with pytest.raises(ValidationError, match=words):
        pair(**own)


def test_a_pair_is_never_changed_in_place():
    with pytest.raises(ValidationError, match="frozen"):
        pair().tag = "S-015"


def test_a_toothed_pair_has_teeth_and_faults_have_places():
    fault = KnownFault(tag="nick", severity=3, blade=Blade.THUMB, station=Station.TIP)
    toothed = pair(edge_type=EdgeType.TOOTHED, teeth=30, faults=(fault,), declared_value="120.50", currency="EUR")
    assert Pair.model_validate_json(toothed.model_dump_json()) == toothed

"""The likely declaration: limits by the Universal Postal Union (CN 22 under 300 SDR and up to 2 kg), from memory."""

from __future__ import annotations

from decimal import Decimal

import pytest

from evalkit.domain.posting import HS_CODE, Form, Unknown, declaration_for

EUR = {"EUR": Decimal("244.00")}


@pytest.mark.parametrize(
    ("sdr", "kg", "form"),
    [
        ("299.99", "2", Form.CN22),
        ("300", "2", Form.CN23),
        ("12", "2.001", Form.CN23),
        ("12", "0.4", Form.CN22),
        ("900", None, Form.CN23),
        ("12", None, Form.NOT_KNOWN),
        (None, "3", Form.CN23),
        (None, "1", Form.NOT_KNOWN),
        (None, None, Form.NOT_KNOWN),
    ],
)
def test_either_limit_settles_it_and_both_are_needed_for_the_smaller_form(sdr: str | None, kg: str | None, form: Form):
    found = declaration_for(
        EUR, 0, weight_kg=None if kg is None else Decimal(kg), value_sdr=None if sdr is None else Decimal(sdr)
    )
    assert found.form is form


def test_the_rate_is_given_and_never_guessed():
    assert declaration_for(EUR, 0, weight_kg=Decimal(1)).missing == (Unknown.RATE,)
    found = declaration_for(EUR, 0, weight_kg=Decimal(1), rate=Decimal("1.22"))
    assert (found.form, found.value_sdr, found.missing) == (Form.CN22, Decimal(200), ())
    assert declaration_for({**EUR, "USD": Decimal(1)}, 0, weight_kg=Decimal(1), rate=Decimal("1.22")).missing == (
        Unknown.RATE,
    )


def test_an_unknown_value_is_not_nothing():
    small = declaration_for(EUR, 1, weight_kg=Decimal(1), rate=Decimal("1.22"))
    assert (small.form, small.missing) == (Form.NOT_KNOWN, (Unknown.VALUE,))
    large = declaration_for({"EUR": Decimal(400)}, 1, weight_kg=Decimal(1), rate=Decimal("1.22"))
    assert large.form is Form.CN23  # what is known is too much already
    assert declaration_for({}, 12, weight_kg=Decimal(1), rate=Decimal(1)).form is Form.NOT_KNOWN
    assert declaration_for(EUR, 1, weight_kg=Decimal(1), value_sdr=Decimal(200)).form is Form.CN22


def test_the_heading_of_scissors():
    assert HS_CODE == "8213.00"  # Harmonized System, heading 8213: scissors, tailors' shears and similar shears

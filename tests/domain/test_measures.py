"""Units and conventions: facts of geometry and definition, and what must not be mixed."""

from __future__ import annotations

import math
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.domain.measures import (
    SHORT,
    Unit,
    convert,
    doubt_in,
    included_from_dial,
    open_deg_from_gap,
    tip_gap_mm,
)
from evalkit.errors import InputError

MEETS = {
    frozenset({Unit.MM, Unit.INCH}),
    frozenset({Unit.DEG_DIAL, Unit.DEG_INCLUDED}),
}


def test_an_inch_is_25_4_mm():
    """Exact since the international yard and pound agreement of 1959. A quarter inch is 6.35 mm."""
    assert convert(1, Unit.INCH, Unit.MM) == 25.4
    assert convert(0.25, Unit.INCH, Unit.MM) == 6.35
    assert convert(25.4, Unit.MM, Unit.INCH) == 1


def test_the_two_angle_conventions_agree_at_45_and_nowhere_else():
    """Common practice, no source: the dial reads 90 minus the included angle. 55 included is 35 on the dial."""
    assert convert(45, Unit.DEG_DIAL, Unit.DEG_INCLUDED) == 45
    assert convert(55, Unit.DEG_INCLUDED, Unit.DEG_DIAL) == 35
    assert [deg for deg in range(91) if included_from_dial(deg) == deg] == [45]


def test_a_tip_gap_is_the_chord_of_the_opening():
    """Blades of 70 mm at 60 degrees stand one blade length apart (an equilateral triangle); at 180, two."""
    assert tip_gap_mm(60, 70) == pytest.approx(70)
    assert tip_gap_mm(180, 70) == pytest.approx(140)
    assert tip_gap_mm(90, 70) == pytest.approx(70 * math.sqrt(2))


@given(st.floats(0, 180), st.floats(20, 200))
def test_an_angle_survives_the_way_through_its_gap(deg, length):
    """Near 180 degrees the gap hardly moves with the angle, so a billionth of it is worth some thousandths there."""
    gap = min(tip_gap_mm(deg, length), 2 * length)
    assert tip_gap_mm(open_deg_from_gap(gap, length), length) == pytest.approx(gap, abs=1e-9)
    assert open_deg_from_gap(gap, length) == pytest.approx(deg, abs=1e-5)


@given(st.sampled_from(sorted(MEETS, key=str)), st.floats(0, 90))
def test_there_and_back_is_where_it_started(units, number):
    one, two = units
    assert convert(convert(number, one, two), two, one) == pytest.approx(number, abs=1e-12)


def test_what_does_not_measure_the_same_is_not_converted():
    for one, two in product(Unit, repeat=2):
        if one is two:
            assert convert(7, one, two) == 7
        elif frozenset({one, two}) not in MEETS and (one, two) != (Unit.MM_TIP_GAP, Unit.DEG_OPEN):
            with pytest.raises(InputError, match="does not measure"):
                convert(7, one, two, blade_length_mm=70)


def test_a_tip_gap_needs_its_blade_length():
    with pytest.raises(InputError, match="only with the blade length"):
        convert(10, Unit.MM_TIP_GAP, Unit.DEG_OPEN)
    assert convert(70, Unit.MM_TIP_GAP, Unit.DEG_OPEN, blade_length_mm=70) == pytest.approx(60)


@pytest.mark.parametrize("gap", [-1, 141])
def test_a_gap_wider_than_two_blades_is_refused(gap):
    with pytest.raises(InputError, match="not possible with blades of 70 mm"):
        open_deg_from_gap(gap, 70)


def test_a_doubt_goes_with_its_number():
    """0.01 in is 0.254 mm and back; an angle keeps its doubt in either convention."""
    assert doubt_in(0.01, Unit.INCH, Unit.MM) == pytest.approx(0.254)
    assert doubt_in(0.254, Unit.MM, Unit.INCH) == pytest.approx(0.01)
    assert doubt_in(1.5, Unit.DEG_DIAL, Unit.DEG_INCLUDED) == 1.5
    assert doubt_in(1.5, Unit.COUNT, Unit.COUNT) == 1.5


@given(st.floats(0, 120), st.floats(0.01, 0.5))
def test_a_doubt_of_a_tip_gap_is_that_of_its_angle(gap, doubt):
    """Against the difference quotient of the angle itself."""
    step = 1e-4
    slope = (open_deg_from_gap(gap + step, 70) - open_deg_from_gap(gap, 70)) / step
    found = doubt_in(doubt, Unit.MM_TIP_GAP, Unit.DEG_OPEN, number=gap, blade_length_mm=70)
    assert found == pytest.approx(doubt * slope, rel=1e-3)


def test_a_doubt_of_a_tip_gap_alone_is_refused():
    with pytest.raises(InputError, match="blade length"):
        doubt_in(0.5, Unit.MM_TIP_GAP, Unit.DEG_OPEN)


def test_every_unit_has_its_short_form():
    assert set(SHORT) == set(Unit)

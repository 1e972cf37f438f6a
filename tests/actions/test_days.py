"""A day out of range: which field it stands in, and between which days it has to lie."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from evalkit.actions.fitting import check_day
from evalkit.errors import InputError

TODAY = date(2026, 11, 26)
FIRST = date(2026, 11, 3)
NEXT = TODAY + timedelta(days=1)


@pytest.mark.parametrize(
    ("day", "first", "mend"),
    [
        (NEXT, FIRST, "It has to lie between 2026-11-03 and 2026-11-26."),
        (FIRST - timedelta(days=1), FIRST, "It has to lie between 2026-11-03 and 2026-11-26."),
        (NEXT, TODAY, "It has to be 2026-11-26."),
        (NEXT, None, "It has to be 2026-11-26 or before."),
    ],
)
def test_a_day_out_of_range_names_its_field_and_its_bounds(day: date, first: date | None, mend: str) -> None:
    with pytest.raises(InputError) as told:
        check_day(day, first, TODAY, "teo-1.md", of="Written on")
    assert (told.value.what, told.value.mend) == (f"Written on: the day {day} is not possible.", mend)


@pytest.mark.parametrize("day", [None, FIRST, TODAY])
def test_a_day_within_is_let_through(day: date | None) -> None:
    check_day(day, FIRST, TODAY, "teo-1.md", of="Written on")


def test_from_afar_it_may_be_tomorrow() -> None:
    check_day(NEXT, FIRST, TODAY, "teo-1.zip", is_from_afar=True)
    with pytest.raises(InputError, match="not possible"):
        check_day(NEXT + timedelta(days=1), FIRST, TODAY, "teo-1.zip", is_from_afar=True)

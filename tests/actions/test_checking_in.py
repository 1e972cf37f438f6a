"""What stands on the journey when a box was unpacked."""

from __future__ import annotations

from datetime import date

import pytest

from evalkit.actions.checking_in import Arrival, Unpacking

DAY = date(2026, 5, 2)
FINE = (Arrival(1), Arrival(2), Arrival(3))


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (Unpacking(FINE, DAY), ""),
        (Unpacking(FINE, DAY, condition=" dry "), "dry"),
        (Unpacking((Arrival(1, is_missing=True), Arrival(2), Arrival(3, is_missing=True)), DAY), "Missing: pair 1, 3."),
        (Unpacking((Arrival(1, damage="tip bent"), *FINE[1:]), DAY), "Damaged in transit: pair 1."),
        (Unpacking(FINE, DAY, extra="a red pair"), "Too much: a red pair"),
    ],
)
def test_it_is_told_in_words(found: Unpacking, words: str):
    assert found.words == words


def test_what_is_missing_was_not_damaged():
    assert not Arrival(1, is_missing=True, damage="tip bent").is_damaged
    assert not Arrival(1, damage="  ").is_damaged

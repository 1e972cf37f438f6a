"""Chances in words: ends outward, and near the ends a bound, never a point."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.reports.progress_chances import band_words, modelled_words

CHANCES = st.floats(0, 1)


def span(words: str) -> tuple[float, float]:
    """What a reader may take from the words, in per cent: the lowest and the highest chance they allow."""
    allowed = []
    for bound, number in re.findall(r"(over |under )?(\d+)", words):
        allowed.append({"": (int(number), int(number)), "over ": (int(number), 100), "under ": (0, int(number))}[bound])
    return min(low for low, _ in allowed), max(high for _, high in allowed)


@given(CHANCES, CHANCES)
def test_a_band_in_words_never_leaves_out_what_the_band_holds(one, other):
    low, high = sorted((one, other))
    least, most = span(band_words(low, high))
    assert least <= 100 * low + 1e-6
    assert most >= 100 * high - 1e-6


@given(CHANCES, CHANCES)
def test_no_band_near_an_end_becomes_a_point(one, other):
    words = band_words(*sorted((one, other)))
    least, most = span(words)
    assert least < most or 0.02 < one < 0.98
    assert "100" not in words
    assert not re.search(r"\b0\b", words)


@given(CHANCES)
def test_a_chance_is_never_told_surer_than_it_is(chance):
    least, most = span(modelled_words(chance))
    assert least - 0.5 <= 100 * chance <= most + 0.5 + 1e-9


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0.991, 0.9988, "over 98 %"),  # was told as '99 to 99 %' of a criterion missed in the latest box
        (0.8231, 0.9277, "82 to 93 %"),
        (0.948, 0.987, "94 to 99 %"),
        (0.948, 0.9951, "94 to over 99 %"),
        (0.003, 0.051, "under 1 to 6 %"),
        (0.001, 0.012, "under 2 %"),
    ],
)
def test_bands_by_hand(low, high, words):
    assert band_words(low, high) == words


@pytest.mark.parametrize(
    ("chance", "words"), [(0.9956, "over 98 %"), (0.984, "98 %"), (0.87, "87 %"), (0.004, "under 2 %")]
)
def test_chances_by_hand(chance, words):
    assert modelled_words(chance) == words

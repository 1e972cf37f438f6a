"""Codes of countries and currencies against Debian's iso-codes (ISO 3166-1, ISO 4217)."""

from __future__ import annotations

import json
from pathlib import Path

from evalkit.domain.codes import COUNTRIES, CURRENCIES

LISTS = json.loads((Path(__file__).parent / "data" / "iso_codes.json").read_text(encoding="utf-8"))


def test_the_countries_are_those_of_iso_3166_1():
    assert set(COUNTRIES) == set(LISTS["iso_3166_1_alpha_2"].split())
    assert len(COUNTRIES) == 249
    assert all(name == name.strip() and len(name) > 2 for name in COUNTRIES.values())
    assert (COUNTRIES["CH"], COUNTRIES["JP"], COUNTRIES["AX"]) == ("Switzerland", "Japan", "Åland Islands")


def test_the_currencies_are_codes_of_iso_4217():
    known = set(LISTS["iso_4217"].split())
    assert set(LISTS["iso_4217_newer"].split()) >= CURRENCIES - known
    assert {"EUR", "USD", "GBP", "CHF", "JPY", "SEK", "AUD", "CAD", "NZD", "INR"} <= CURRENCIES
    assert not {"XDR", "XAU", "XTS", "XXX"} & CURRENCIES  # drawing rights, gold, testing, none

"""Each setting is declared once, read from its variable, and told by name when it cannot be."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from evalkit.errors import InputError
from evalkit.settings import PREFIX, Paper, Settings, read_settings

README = Path(__file__).parent.parent / "README.md"


def test_without_any_variable_the_defaults_stand():
    settings = read_settings({})
    assert settings == Settings()
    assert (settings.book, settings.who, settings.paper, settings.today, settings.rubrics) == (
        Path("evalkit-book"), "", Paper.A4, None, None,
    )  # fmt: skip


def test_each_setting_has_its_variable():
    given = {
        "BOOK": "b", "WHO": "oda", "PAPER": "Letter", "TODAY": "2026-05-01", "RUBRICS": "r", "COUNTRY": "DE",
        "OVERDUE_DAYS": "21",
    }  # fmt: skip
    assert {name.upper() for name in Settings.model_fields} == set(given)
    settings = read_settings({PREFIX + name: text for name, text in given.items()})
    assert settings == Settings(
        book=Path("b"), who="oda", paper=Paper.LETTER, today=date(2026, 5, 1), rubrics=Path("r"), country="DE",
        overdue_days=21,
    )  # fmt: skip


def test_an_empty_variable_is_as_if_it_were_not_there():
    assert read_settings({PREFIX + name.upper(): "" for name in Settings.model_fields}) == Settings()


def test_other_variables_are_none_of_its_business():
    assert read_settings({"EVALKIT_NOISE": "x", "PAPER": "A5", "HOME": "h"}) == Settings()


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("PAPER", "A5"),
        ("PAPER", "a4"),
        ("TODAY", "2026-02-30"),
        ("TODAY", "soon"),
        ("OVERDUE_DAYS", "0"),
        ("OVERDUE_DAYS", "a month"),
    ],
)
def test_what_cannot_be_is_named_with_what_it_takes(name: str, text: str):
    with pytest.raises(InputError) as told:
        read_settings({PREFIX + name: text})
    said = str(told.value)
    assert f"'{text}'" in said
    assert PREFIX + name in said
    assert str(Settings.model_fields[name.lower()].description) in said
    assert "\n" not in said


def test_every_setting_has_its_prose():
    assert all(field.description for field in Settings.model_fields.values())


@pytest.mark.parametrize("name", ["EVALKIT_BOOK", "EVALKIT_RUBRICS"])
def test_the_readme_names_it(name: str):
    assert name in README.read_text(encoding="utf-8")


def test_settings_do_not_change():
    with pytest.raises(ValueError, match="frozen"):
        Settings().who = "x"  # type: ignore[misc]

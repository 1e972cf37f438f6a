"""Every setting: its default, its check and its prose in one place. Read from the environment, nothing else."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from evalkit.errors import InputError


class Paper(StrEnum):
    """Paper of printed reports."""

    A4 = "A4"
    LETTER = "Letter"


class Settings(BaseModel):
    """Settings of one call of evalkit; each is read from the variable EVALKIT_<NAME>."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    book: Path = Field(default=Path("evalkit-book"), description="the folder of the book")
    who: str = Field(default="", description="key of the person who acts; empty: the mentor of the book")
    paper: Paper = Field(default=Paper.A4, description="paper of printed reports: A4 or Letter")
    today: date | None = Field(default=None, description="the day to take as today, YYYY-MM-DD; empty: the clock's")
    rubrics: Path | None = Field(default=None, description="a folder of your own rubrics, looked into first")
    overdue_days: int = Field(
        default=30, ge=1, le=1_000, description="days without a step after which a box counts as overdue, like 30"
    )
    country: str = Field(default="", description="the country you post from, two letters of ISO 3166, like DE")

    @field_validator("today", mode="before")
    @classmethod
    def _written_out(cls, given: object) -> object:
        """Digits alone would be taken for seconds since 1970."""
        if isinstance(given, str) and not re.fullmatch(r"\d{4}-\d{2}-\d{2}", given.strip()):
            raise ValueError("not a day")
        return given


PREFIX = "EVALKIT_"


def read_settings(environment: Mapping[str, str]) -> Settings:
    """Settings from the environment. Raises InputError as `checked` does."""
    return checked({
        name: environment[PREFIX + name.upper()]
        for name in Settings.model_fields
        if environment.get(PREFIX + name.upper())
    })  # fmt: skip


def checked(given: Mapping[str, object]) -> Settings:
    """Settings with these given. Raises InputError that names the setting, its variable and what it takes."""
    try:
        return Settings.model_validate(given)
    except ValidationError as error:
        name = str(error.errors()[0]["loc"][0])
        takes = f"It takes {Settings.model_fields[name].description}."
        raise InputError(
            f"'{given.get(name, '')}' cannot be the setting '{name}' ({PREFIX}{name.upper()}).",
            mend=f"{takes} Write the day like 2026-03-09." if name == "today" else takes,
        ) from None

"""Every setting: its default, its check and its prose in one place. Read from the environment, nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

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
        raise InputError(
            f"'{given.get(name, '')}' cannot be the setting '{name}' ({PREFIX}{name.upper()}).",
            mend=f"It takes {Settings.model_fields[name].description}.",
        ) from None

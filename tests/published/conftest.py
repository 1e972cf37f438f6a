"""Loaders for the published data that the tests here compare with; SOURCES.md beside the data says what each holds."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="session")
def load_json() -> Callable[[str], Any]:
    """Content of `data/<name>.json`."""
    return lambda name: json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def load_csv() -> Callable[[str], list[dict[str, str]]]:
    """Rows of `data/<name>.csv`, each a mapping from column to text."""

    def load(name: str) -> list[dict[str, str]]:
        with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
            return list(csv.DictReader(lines))

    return load

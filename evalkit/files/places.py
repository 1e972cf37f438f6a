"""The one module that knows where rubrics, templates and migrations lie, in a wheel and in the repository alike."""

from __future__ import annotations

from pathlib import Path

from evalkit.errors import MissingPartError

_PACKAGE = Path(__file__).resolve().parent.parent


def rubrics_dir() -> Path:
    """Folder of the rubric files that evalkit ships. Raises `MissingPartError` where it is absent."""
    return _shipped("rubrics")


def templates_dir() -> Path:
    """Folder of the report templates. Raises `MissingPartError` where it is absent."""
    return _shipped("templates")


def migrations_dir() -> Path:
    """Folder of the book's migrations, which is part of the package itself."""
    return _existing(_PACKAGE / "book" / "migrations")


def _shipped(name: str) -> Path:
    # A wheel carries these folders in `_data`; an editable install has none and uses those at the repository's top.
    data = _PACKAGE / "_data"
    return _existing((data if data.is_dir() else _PACKAGE.parent) / name)


def _existing(folder: Path) -> Path:
    if not folder.is_dir():
        raise MissingPartError(
            "This folder of evalkit is missing.",
            mend="The installation is damaged: install evalkit again.",
            where=str(folder),
        )
    return folder

"""The one module that knows where rubrics, templates and the demo lie, in a wheel and in the repository alike."""

from __future__ import annotations

import sys
from importlib import import_module
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

from evalkit.errors import MissingPartError

_PACKAGE = Path(__file__).resolve().parent.parent


def rubrics_dir() -> Path:
    """Folder of the rubric files that evalkit ships. Raises `MissingPartError` where it is absent."""
    return _shipped("rubrics")


def templates_dir() -> Path:
    """Folder of the report templates. Raises `MissingPartError` where it is absent."""
    return _shipped("templates")


def load_demo() -> ModuleType:
    """The demo's `run` module. Raises `MissingPartError` where the demo is absent.

    It lies beside the package like rubrics and templates, and drives the commands from outside as a user would; so it
    is loaded by its place, under a name of its own, and no part of evalkit imports it.
    """
    folder = _shipped("demo")
    name = "evalkit_demo"
    if name not in sys.modules:
        spec = spec_from_file_location(name, folder / "__init__.py", submodule_search_locations=[str(folder)])
        if spec is None or spec.loader is None:
            raise MissingPartError("The demo cannot be loaded.", mend="Install evalkit again.", where=str(folder))
        sys.modules[name] = module_from_spec(spec)
        spec.loader.exec_module(sys.modules[name])
    return import_module(f"{name}.run")


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

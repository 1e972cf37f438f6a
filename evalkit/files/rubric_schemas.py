"""The JSON Schemas of rubrics and of the cause map, as they are published."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from evalkit.disk import write_whole
from evalkit.domain.causes import CauseMap
from evalkit.domain.rubric import Rubric


def rubric_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a rubric file."""
    return _schema(Rubric)


def causes_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a cause map."""
    return _schema(CauseMap)


def write_schemas(folder: Path) -> tuple[Path, ...]:
    """Write both schemas into `folder`, which is made if need be; answers their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, schema in (("rubric", rubric_schema()), ("causes", causes_schema())):
        path = folder / f"{name}.schema.json"
        text = json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
        write_whole(path, text.encode(), mode=0o644)
        written.append(path)
    return tuple(written)


def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **model.model_json_schema(by_alias=True, mode="validation"),
    }

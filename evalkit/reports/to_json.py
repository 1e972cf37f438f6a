"""The report as JSON with a format number, and the schema of it."""

from __future__ import annotations

import json

from evalkit.reports.document_shapes import RoundDocument


def to_json(document: RoundDocument) -> str:
    """One JSON document, keys in a fixed order."""
    return document.model_dump_json(indent=2) + "\n"


def report_schema() -> str:
    """The JSON Schema (draft 2020-12) of `to_json`."""
    schema = RoundDocument.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"

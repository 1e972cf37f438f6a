"""The JSON Schemas of a packet's documents, as they are published in templates/packets/."""

from __future__ import annotations

import json

from evalkit.files.packets.documents import DOCUMENTS


def document_schema(kind: str) -> str:
    """The JSON Schema (draft 2020-12) of the document of that kind, one of `DOCUMENTS`."""
    schema = DOCUMENTS[kind].model_json_schema(by_alias=True, mode="validation")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["required"] = sorted({"format", "kind", *schema.get("required", ())})
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"

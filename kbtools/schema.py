"""JSON Schema of the content files, for editors that complete and check while an author types."""

from __future__ import annotations

import json
from typing import Any

from pydantic.json_schema import models_json_schema

from kbtools.entries import ID
from kbtools.model import EQUIPMENT_KINDS, KINDS, TOPIC_KINDS, Manual
from kbtools.terms import Terms

FILES = ("topic", "equipment", "manual", "terms")
"""The shapes of content files."""

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema(file: str) -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) of one shape of file: topic, equipment, manual or terms."""
    if file in ("manual", "terms"):
        whole = Manual if file == "manual" else Terms
        return {"$schema": _DIALECT, **_without_internal(whole.model_json_schema())}
    kinds = TOPIC_KINDS if file == "topic" else EQUIPMENT_KINDS
    refs, definitions = models_json_schema([(KINDS[kind][1], "validation") for kind in kinds])
    sections = {
        KINDS[kind][0]: {
            "type": "object",
            "propertyNames": {"pattern": f"^{ID.pattern}$"},
            "additionalProperties": refs[KINDS[kind][1], "validation"],
        }
        for kind in kinds
    }
    return {
        "$schema": _DIALECT,
        "title": f"{file} file",
        "type": "object",
        "additionalProperties": False,
        "properties": sections,
        "$defs": _without_internal(definitions["$defs"]),
    }


def as_text(file: str) -> str:
    """The schema as JSON text."""
    return json.dumps(json_schema(file), indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def _without_internal(value: Any) -> Any:
    """Leaves out what no author writes: ids (they are keys) and the system (it is the folder)."""
    if isinstance(value, list):
        return [_without_internal(item) for item in value]
    if not isinstance(value, dict):
        return value
    return {
        key: _without_internal(item)
        for key, item in value.items()
        if not (isinstance(item, dict) and item.get("internal"))
    }

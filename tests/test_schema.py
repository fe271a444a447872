"""The JSON Schema that editors use, judged by an independent validator (jsonschema)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from kbtools.model import KINDS
from kbtools.schema import FILES, as_text, json_schema
from kbtools.source import parse
from tests.content_case import SMALL

ROOT = Path(__file__).parents[1]


def _data(file: Path) -> Any:
    document, problems = parse(file.read_text(encoding="utf-8"), file.name)
    assert problems == []
    assert document is not None
    return document.data


@pytest.mark.parametrize(
    ("shape", "file"),
    [("topic", "topics/step/step.yml"), ("equipment", "equipment/equipment.yml"), ("manual", "manual.yml")],
)
def test_the_tiny_manual_fits(shape: str, file: str) -> None:
    schema = json_schema(shape)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(_data(SMALL / file), schema, jsonschema.Draft202012Validator)


@pytest.mark.parametrize(
    "spoil",
    [
        {"symptoms": {"a": {"titel": "A"}}},
        {"symptoms": {"A_b": {"title": "A"}}},
        {"symptom": {}},
        {"symptoms": {"a": {"title": "A", "unlisted": 100}}},
        {"symptoms": {"a": {"title": "A", "id": "a"}}},
        {"checks": {"a": {"title": "A", "outcomes": {"b": {"seen_with": {"c": "mostly"}}}}}},
    ],
)
def test_mistakes_do_not_fit(spoil: Any) -> None:
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(spoil, json_schema("topic"), jsonschema.Draft202012Validator)


def test_every_field_is_described() -> None:
    """The descriptions are what an author sees while typing, and the field reference."""
    for shape in FILES:
        for name, model in {"manual": json_schema(shape), **json_schema(shape).get("$defs", {})}.items():
            for key, field in model.get("properties", {}).items():
                if key not in {plural for plural, _ in KINDS.values()}:
                    assert field.get("description") or "$ref" in field, (name, key)


@pytest.mark.parametrize("folder", ["content", "tests/small"])
def test_content_files_point_to_schemas_that_are_there_and_current(folder: str) -> None:
    for shape in FILES:
        assert (ROOT / folder / "schema" / f"{shape}.json").read_text(encoding="utf-8") == as_text(shape), (
            "run kbtools schema --write"
        )
    for file in sorted((ROOT / folder).rglob("*.yml")):
        first = file.read_text(encoding="utf-8").splitlines()[0]
        assert first.startswith("# yaml-language-server: $schema="), file
        target = (file.parent / first.split("=", 1)[1]).resolve()
        assert json.loads(target.read_text(encoding="utf-8"))["$schema"].endswith("2020-12/schema")

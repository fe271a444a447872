"""Golden cases: tests/rules/cases/<rule>.yml spoils tests/small and marks where the rule has to speak.

A case is {name, edits: [{file, find, put}], files: {name: text}, says: [fragment of message or hint]}. The sign « in `put` or
in a file marks the expected position; `at` gives it where it cannot be marked. A case without either expects silence.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from kbtools.rules import RULES, validate
from tests.content_case import EQUIPMENT, TOPIC, Content

CASES = Path(__file__).parent / "cases"
SHORT = {"topic": TOPIC, "equipment": EQUIPMENT, "manual": "manual.yml"}


def _cases() -> list[Any]:
    return [
        pytest.param(file.stem, case, id=f"{file.stem}: {case['name']}")
        for file in sorted(CASES.glob("*.yml"))
        for case in yaml.safe_load(file.read_text(encoding="utf-8"))
    ]


@pytest.mark.parametrize(("rule", "case"), _cases())
def test_case(rule: str, case: dict[str, Any], content: Content) -> None:
    for edit in case.get("edits", []):
        content.edit(SHORT.get(edit.get("file", "topic"), edit.get("file", "topic")), edit["find"], edit["put"])
    for name, text in case.get("files", {}).items():
        content.write(name, text)
    for name in case.get("without", []):
        (content.folder / name).unlink()
    _, problems = validate(content.folder)
    found = [p for p in problems if p.rule == rule]
    assert [str(p.position) for p in found] == content.marks + case.get("at", [])
    text = "\n".join(f"{p.message} | {p.hint}" for p in found)
    for fragment in case.get("says", []):
        assert fragment in text
    if not case.get("others"):
        assert [p for p in problems if p.rule != rule] == []


def test_every_rule_has_a_case() -> None:
    """Files that cannot be written as text (encoding, size, permission) have tests in test_bad_input."""
    elsewhere = {"not-utf-8", "file-too-large", "file-unreadable"}
    assert set(RULES) - elsewhere == {file.stem for file in CASES.glob("*.yml")}

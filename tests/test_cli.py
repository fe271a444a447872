"""validate, explain and schema at the terminal."""

from __future__ import annotations

import json
import re
from pathlib import Path

from click.testing import CliRunner

from kbtools.cli import main
from kbtools.rules import RULES
from tests.content_case import SMALL, TOPIC, Content


def _run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def test_validate_counts_what_is_fine() -> None:
    assert _run("validate", "--content", str(SMALL)) == (
        0,
        f"{SMALL}: 2 symptoms, 4 causes, 3 checks: no errors, no warnings.\n",
    )
    assert _run("validate", "--content", str(SMALL), "--json") == (0, '{\n  "problems": []\n}\n')
    assert _run("validate", "--content", str(SMALL), "--format", "annotations") == (0, "")


def test_validate_text_names_place_rule_and_way_out(content: Content) -> None:
    content.edit(TOPIC, "prove_by: step-click", "prove_by: «step-clik")
    code, text = _run("validate", "--content", str(content.folder))
    assert code == 1
    assert text.splitlines()[:2] == [
        f"{content.folder}/{content.marks[0]}: error: there is no check 'step-clik' [unknown-reference]",
        "    Did you mean step-click?",
    ]


def test_validate_json_has_the_contracts_keys(content: Content) -> None:
    content.write("notes.txt", "x")
    content.edit(TOPIC, "nature: operation", "nature: «sabotage")
    code, text = _run("validate", "--content", str(content.folder), "--json")
    assert code == 1
    problems = json.loads(text)["problems"]
    assert [set(p) for p in problems] == [{"file", "line", "column", "severity", "rule", "message", "hint"}] * 2
    assert problems[0] == {
        "file": "notes.txt",
        "line": None,
        "column": None,
        "severity": "warning",
        "rule": "unread-file",
        "message": "nothing reads the file notes.txt",
        "hint": problems[0]["hint"],
    }
    assert f"{TOPIC}:{problems[1]['line']}:{problems[1]['column']}" == content.marks[0]


def test_warnings_alone_leave_exit_0(content: Content) -> None:
    content.write("notes.txt", "x")
    assert _run("validate", "--content", str(content.folder))[0] == 0


def test_annotations_escape_what_would_end_them(content: Content) -> None:
    content.write("a,b.txt", "x")
    _, text = _run("validate", "--content", str(content.folder), "--format", "annotations")
    assert text.startswith(
        f"::warning file={content.folder}/a%2Cb.txt,title=unread-file::nothing reads the file a,b.txt."
    )


def test_explain_shows_each_rule_with_both_snippets() -> None:
    for ident, rule in RULES.items():
        code, text = _run("explain", ident)
        assert code == 0
        assert text.startswith(f"{ident} ({rule.severity})\n\n{rule.summary}")
        assert len(rule.summary) <= 120
        assert re.search(r"^Fails:\n\n    \S.*^Passes:\n\n    \S", text, re.MULTILINE | re.DOTALL), ident
    code, text = _run("explain")
    assert code == 0
    assert [line.split()[0] for line in text.splitlines()] == sorted(RULES)


def test_explain_an_unknown_rule() -> None:
    assert _run("explain", "unknown-referense") == (
        2,
        "kbtools: there is no rule 'unknown-referense'. Did you mean unknown-reference?\n",
    )


def test_schema_is_written_where_it_is_wanted(tmp_path: Path) -> None:
    assert _run("schema", "--write", str(tmp_path / "schema")) == (0, "")
    assert sorted(path.name for path in (tmp_path / "schema").iterdir()) == [
        "equipment.json",
        "manual.json",
        "terms.json",
        "topic.json",
    ]
    (tmp_path / "file").write_text("x")
    code, text = _run("schema", "--write", str(tmp_path / "file"))
    assert code == 2
    assert text.startswith("kbtools: cannot write to ")

"""kbtools new manual: a small manual that is valid and builds as it is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kbtools import rules, schema
from kbtools.cli import main
from kbtools.source import parse
from tests.content_case import SMALL


def kbtools(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


@pytest.fixture
def manual(tmp_path: Path) -> Path:
    result = kbtools("new", "manual", tmp_path / "mine")
    assert result.exit_code == 0, result.output
    return tmp_path / "mine"


def test_it_is_valid_without_a_warning_and_has_no_file_too_many(manual: Path) -> None:
    library, problems = rules.validate(manual / "content")
    assert problems == []
    assert library.symptoms and library.causes and library.checks
    shapes = {Path("schema", f"{shape}.json") for shape in schema.FILES}
    source = {p.relative_to(SMALL) for p in SMALL.rglob("*") if p.is_file()}
    assert {
        p.relative_to(manual / "content") for p in (manual / "content").rglob("*") if p.is_file()
    } == source | shapes


def test_editors_find_their_schema_and_the_comments_teach(manual: Path) -> None:
    for file in (manual / "content").rglob("*.yml"):
        text = file.read_text(encoding="utf-8")
        named = re.match(r"# yaml-language-server: \$schema=(\S+)\n", text)
        assert named, file
        assert (file.parent / named.group(1)).resolve().read_text() == schema.as_text(Path(named.group(1)).stem)
        assert len(re.findall(r"^# ", text, re.MULTILINE)) >= 4, file


def test_it_is_the_authors_own_and_as_old_as_today(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1767225600")  # 2026-01-01T00:00:00Z
    assert kbtools("new", "manual", tmp_path / "mine").exit_code == 0
    text = (tmp_path / "mine/content/manual.yml").read_text()
    found, problems = parse(text, "manual.yml")
    assert problems == [] and found is not None
    assert (found.data["title"], found.data["organisation"]) == ("Our manual", "Our organisation")
    assert found.data["revised"] == "2026-01-01"
    before, _ = parse((SMALL / "manual.yml").read_text(), "manual.yml")
    assert before is not None
    assert set(found.data) == set(before.data)
    assert found.data["telephone"] == before.data["telephone"]


def test_it_builds_at_once(manual: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(manual)
    result = kbtools("build", "--edition", "service")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "Our manual" in (manual / "site/service/index.html").read_text()


def test_nothing_that_is_there_is_touched(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    result = kbtools("new", "manual", tmp_path)
    assert (result.exit_code, result.output.count("\n")) == (2, 1)
    assert "not empty" in result.output
    assert [p.name for p in tmp_path.iterdir()] == ["notes.txt"]
    result = kbtools("new", "manual", tmp_path / "notes.txt" / "below")
    assert (result.exit_code, result.output.count("\n")) == (2, 1)

"""Compiled procedures: kept by content and by code, and never in the way."""

from __future__ import annotations

from pathlib import Path

import pytest

from kbtools.cards import charted
from kbtools.cards import compiled as module
from kbtools.cards.compiled import compiled
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.chart import Chart, compile_chart
from kbtools.diagnosis.posterior import State
from kbtools.library import Library, open_content
from tests.content_case import TOPIC, Content


@pytest.fixture
def compilations(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Whatever is really compiled, by its first cause."""
    found: list[str] = []

    def counted(*arguments: object, **more: object) -> Chart:
        found.append(arguments[0].causes[0])  # type: ignore[attr-defined]
        return compile_chart(*arguments, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(module, "compile_chart", counted)
    return found


def test_it_is_the_chart_of_the_reader(small: Library, tmp_path: Path) -> None:
    for who in small.people:
        state = State(level=small.rank(who))
        wanted = charted.from_chart(compile_chart(network_of(small, "step-stays-in"), state), who)
        assert compiled(small, "step-stays-in", who, tmp_path) == wanted
        assert compiled(small, "step-stays-in", who, tmp_path) == wanted
    assert compiled(small, "step-stays-in", folder=tmp_path).who == "technician"


def test_an_unchanged_symptom_is_compiled_once(content: Content, tmp_path: Path, compilations: list[str]) -> None:
    first = compiled(open_content(content.folder)[0], "step-stays-in", folder=tmp_path / "cache")
    content.edit(TOPIC, "title: Actuator worn out", "title: Actuator quite worn out")
    assert compiled(open_content(content.folder)[0], "step-stays-in", folder=tmp_path / "cache") == first
    assert len(compilations) == 1
    content.edit(TOPIC, "minutes: 60", "minutes: 55")
    assert compiled(open_content(content.folder)[0], "step-stays-in", folder=tmp_path / "cache") != first
    assert len(compilations) == 2


def test_other_code_never_reads_it(
    small: Library, tmp_path: Path, compilations: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    compiled(small, "step-stays-in", folder=tmp_path)
    monkeypatch.setattr(module, "_code", lambda: "00000000")
    compiled(small, "step-stays-in", folder=tmp_path)
    assert len(compilations) == 2


def test_a_broken_or_forbidden_cache_costs_time_only(small: Library, tmp_path: Path, compilations: list[str]) -> None:
    wanted = compiled(small, "step-stays-in", folder=tmp_path)
    for file in tmp_path.glob("*.json"):
        file.write_text('{"who": 1', encoding="utf-8")
    assert compiled(small, "step-stays-in", folder=tmp_path) == wanted
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    assert compiled(small, "step-stays-in", folder=blocked / "below") == wanted
    assert len(compilations) == 3


def test_old_procedures_are_removed(small: Library, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "KEPT", 2)
    for who in small.people:
        compiled(small, "step-stays-in", who, tmp_path)
    assert len(list(tmp_path.glob("*.json"))) == 2
    assert len(list(tmp_path.iterdir())) == 2

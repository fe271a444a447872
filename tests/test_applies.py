"""What applies to a unit: how it is named, and what the terminal then leaves out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kbtools.applies import Unit, UnitError, applies, unit_of, unit_words
from kbtools.cli import main
from kbtools.library import Library, open_content
from kbtools.model import Applies
from kbtools.trace import TraceError, given, start
from tests.content_case import EQUIPMENT, TOPIC, Content


@pytest.fixture(autouse=True)
def _cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_cache_path", lambda name: tmp_path / "cache" / name)


def _run(folder: Path | str, *words: str) -> Result:
    command, *rest = words
    return CliRunner().invoke(main, [command, "--content", str(folder), *rest], input="q\n")


@pytest.mark.parametrize(
    ("text", "unit", "written"),
    [
        ("w6", Unit("w6"), "W6"),
        (" W4 ", Unit("w4"), "W4"),
        ("W6-20731", Unit("w6", 20731), "W6-20731"),
        ("w4-00017", Unit("w4", 17), "W4-00017"),
    ],
)
def test_a_unit_is_a_type_or_a_serial_number(small: Library, text: str, unit: Unit, written: str) -> None:
    assert unit_of(small, text) == unit
    assert unit_words(small, unit) == written


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("W9-20731", "no unit of this manual"),
        ("", "There is: W4, W6"),
        ("20731", "no unit of this manual"),
        ("W6-2073", "has 4 digits"),
        ("W6-207311", "has 6 digits"),
        ("W6-", "5 digits and nothing else"),
        ("W6-2O731", "5 digits and nothing else"),
        ("W6-²0731", "5 digits and nothing else"),
    ],
)
def test_what_names_no_unit_gets_a_clear_word(small: Library, text: str, said: str) -> None:
    with pytest.raises(UnitError, match=said):
        unit_of(small, text)


def test_each_type_says_how_many_digits_its_serial_numbers_have(content: Content) -> None:
    content.edit(EQUIPMENT, "serial_digits: 5", "serial_digits: 3")
    library = open_content(content.folder)[0]
    assert unit_words(library, unit_of(library, "w6-017")) == "W6-017"
    assert unit_words(library, unit_of(library, "w4-00017")) == "W4-00017"
    with pytest.raises(UnitError, match="has 5 digits after W6-; a serial number has 3"):
        unit_of(library, "W6-20731")
    with pytest.raises(UnitError, match="5 digits after W4- or 3 digits after W6-"):
        unit_of(library, "X")


@pytest.mark.parametrize(("serial", "expected"), [(20499, False), (20500, True), (20899, True), (20900, False)])
def test_ranges_are_half_open_and_an_unknown_serial_takes_all(serial: int, expected: bool) -> None:
    limits = [Applies.model_validate({"type": "w6", "from": 20500, "below": 20900})]
    assert applies(limits, Unit("w6", serial)) is expected
    assert applies(limits, Unit("w6"))
    assert not applies(limits, Unit("w4"))


def test_a_trace_renormalises_what_is_left(content: Content) -> None:
    content.edit(
        TOPIC,
        "    title: Actuator worn out\n",
        "    title: Actuator worn out\n    applies_to: [{type: w6, from: 20500}]\n",
    )

    def causes(*more: str) -> dict[str, float]:
        found = _run(content.folder, "trace", "step-stays-in", "--json", *more)
        assert found.exit_code == 0, found.output
        return {cause["id"]: cause["probability"] for cause in json.loads(found.output)["causes"]}

    whole, old = causes("--unit", "W6-20500"), causes("--unit", "w6-20499")
    assert whole == causes() == causes("--unit", "w6")
    assert set(whole) - set(old) == {"actuator-worn"}
    left = 1 - whole["actuator-worn"]
    assert old == pytest.approx({cause: whole[cause] / left for cause in old})


def test_a_trace_refuses_what_is_for_other_units(content: Content) -> None:
    content.edit(TOPIC, "    applies_to: [w4, w6]\n", "    applies_to: [w4]\n")
    trace = start(open_content(content.folder)[0], "step-stays-in", "technician", Unit("w6", 20731))
    assert "step-supply" not in [check.id for check in trace.network.checks]
    with pytest.raises(TraceError, match="step-supply does not apply to W6-20731; it applies to: W4"):
        given(trace, ["step-supply=none"])
    with pytest.raises(TraceError, match="step-stays-out does not apply to W6-20499"):
        start(open_content(content.folder)[0], "step-stays-out", "technician", Unit("w6", 20499))


def test_search_leaves_out_what_is_for_other_units(content: Content) -> None:
    words = ["--", "step", "hangs", "out", "all", "the", "time"]
    found = _run(content.folder, "search", "--unit", "W6-20500", *words).output
    assert "step-stays-out" in found and "left out" not in found
    other = _run(content.folder, "search", "--unit", "W6-20499", *words).output
    assert "(step-stays-out)" not in other
    assert "Unit W6-20499: 1 entry for other units is left out." in other


@pytest.mark.parametrize("command", [["trace", "step-stays-in"], ["search", "step"]])
def test_a_bad_unit_is_wrong_usage(content: Content, command: list[str]) -> None:
    result = _run(content.folder, command[0], "--unit", "W6-1", command[1])
    assert result.exit_code == 2
    assert "a serial number has 5" in result.output

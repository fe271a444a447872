"""Reading YAML with positions. Refusals by file have golden cases in tests/rules and tests/test_bad_input.py."""

from __future__ import annotations

import math
from typing import Any

import pytest

from kbtools.source import Document, parse, resolve


def _data(text: str) -> Any:
    document, problems = parse(text, "f.yml")
    assert problems == []
    assert document is not None
    return document.data


def _document(text: str) -> Document:
    document, _ = parse(text, "f.yml")
    assert document is not None
    return document


CORE_EXAMPLE = """\
A null: null
Also a null: # Empty
Not a null: ""
Booleans: [ true, True, false, FALSE ]
Integers: [ 0, 0o7, 0x3A, -19 ]
Floats: [
  0., -0.0, .5, +12e03, -2E+05 ]
Also floats: [
  .inf, -.Inf, +.INF, .NAN ]
"""


def test_core_schema_example_of_the_specification() -> None:
    """Source: YAML 1.2, Example 10.9 "Core Tag Resolution" (seen in copies of the specification)."""
    data = _data(CORE_EXAMPLE)
    infinity = data.pop("Also floats")
    assert data == {
        "A null": None,
        "Also a null": None,
        "Not a null": "",
        "Booleans": [True, True, False, False],
        "Integers": [0, 7, 58, -19],
        "Floats": [0.0, -0.0, 0.5, 12000.0, -200000.0],
    }
    assert infinity[:3] == [math.inf, -math.inf, math.inf]
    assert math.isnan(infinity[3])


@pytest.mark.parametrize(
    "text",
    [
        "on",
        "off",
        "yes",
        "no",
        "1:30",
        "012",
        "-012",
        "00",
        "00.5",
        "1_000",
        "0b1",
        "2026-01-31",
        "=",
        "nulL",
        "0O7",
        "1e",
        ".",
    ],
)
def test_text_that_older_readers_turn_into_something_else(text: str) -> None:
    """YAML 1.1 words and numbers with a leading zero are text."""
    assert resolve(text) == text


def test_a_number_of_ten_thousand_digits_stays_text() -> None:
    assert isinstance(resolve("9" * 10_000), str)


def test_quoted_and_block_scalars_are_text() -> None:
    assert _data("a: '12'\nb: \"true\"\nc: |\n  1\nd: !!str 5\n") == {"a": "12", "b": "true", "c": "1\n", "d": "5"}


def test_every_key_and_value_has_a_position() -> None:
    document = _document("symptoms:\n  a-b:\n    heard_as:\n      - one\n      - {x: 1, y: [2, 3]}\n")
    where = {
        (): ((1, 1), (1, 1)),
        ("symptoms",): ((2, 3), (1, 1)),
        ("symptoms", "a-b"): ((3, 5), (2, 3)),
        ("symptoms", "a-b", "heard_as"): ((4, 7), (3, 5)),
        ("symptoms", "a-b", "heard_as", 0): ((4, 9), (4, 9)),
        ("symptoms", "a-b", "heard_as", 1, "y"): ((5, 19), (5, 16)),
        ("symptoms", "a-b", "heard_as", 1, "y", 1): ((5, 23), (5, 23)),
    }
    for path, (value, key) in where.items():
        at, key_at = document.at(path), document.at(path, key=True)
        assert (at.line, at.column) == value
        assert (key_at.line, key_at.column) == key


def test_position_of_what_is_not_there_is_the_nearest_above() -> None:
    document = _document("a:\n  b: 1\n")
    assert str(document.at(("a", "c", 0, "d"))) == "f.yml:2:3"


def test_columns_count_characters_not_bytes() -> None:
    assert str(_document("é: {ü𝄞: x}\n").at(("é", "ü𝄞"))) == "f.yml:1:9"


def test_aliases_share_text_and_merge_keys_do_not_exist() -> None:
    assert _data("a: &x [1]\nb: *x\n") == {"a": [1], "b": [1]}
    assert _data("<<: {a: 1}\n") == {"<<": {"a": 1}}


def test_byte_order_mark_and_windows_lines() -> None:
    document = _document("a: 1\r\nb:\r\n  - 2\r\n")
    assert document.data == {"a": 1, "b": [2]}
    assert str(document.at(("b", 0))) == "f.yml:3:5"


def test_a_duplicate_key_keeps_the_first_value_and_its_marks() -> None:
    document, problems = parse("a: {x: 1}\nb: 2\na: {x: [5]}\n", "f.yml")
    assert document is not None
    assert document.data == {"a": {"x": 1}, "b": 2}
    assert str(document.at(("a", "x"))) == "f.yml:1:8"
    assert [(str(p.position), p.rule) for p in problems] == [("f.yml:3:1", "duplicate-key")]

"""Ranges, numbers, times and types in words."""

from __future__ import annotations

import doctest
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kbtools import words
from kbtools.library import open_content
from kbtools.model import Applies, Check, Outcome, Reading

MANUAL = 'title: T\norganisation: O\ntelephone: "1"\nrevised: "2025-01-01"\n'


def check(outcomes: dict[str, dict[str, object]], unit: str | None = "V") -> Check:
    reading = {"quantity": "voltage", "unit": unit} if unit else None
    data = {"title": "C", "who": "owner", "minutes": 1, "place": "here", "steps": ["Look."], "outcomes": outcomes}
    return Check.model_validate({**data, **({"reading": reading} if reading else {})})


def test_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(words).attempted == 7
    assert doctest.testmod(words).failed == 0


def test_labels_come_from_the_half_open_ranges() -> None:
    three = check({"low": {"below": 20}, "mid": {"from": 20, "below": 22}, "ok": {"from": 22, "normal": True}})
    assert [words.outcome_label(three, o) for o in three.outcomes] == ["Under 20 V", "20 to under 22 V", "22 V or more"]


def test_one_check_writes_all_bounds_with_the_same_decimals() -> None:
    mixed = check({"low": {"below": 21.5}, "ok": {"from": 21.5, "below": 24, "normal": True}, "high": {"from": 24}})
    assert words.outcome_range(mixed, "ok") == "21.5 to under 24.0 V"
    assert words.outcome_range(mixed, "high") == "24.0 V or more"


def test_a_written_label_wins_and_keeps_its_range_beside_it() -> None:
    creep = check({"creeps": {"label": "creeps", "from": 1, "below": 5}, "holds": {"below": 1, "normal": True}}, "mm")
    assert words.outcome_label(creep, "creeps") == "Creeps"
    assert words.outcome_words(creep, "creeps") == "Creeps (1 to under 5 mm)"
    assert words.outcome_words(creep, "holds") == "Under 1 mm"


def test_an_outcome_with_neither_label_nor_range_is_called_by_its_id() -> None:
    assert words.outcome_label(check({"stays-dark": {}}, None), "stays-dark") == "Stays dark"


def test_angles_stand_close_to_their_number_and_other_units_apart() -> None:
    # SI Brochure, 9th edition, 5.4.3: a space before every unit symbol except °, ′ and ″ (from memory)
    assert words.with_unit("0.3", "°") == "0.3°"
    assert words.with_unit("40", "°C") == "40 °C"
    assert words.with_unit("50", "%") == "50 %"
    assert words.with_unit("7", "") == "7"


@pytest.mark.parametrize(
    ("number", "shown"), [(-0.3, "−0.3"), (0.0, "0"), (-0.0, "0"), (1e-9, "0"), (0.096, "0.096"), (12.5, "12.5")]
)
def test_numbers_are_plain_with_a_true_minus(number: float, shown: str) -> None:
    assert words.number_words(number) == shown


@given(st.lists(st.integers(-9999, 9999), min_size=1, max_size=5, unique=True), st.integers(0, 3))
def test_the_ranges_of_a_cut_line_read_back_to_its_bounds(cuts: list[int], decimals: int) -> None:
    bounds = sorted(cut / 10**decimals for cut in cuts)
    outcomes: dict[str, dict[str, object]] = {"o0": {"below": bounds[0], "normal": True}}
    for index, (low, high) in enumerate(pairwise(bounds), 1):
        outcomes[f"o{index}"] = {"from": low, "below": high}
    outcomes["last"] = {"from": bounds[-1]}
    cut_line = check(outcomes, "V")
    assert words.bounds_of(cut_line) == tuple(bounds)
    said = [words.outcome_range(cut_line, ident).replace("−", "-").removesuffix(" or more") for ident in outcomes]
    numbers = [float(word) for text in said for word in text.removesuffix(" V").split() if word not in ("under", "to")]
    assert numbers == [b for bound in bounds for b in (bound, bound)]


@pytest.mark.parametrize(
    ("minutes", "said"), [(0.2, "1 min"), (59, "59 min"), (59.5, "1 h"), (60, "1 h"), (90, "1 h 30 min")]
)
def test_minutes(minutes: float, said: str) -> None:
    assert words.minutes_words(minutes) == said


def test_per_cent_never_claims_certainty() -> None:
    assert [words.percent_words(p) for p in (0.0, 0.001, 0.5, 0.995, 1.0)] == [
        "0 %",
        "under 1 %",
        "50 %",
        "over 99 %",
        "100 %",
    ]


def test_types_points_and_serial_numbers(tmp_path: Path) -> None:
    (tmp_path / "manual.yml").write_text(MANUAL)
    (tmp_path / "equipment").mkdir()
    (tmp_path / "equipment" / "a.yml").write_text(
        "types:\n  w4: {title: W4}\n  w6: {title: W6, serial_prefix: W6-}\n"
        "points:\n  tp3: {title: TP3, place: x}\n  tp6: {title: TP6, place: x}\n"
    )
    library, problems = open_content(tmp_path)
    assert problems == []
    w6 = Applies.model_validate({"type": "w6", "from": 20500})
    assert words.applies_words(library, ()) == "All types"
    assert words.applies_words(library, (Applies(type="w4"), w6)) == "W4; W6 from W6-20500"
    assert words.applies_words(library, (Applies(type="w6", below=20500),)) == "W6 up to W6-20499"
    both = Applies.model_validate({"type": "w6", "from": 1, "below": 5})
    assert words.applies_words(library, (both,)) == "W6 from W6-1 to W6-4"
    assert words.applies_words(library, (Applies(type="gone"),)) == "gone"
    at = Reading(quantity="voltage", unit="V", condition="load", point="tp3")
    drop = Reading(quantity="voltage drop", unit="V", of=("tp3", "tp6"))
    assert words.reading_words(library, at) == "Voltage at TP3, load"
    assert words.reading_words(library, drop) == "Voltage drop, from TP3 to TP6"


def test_the_normal_outcome() -> None:
    assert words.normal_outcome(check({"a": {}, "b": {"normal": True}}, None)) == "b"
    assert words.normal_outcome(check({"a": {}}, None)) is None
    assert words.range_words(Outcome()) == ""

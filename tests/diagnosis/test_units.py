"""Networks for classes of units: which there are, and that each is the one of its units."""

from __future__ import annotations

from kbtools.applies import Unit, limits, one_of
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.units import classes_of, networks_by_unit
from kbtools.library import Library, open_content
from tests.content_case import TOPIC, Content


def _limited(content: Content, title: str, applies_to: str) -> Library:
    content.edit(TOPIC, f"    title: {title}\n", f"    title: {title}\n    applies_to: {applies_to}\n")
    library, problems = open_content(content.folder)
    assert problems == []
    return library


def test_without_limits_that_count_there_is_one_network_for_all(small: Library) -> None:
    assert [limits([limit]) for limit in classes_of(small, "step-stays-in")] == ["w4", "w6"]
    assert networks_by_unit(small, "step-stays-in") == {}


def test_units_that_cannot_have_the_symptom_need_no_network(small: Library) -> None:
    assert [limits([limit]) for limit in classes_of(small, "step-stays-out")] == ["w4", "w6:20500-", "w6"]


def test_ranges_divide_a_type_and_leave_the_other_whole(content: Content) -> None:
    library = _limited(content, "Actuator worn out", "[w4, {type: w6, from: 20500, below: 20900}]")
    found = networks_by_unit(library, "step-stays-in")
    assert list(found) == ["w6:-20500", "w6:20500-20900", "w6:20900-", "w6"]
    whole = network_of(library, "step-stays-in")
    assert found["w6"] == found["w6:20500-20900"] == whole
    assert found["w6:-20500"] == found["w6:20900-"] != whole
    assert "actuator-worn" not in found["w6:-20500"].causes


def test_every_unit_of_a_class_has_its_network(content: Content) -> None:
    library = _limited(content, "Actuator worn out", "[{type: w6, from: 20500}]")
    found = networks_by_unit(library, "step-stays-in")
    for limit in classes_of(library, "step-stays-in"):
        low, high = limit.from_ or 0, limit.below or 100_000
        ranged = limit.from_ is not None or limit.below is not None
        units = [Unit(limit.type, serial) for serial in (low, high - 1)] if ranged else [one_of(limit)]
        for unit in units:
            assert network_of(library, "step-stays-in", unit) == found[limits([limit])]
    assert found["w4"] != found["w6"]

"""The numbers of a trace, and that every word which its scripts look up stands on the page."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from kbtools.library import Library, open_content
from kbtools.model import Check
from kbtools.site import trace
from tests.content_case import TOPIC, Content
from tests.site.html import Reading


def check(outcomes: dict[str, object], **reading: object) -> Check:
    fields = {"title": "C", "who": "o", "minutes": 1, "place": "p", "steps": ["Look."], "outcomes": outcomes}
    return Check.model_validate(fields | {"reading": {"quantity": "voltage", "unit": "V", **reading}})


def held(small: Library, symptom: str) -> Any:
    found = dict(trace.scripts(small))[f"assets/trace/{symptom}.js"]
    assert found.startswith("var kbTraceNumbers = ")
    return json.loads(found.removeprefix("var kbTraceNumbers = ").removesuffix(";\n"))


def test_numbers_hold_ids_and_numbers_but_no_words(small: Library) -> None:
    for symptom in small.symptoms:
        text = json.dumps(held(small, symptom))
        entries = [entry for table in small.entries.values() for entry in table.values()]
        assert not [entry.title for entry in entries if " " in entry.title and entry.title in text]


def test_numbers_say_what_an_action_needs_and_leaves(small: Library) -> None:
    numbers = held(small, "step-stays-in")
    assert numbers["revision"] == small.revision
    assert numbers["people"] == ["owner", "technician", "specialist"]
    supply = numbers["checks"]["step-supply"]
    assert (supply["who"], supply["helpers"], supply["tools"]) == (1, 1, ["multimeter"])
    assert supply["leaves"] == ["actuator-unplugged"]
    assert supply["ranges"] == {"none": [None, 1], "low": [1, 22], "good": [22, None]}
    assert supply["reason"] == [0, 110]
    click = numbers["checks"]["step-click"]
    assert (click["away"], click["fixed"]) == (True, ["clicks-and-moves"])
    assert "ranges" not in click
    remedies = numbers["remedies"]
    assert list(remedies) == ["coupled-locks-step", "fuse-f2-open", "door-switch-out-of-place", "actuator-worn"]


def test_states_that_need_no_putting_back_are_not_left(content: Content) -> None:
    content.edit(TOPIC, "      leaves: [actuator-unplugged]", "      leaves: [nobody-on-step]")
    numbers = trace.numbers(open_content(content.folder)[0], "step-stays-in")
    assert numbers["remedies"]["actuator-worn"]["leaves"] == []


def test_a_shared_remedy_stands_under_the_cause_where_it_is_written(content: Content) -> None:
    before = (content.folder / TOPIC).read_text(encoding="utf-8")
    start = before.index("    remedy:\n      who: technician\n      minutes: 10")
    end = before.index("  actuator-worn:\n    title: Actuator worn out")
    content.write(TOPIC, before[:start] + "    remedy: {same_as: fuse-f2-open}\n\n" + before[end:])
    numbers = trace.numbers(open_content(content.folder)[0], "step-stays-in")
    assert numbers["remedies"]["fuse-f2-open"]["causes"] == ["fuse-f2-open", "door-switch-out-of-place"]


def test_parts_are_brought_for_what_is_broken_not_for_what_is_out_of_place(small: Library) -> None:
    assert trace.bring(small, "step-stays-in", "fuse-f2-open") == ["fuse-f2"]
    assert trace.bring(small, "step-stays-in", "actuator-worn") == ["actuator"]
    assert trace.bring(small, "step-stays-in", "door-switch-out-of-place") == []


def test_every_remedy_of_the_network_is_known_on_the_page(small: Library) -> None:
    for symptom in small.symptoms:
        numbers = held(small, symptom)
        for remedy in numbers["network"]["remedies"]:
            owners = [
                owner for owner, found in numbers["remedies"].items() if remedy["id"] in [owner, *found["causes"]]
            ]
            assert len(owners) == 1
        assert [check["id"] for check in numbers["network"]["checks"]] == list(numbers["checks"])


@pytest.mark.parametrize(
    ("ranges", "reading", "wanted"),
    [
        ([1, 22], {}, (0, 110)),
        ([-0.3, 0.3], {}, (-1.5, 1.5)),
        ([0.2, 1], {"of": ["a", "b"]}, (-5, 5)),
    ],
)
def test_a_reading_far_from_every_bound_is_doubted(
    ranges: list[float], reading: dict[str, object], wanted: tuple[float, float]
) -> None:
    low, high = ranges
    outcomes = {"a": {"below": low}, "b": {"from": low, "below": high, "normal": True}, "c": {"from": high}}
    assert trace.reason(check(outcomes, **reading)) == pytest.approx(wanted)


def test_every_word_that_a_trace_looks_up_stands_on_its_page(small: Library, small_site: Path) -> None:
    looked = 0
    for symptom in small.symptoms:
        page = (small_site / f"symptoms/{symptom}.html").read_text(encoding="utf-8")
        numbers = held(small, symptom)
        for ident, found in numbers["checks"].items():
            part = re.split(r'<li data-check="', page.split(f'<li data-check="{ident}"')[1])[0]
            assert [part.count(f'data-outcome="{outcome}"') for outcome in found["outcomes"]] == [1] * len(
                found["outcomes"]
            )
            assert f'data-place="{found["place"]}"' in page
            assert all(f'data-state="{state}"' in page for state in found["leaves"])
            hazards = re.findall(r'<li data-hazard="([^"]+)"', part)
            assert all(re.search(rf'class="kb-panel [^"]*" data-hazard="{hazard}"', page) for hazard in hazards)
            looked += len(hazards)
            assert all(f'data-precaution="{then}"' in page for then in re.findall(r'data-then="([^"]+)"', part))
        for owner, remedy in numbers["remedies"].items():
            assert page.count(f'data-remedy="{owner}"') == 1
            assert all(page.count(f'data-interim="{cause}"') == 1 for cause in remedy["causes"])
        assert all(f'data-cause="{cause}"' in page for cause in numbers["network"]["causes"])
        loads = Reading(page).loads
        assert f"../assets/trace/{symptom}.js" in loads
        assert [load for load in loads if load.removeprefix("../assets/") in trace.SCRIPTS] == [
            f"../assets/{script}" for script in trace.SCRIPTS
        ]
    assert looked > 0

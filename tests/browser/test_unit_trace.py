"""The trace of the chosen unit in a real browser: the terminal's numbers for every class of units, and what becomes of answers."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from kbtools import trace as terminal
from kbtools.applies import Unit, limits, one_of, unit_words
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.policy import next_action
from kbtools.diagnosis.posterior import State, answered, posterior
from kbtools.diagnosis.units import classes_of, networks_by_unit
from kbtools.library import Library, open_content
from kbtools.model import Reviewed
from kbtools.owner import networks_for_owner, unit_networks_for_owner
from kbtools.site.build import build
from kbtools.site.edition import OWNER, SERVICE
from tests.browser.test_unit import Reader

pytestmark = pytest.mark.browser

TWICE = "fault-2"
"""A symptom with causes and checks for W6 up to 20499 and from 20500."""

ASK = """([unit, fragment]) => {
  kbUnit.choose(unit);
  const engine = kbTrace.engineOf(kbTraceNumbers);
  const {state} = kbTrace.state.fromFragment(fragment, kbTraceNumbers, {who: 'technician', view: 'hands'});
  const next = engine.next(state);
  return {causes: engine.causes(state), kind: next.kind, id: next.id, minutes: next.minutes, expected: next.expected};
}"""


@pytest.fixture(scope="module")
def demo() -> Library:
    """The demo manual with the symptoms whose networks differ between units, and what belongs to them."""
    library, _ = open_content(Path(__file__).parents[2] / "content")
    wanted = {ident for ident in library.symptoms if networks_by_unit(library, ident)}
    for symptom in list(wanted):
        network = network_of(library, symptom)
        wanted |= {*network.causes, *(check.id for check in network.checks)}
    entries = {
        kind: {i: entry for i, entry in table.items() if not isinstance(entry, Reviewed) or i in wanted}
        for kind, table in library.entries.items()
    }
    return replace(library, entries=entries)


@pytest.fixture(scope="module")
def service(demo: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build(demo, SERVICE, tmp_path_factory.mktemp("units")).folder


@pytest.fixture
def reader(chromium: Any, service: Path) -> Iterator[Reader]:
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    found = Reader(context.new_page(), service)
    found.open(f"symptoms/{TWICE}.html")
    yield found
    assert found.said == []
    context.close()


def _walk(library: Library, symptom: str, unit: Unit, chance: random.Random) -> list[str]:
    """Answers to the checks that the terminal asks for, one after the other."""
    given: list[str] = []
    for _ in range(4):
        made = terminal.given(terminal.start(library, symptom, "technician", unit), given)
        if made.action.kind != "check" or made.action.index is None:
            break
        check = made.check(made.action.index)
        given.append(f"{check.id}={chance.choice(list(check.outcomes))}")
    return given


def test_for_every_class_of_units_the_page_says_what_the_terminal_says(reader: Reader, demo: Library) -> None:
    chance, compared = random.Random(6), 0
    assert len(demo.symptoms) >= 4
    for symptom in demo.symptoms:
        reader.open(f"symptoms/{symptom}.html")
        for limit in classes_of(demo, symptom):
            unit = one_of(limit)
            for _ in range(3):
                given = _walk(demo, symptom, unit, chance)
                for count in range(len(given) + 1):
                    made = terminal.given(terminal.start(demo, symptom, "technician", unit), given[:count])
                    fragment = "t=1&who=technician&" + "&".join(f"given={answer}" for answer in given[:count])
                    got = reader.page.evaluate(ASK, [unit_words(demo, unit), fragment])
                    expected = terminal.as_data(made)
                    assert {c["id"]: c["p"] for c in got["causes"]} == pytest.approx(dict(made.causes()), abs=1e-9)
                    assert got["expected"] == pytest.approx(expected["expected_minutes"], abs=1e-9)
                    assert (got["kind"], got["minutes"]) == (made.action.kind, pytest.approx(made.action.minutes))
                    if got["kind"] in ("check", "hand-over"):
                        assert got["id"] == terminal.next_id(made)
                    compared += 1
    assert compared > 100


def test_in_the_owner_edition_too(chromium: Any, demo: Library, tmp_path: Path) -> None:
    context = chromium.new_context()
    reader = Reader(context.new_page(), build(demo, OWNER, tmp_path / "owner").folder)
    compared = 0
    whole = networks_for_owner(demo)
    for symptom, by_unit in unit_networks_for_owner(demo).items():
        reader.open(f"symptoms/{symptom}.html")
        for limit in classes_of(demo, symptom) if by_unit else ():
            network = by_unit.get(limits([limit]), whole[symptom])
            state, fragment = State(level=0), "t=1&who=owner"
            for check in [c for c in network.checks if not c.id.startswith("#")][:3]:
                got = reader.page.evaluate(ASK, [unit_words(demo, one_of(limit)), fragment])
                action = next_action(network, state)
                assert (got["kind"], got["minutes"]) == (action.kind, pytest.approx(action.minutes))
                belief = dict(zip(network.causes, posterior(network, state), strict=True))
                assert {c["id"]: c["p"] for c in got["causes"]} == pytest.approx(belief, abs=1e-9)
                state = answered(state, network.checks.index(check), 0)
                fragment += f"&given={check.id}={check.outcomes[0]}"
                compared += 1
    assert compared >= 10
    assert reader.said == []
    context.close()


def _for_others(library: Library, unit: Unit) -> str:
    """A check of the symptom that this unit does not have."""
    mine = {check.id for check in network_of(library, TWICE, unit).checks}
    return next(check.id for check in network_of(library, TWICE).checks if check.id not in mine)


def test_answers_stay_and_those_for_other_units_are_named_as_left_out(reader: Reader, demo: Library) -> None:
    old = Unit("w6", 20499)
    check = _for_others(demo, old)
    outcome, page = next(iter(demo.checks[check].outcomes)), reader.page
    reader.open(f"symptoms/{TWICE}.html#t=1&who=technician&view=hands&safe=1&given={check}={outcome}")
    assert "left out" not in page.inner_text(".sheet-answers")
    page.evaluate("kbUnit.choose('W6-20499')")
    assert f"Left out, not for W6-20499: {demo.checks[check].title}" in page.inner_text(".sheet-notes")
    assert "(left out: not for this unit)" in page.inner_text(".sheet-answers")
    sheet = page.input_value("#trace-call")
    assert "Unit: W6-20499\n" in sheet
    assert "(left out: not for this unit)" in sheet
    assert page.locator(f".known-checks [data-id='{check}']").is_hidden()
    expected = dict(terminal.start(demo, TWICE, "technician", old).causes())
    likeliest = max(expected, key=lambda cause: expected[cause])
    assert page.locator(".sheet-causes a").first.inner_text() == demo.causes[likeliest].title
    assert page.locator(".sheet-causes > li").count() == len(expected)
    page.click("text=Show all units")
    assert "left out" not in page.inner_text(".sheet-answers")
    assert page.locator(".sheet-causes > li").count() == len(network_of(demo, TWICE).causes)


def test_the_address_of_a_trace_brings_its_unit_along(reader: Reader, demo: Library) -> None:
    reader.choose("W6-20731")
    reader.page.keyboard.press("1")
    assert "&unit=W6-20731" in reader.page.url.partition("#")[2]
    fragment = reader.page.url.partition("#")[2]
    reader.page.evaluate("kbUnit.clear()")
    assert "unit=" not in reader.page.url
    reader.open(f"symptoms/{TWICE}.html#{fragment}")
    assert reader.line.startswith("Shown for W6-20731 only")
    assert reader.page.url.partition("#")[0].endswith("?unit=W6-20731")
    reader.open(f"symptoms/{TWICE}.html#{fragment.replace('W6-20731', 'W9-1')}")
    assert "no unit of this manual" in reader.line and "Everything is shown." in reader.line
    assert "no unit of this manual" in reader.page.inner_text(".sheet-notes")


def test_what_was_chosen_last_holds_for_a_trace_that_goes_on_in_this_tab(reader: Reader) -> None:
    reader.choose("W6-20731")
    reader.page.evaluate("document.querySelector('#trace-title').focus()")
    reader.page.keyboard.press("1")
    reader.page.keyboard.press("1")
    reader.open("index.html")
    reader.page.click("text=Show all units")
    reader.page.click(f"main .chapter a[href^='symptoms/{TWICE}.html']")
    reader.page.wait_for_url(f"**/symptoms/{TWICE}.html*")
    assert reader.line == "For all units"
    assert reader.page.locator(".sheet-answers ol > li").count() == 1
    reader.open("index.html")
    reader.choose("W4")
    reader.page.click(".unfinished a")
    reader.page.wait_for_url(f"**/symptoms/{TWICE}.html*")
    assert reader.line.startswith("Shown for W4 only"), "a trace without a unit takes the chosen one"


def test_a_symptom_of_other_units_is_not_traced(chromium: Any, small_site: Path) -> None:
    reader = Reader(chromium.new_page(), small_site)
    reader.open("symptoms/step-stays-out.html?unit=W6-20499")
    assert reader.page.inner_text("#trace-title") == "This symptom is not for W6-20499"
    assert "It applies to: W4; W6 from W6-20500." in reader.page.inner_text(".action")
    reader.page.keyboard.press("1")
    assert reader.line == "For all units"
    assert "hurt or trapped" in reader.page.inner_text("#trace-title")
    assert reader.said == []
    reader.page.close()

"""The safety macros: what a panel says, in which order, and what stands before which step."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from jinja2 import Environment, FileSystemLoader

from kbtools.library import Library, open_content
from kbtools.model import SIGNAL_WORDS, Hazard, StopIf

OVERRIDES = Path(__file__).parent.parent / "site_overrides"

CONTENT = """
people:
  owner: {title: Operator, visit_minutes: 0}
tools:
  torch: {title: Torch, who: owner}
  gauge: {title: Gauge, who: owner, hazards: [oil]}
hazards:
  scratch: {title: Scratch, harm: property, likelihood: could, consequence: Paint comes off., who: owner}
  hot: {title: Hot motor, harm: minor, likelihood: could, symbol: hot, consequence: It burns., avoid: Wait., who: owner}
  oil: {title: Oil jet, harm: serious, likelihood: could, symbol: injection, consequence: It pierces skin., avoid: "0 bar first.", who: owner}
  press: {title: Press closes, harm: death, likelihood: will, symbol: crushing, consequence: It kills., avoid: Lock it., who: owner}
precautions:
  clear:
    title: Get clear
    who: owner
    hazards: [hot, press]
    steps: [Leave., {do: Screw the gauge on, tools: [gauge]}, {do: Feel the motor, hazards: [hot], tools: [torch]}]
  call: {title: Call, who: owner, steps: [Call now.]}
"""
MANUAL = """
title: M
organisation: Maker & Sons
telephone: "01632 960 247"
hours: 7 to 9
revised: "2025-01-01"
emergency: [clear, gone, call]
"""


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Library:
    folder = tmp_path_factory.mktemp("content")
    (folder / "manual.yml").write_text(MANUAL)
    (folder / "equipment").mkdir()
    (folder / "equipment" / "all.yml").write_text(CONTENT)
    library, problems = open_content(folder)
    assert problems == []
    return library


def environment() -> Environment:
    return Environment(loader=FileSystemLoader(OVERRIDES), autoescape=True)


def render(call: str, **context: Any) -> str:
    return environment().from_string('{% import "kb/safety.html" as safety %}' + call).render(**context)


@pytest.mark.parametrize(
    ("harm", "likelihood"), [(h, p) for h in ("death", "serious", "minor", "property") for p in ("will", "could")]
)
def test_a_panel_says_the_word_the_hazard_the_consequence_and_the_way_out(harm: Any, likelihood: Any) -> None:
    hazard = Hazard(title="<T>", harm=harm, likelihood=likelihood, consequence="What happens", avoid="Way out", who="o")
    html = render("{{ safety.panel(h) }}", h=hazard)
    text = re.sub(r"<[^>]*>", "|", html)
    order = [text.index(part) for part in (hazard.signal_word, "&lt;T&gt;", "What happens", "Way out")]
    assert order == sorted(order)
    assert f"kb-{hazard.signal_word.lower()}" in html
    assert ("kb-triangle" in html) == (harm != "property")
    assert [word for word in SIGNAL_WORDS if re.search(rf"\b{word}\b", text)] == [hazard.signal_word]


def test_every_symbol_of_the_model_has_a_drawing_of_its_own() -> None:
    symbols = Hazard.model_fields["symbol"].annotation.__args__  # type: ignore[union-attr]
    drawn = {name: render("{{ safety.symbol(n) }}", n=name).replace(name, "") for name in symbols}
    assert len(set(drawn.values())) == len(symbols) == 13
    assert all(re.search(r"<(path|circle)", svg) for svg in drawn.values())


def test_nothing_needs_an_inline_style_or_script(library: Library) -> None:
    call = "{{ safety.panels(hs) }}{{ safety.precaution(p, library) }}{% include 'kb/emergency.html' %}"
    html = render(call, hs=library.hazards.values(), p=library.precautions["clear"], library=library, lib=library)
    assert html.count("<svg") > 8
    assert not re.search(r"\sstyle=|<style|<script|\son\w+=", html)


def test_an_empty_way_out_leaves_no_empty_line(library: Library) -> None:
    html = render("{{ safety.panel(h) }}", h=library.hazards["scratch"])
    assert "kb-avoid" not in html
    assert "<p></p>" not in html


def test_panels_keep_the_order_of_severity_and_an_empty_list_draws_nothing(library: Library) -> None:
    html = render("{{ safety.panels(hs) }}", hs=library.most_severe_first(library.hazards))
    assert re.findall(r'aria-label="(\w+):', html) == ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    assert render("{{ safety.panels([]) }}{{ safety.group([]) }}{{ safety.stop_signs([], none) }}").strip() == ""


def test_a_group_bears_the_word_of_the_greatest_hazard_and_names_them_all(library: Library) -> None:
    html = render("{{ safety.group(hs) }}", hs=library.most_severe_first(["hot", "oil"]))
    assert 'aria-label="WARNING: Oil jet; Hot motor"' in html
    assert "CAUTION" not in html
    assert html.index("It pierces skin.") < html.index("It burns.")


def test_a_panel_stands_right_before_the_step_that_it_protects(library: Library) -> None:
    html = render("{{ safety.precaution(p, library) }}", p=library.precautions["clear"], library=library)
    top = html.index("<ol")
    assert html.index("DANGER: Press closes") < html.index("CAUTION: Hot motor") < top
    assert html.index("Leave.") < html.index("WARNING: Oil jet") < html.index("Screw the gauge on")
    assert html.rindex("CAUTION: Hot motor") < html.index("Feel the motor")
    assert "(Gauge)" in html and "(Torch)" in html


def test_stop_signs_stand_grouped_with_what_follows(library: Library) -> None:
    stops = [
        StopIf(sign="It moves", then="clear"),
        StopIf(sign="It hums", then="call"),
        StopIf(sign="It tips", then="clear"),
    ]
    html = render("{{ safety.stop_signs(stops, library) }}", stops=stops, library=library)
    order = [
        html.index(part)
        for part in ("It moves", "It tips", "Then: Get clear", "Leave.", "It hums", "Then: Call", "Call now.")
    ]
    assert order == sorted(order)


def test_a_stop_sign_whose_precaution_is_gone_still_shows_the_sign(library: Library) -> None:
    html = render(
        "{{ safety.stop_signs(stops, library) }}", stops=[StopIf(sign="It moves", then="gone")], library=library
    )
    assert "It moves" in html
    assert "Then:" not in html


def test_the_emergency_page_calls_first_and_lists_its_precautions_in_order(library: Library) -> None:
    html = environment().get_template("kb/emergency.html").render(lib=library)
    assert (
        html.index(library.manual.emergency_call) < html.index('href="tel:01632960247"') < html.index('href="#clear"')
    )
    assert re.findall(r'<section class="kb-emergency-item" id="([\w-]+)"', html) == ["clear", "call"]
    item = html[html.index('id="clear"') : html.index('id="call"')]
    assert 0 < item.index('class="kb-steps"') < item.index("kb-group"), "the steps come first: every second counts"
    assert "Maker &amp; Sons" in html
    assert library.manual.defer in html and library.manual.hand_over in html


def test_every_colour_of_the_style_sheet_is_a_custom_property() -> None:
    css = (OVERRIDES / "assets" / "safety.css").read_text()
    rules = re.sub(r":root \{.*?\}", "", css, flags=re.S)
    fallbacks_aside = re.sub(r"var\([^)]*\)", "", rules)
    assert set(re.findall(r"#[0-9a-f]{3,8}\b", fallbacks_aside)) <= {"#000"}

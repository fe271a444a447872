"""The owner edition in a real browser, from file://: one step at a time, kept, told to the desk, readable for everybody."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from kbtools.library import open_content
from kbtools.site.build import build
from kbtools.site.edition import OWNER, SERVICE
from tests.browser.test_site import OVERFLOW, TAGS, served, visit

pytestmark = pytest.mark.browser

CONTENT = Path(__file__).parents[2] / "content"
KINDS = ["index.html", "emergency.html", "404.html", "safe-working.html", "symptoms/step-stays-in.html"]
PAGE = "symptoms/step-stays-in.html"


@pytest.fixture
def page(chromium: Any, small_owner_site: Path) -> Any:
    """A phone at the page of the step that stays in."""
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto((small_owner_site / PAGE).as_uri())
    yield page
    context.close()


def shown(page: Any) -> str:
    """The heading of the one step that is to be seen."""
    assert page.locator(".turn:not([hidden])").count() == 1
    return str(page.locator(".turn:not([hidden]) h3").first.inner_text())


def press(page: Any, label: str) -> None:
    page.get_by_role("button", name=label, exact=True).click()


def test_from_a_folder_the_console_stays_empty_and_nothing_is_asked_for_elsewhere(
    chromium: Any, small_owner_site: Path
) -> None:
    paths = [
        p.relative_to(small_owner_site).as_posix() for p in small_owner_site.rglob("*.html") if p.name != "404.html"
    ]
    assert visit(chromium, small_owner_site.as_uri() + "/", paths) == ([], [])


def test_without_scripts_the_steps_stand_as_a_list(chromium: Any, small_owner_site: Path) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((small_owner_site / PAGE).as_uri())
    assert page.locator(".turn:visible").count() == page.locator(".turn").count() == 4
    assert page.get_by_text("Stop: Keep off the step. See below.").is_visible()
    assert page.locator("button:visible").count() == 0
    context.close()


def test_one_step_at_a_time_to_the_end(page: Any) -> None:
    assert shown(page) == "Is everybody safe?"
    press(page, "Yes, it is done. Start.")
    assert shown(page) == "Is the tractor plugged in?"
    press(page, "Plugged in with the key on")
    assert shown(page) == "The tractor's ignition is on"
    assert page.get_by_text("Turn the tractor's ignition off.").is_visible()
    press(page, "It is gone")
    assert shown(page) == "All is well"
    assert "%" not in page.locator("main").inner_text()


def test_what_is_not_for_owners_ends_with_a_call_and_the_answers(page: Any) -> None:
    press(page, "Yes, it is done. Start.")
    press(page, "Plugged in with the key on")
    press(page, "It is still there")
    for _ in range(5):
        if shown(page) == "Stop here and call us":
            break
        press(page, "I am not sure")
    assert shown(page) == "Stop here and call us"
    assert page.locator(".turn:not([hidden]) a[href^='tel:']").inner_text() == "+00 0000 0100"
    told = page.locator(".sofar-list").inner_text()
    assert "Is the tractor plugged in? Plugged in with the key on" in told
    assert "The tractor's ignition is on: still there" in told


def test_an_answer_that_calls_for_a_precaution_stops_everything(page: Any) -> None:
    page.goto(page.url.split("#")[0] + "#t=1&who=owner&safe=1&now=step-click&given=tractor-plugged-in=unplugged")
    page.wait_for_function("location.hash.includes('given')")
    then = page.locator("[data-then]").first
    page.goto(page.url.split("#")[0] + f"#t=1&who=owner&safe=1&given=step-click={then.get_attribute('data-outcome')}")
    page.get_by_text("Then call us. Go on with nothing else.").wait_for()
    assert shown(page) == "Keep off the step"


def test_a_reload_and_the_way_back_keep_the_answers(page: Any) -> None:
    press(page, "Yes, it is done. Start.")
    press(page, "Unplugged, or the key is off")
    before = shown(page), page.locator(".sofar-list").inner_text()
    page.reload()
    assert (shown(page), page.locator(".sofar-list").inner_text()) == before
    home = page.url.split("symptoms/")[0] + "index.html"
    page.goto(home)
    page.locator("#kb-unfinished a").click()
    page.locator(".is-live").wait_for()
    assert (shown(page), page.locator(".sofar-list").inner_text()) == before
    press(page, "Back")
    assert shown(page) == "Is the tractor plugged in?"
    press(page, "Back")
    assert shown(page) == "Is everybody safe?"


def test_the_whole_way_by_keyboard_with_the_heading_announced(page: Any) -> None:
    page.get_by_role("button", name="Yes, it is done. Start.").focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.textContent") == "Is the tractor plugged in?"
    assert page.locator(".onebyone [role=status]").inner_text() == "Is the tractor plugged in?"
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    assert page.evaluate("document.activeElement.tagName") == "H3"
    assert page.locator(".sofar-list li").count() == 1


def test_owners_search_in_their_own_words_and_find_symptoms_only(page: Any) -> None:
    page.goto(page.url.split("symptoms/")[0] + "index.html")
    page.get_by_role("combobox").fill("no step")
    page.locator("[role=option]").first.wait_for()
    titles = page.locator("[role=option]").all_inner_texts()
    assert "The step does not come out" in titles[0]
    assert len(titles) <= 2


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_no_accessibility_violation(chromium: Any, small_owner_site: Path, width: int, scheme: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page = chromium.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
    found = []

    def look(what: str) -> None:
        results = axe.run(page, options={"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]})
        found.extend(f"{what}: {v['id']}: {v['nodes'][0]['html'][:200]}" for v in results.response["violations"])
        assert len(results.response["passes"]) > 10

    with served(small_owner_site) as address:
        for path in KINDS:
            page.goto(address + path)
            look(path)
        for label in ("Yes, it is done. Start.", "Plugged in with the key on", "It is still there"):
            press(page, label)
            look(label)
    page.close()
    assert found == []


@pytest.mark.parametrize(("width", "size"), [(360, 100), (320, 100), (1280, 200)])
def test_no_sideways_scroll_on_a_phone_nor_with_text_twice_as_large(
    chromium: Any, small_owner_site: Path, width: int, size: int
) -> None:
    page = chromium.new_page(viewport={"width": width, "height": 800})
    for path in KINDS:
        page.goto((small_owner_site / path).as_uri())
        page.evaluate(f"document.documentElement.style.fontSize = '{size}%'")
        assert page.evaluate(OVERFLOW) == [], f"{path} at {width} px, text {size} %"
    page.close()


def test_every_symptom_of_the_demo_asks_the_same_first_as_the_service_edition(chromium: Any, tmp_path: Path) -> None:
    """Causes without names weigh as much as those with names: both editions propose the same step to an owner."""
    library = open_content(CONTENT)[0]
    owner, service = (build(library, edition, tmp_path).folder for edition in (OWNER, SERVICE))
    page = chromium.new_page()
    script = """numbers => { const next = kbTrace.engineOf(numbers).next(kbTrace.state.fresh('owner', 'hands'));
        return [next.kind, next.kind === 'hand-over' ? null : next.id, Math.round(next.expected * 1e6)]; }"""
    for name in ("diagnosis", "trace-words", "trace-reading", "trace-state", "trace-engine"):
        page.add_script_tag(path=str(service / f"assets/{name}.js"))
    for ident in library.symptoms:
        proposed = []
        for site in (owner, service):
            text = (site / f"assets/trace/{ident}.js").read_text().removeprefix("var kbTraceNumbers = ")
            proposed.append(page.evaluate(f"({script})({text.rstrip().removesuffix(';')})"))
        assert proposed[0] == proposed[1], ident
    page.close()

"""For everybody: every state of both editions by axe-core, whole traces by keyboard alone, less motion, forced colours, 400 % zoom.

WCAG 2.2 A and AA as axe-core checks them; reflow (SC 1.4.10) at 320 CSS px, which is 1280 px at 400 %.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.test_site import TAGS, served

pytestmark = pytest.mark.browser

PAGE = "symptoms/step-stays-in.html"
MOVES = """() => [...document.querySelectorAll('*')].filter(e => {
  const style = getComputedStyle(e);
  return style.animationName !== 'none' || style.transitionDuration.split(', ').some(d => parseFloat(d) > 0) || style.scrollBehavior === 'smooth';
}).map(e => e.outerHTML.slice(0, 80))"""
UNFRAMED = """() => [...document.querySelectorAll('button, input:not([type=radio], [type=checkbox]), select, textarea')]
  .filter(e => e.checkVisibility({ visibilityProperty: true }))
  .filter(e => !parseFloat(getComputedStyle(e).borderTopWidth) && !parseFloat(getComputedStyle(e).borderBottomWidth))
  .map(e => e.outerHTML.slice(0, 100))"""

State = tuple[str, Callable[[Any], None]]


def press(label: str) -> Callable[[Any], None]:
    return lambda page: page.get_by_role("button", name=label, exact=True).click()


def opens(path: str) -> Callable[[Any], None]:
    def go(page: Any) -> None:
        page.goto("about:blank")
        page.goto(page.base + path)

    return go


def finds(text: str) -> Callable[[Any], None]:
    def fill(page: Any) -> None:
        page.get_by_role("combobox").fill(text)
        page.wait_for_function("() => document.querySelector('#kb-search-status').textContent")

    return fill


def wrong_code(page: Any) -> None:
    page.locator("#kb-code-words").fill("0000-0000-1")
    page.locator("#kb-code button").click()
    assert page.locator("#kb-code-said").inner_text()


def newer(page: Any) -> None:
    """The offer of a newer manual as assets/offline.js shows it."""
    page.evaluate("document.querySelector('#kb-newer .newer').hidden = false")


def aged(page: Any) -> None:
    page.clock.set_fixed_time("2030-01-01T12:00:00Z")
    page.reload()
    assert page.locator("#kb-age").is_visible()


def unfinished(page: Any) -> None:
    """The contents page after a trace that was left with an answer in it."""
    page.goto(page.base + "404.html")
    page.evaluate("localStorage.clear(); sessionStorage.clear()")
    opens(PAGE)(page)
    if page.locator(".onebyone").count():
        press("Yes, it is done. Start.")(page)
        press("Unplugged, or the key is off")(page)
    else:
        page.keyboard.press("1")
        page.keyboard.press("x")
    page.wait_for_function("() => location.hash.includes('given=')")
    opens("index.html")(page)
    page.locator("#kb-unfinished li").wait_for()


SEARCHES: list[State] = [
    ("results", finds("no step")),
    ("corrected", finds("stpe")),
    ("none found", finds("xyzzyq")),
]
HOME: list[State] = [
    ("home", opens("index.html")),
    ("wrong code", wrong_code),
    *SEARCHES,
    ("unfinished", unfinished),
    ("aged", aged),
    ("newer", newer),
]
OWNER: list[State] = [
    ("emergency", opens("emergency.html")),
    ("gate", opens(PAGE)),
    ("first question", press("Yes, it is done. Start.")),
    ("remedy", press("Plugged in with the key on")),
    ("mended", press("It is gone")),
    ("stop", opens(f"{PAGE}#t=1&who=owner&safe=1&given=step-click=click")),
    ("handed over", opens(f"{PAGE}#t=1&who=owner&safe=1&given=tractor-plugged-in=ignition-on&given=remedy:coupled-locks-step=failed")),
    ("card", opens("cards/step-stays-in.html")),
    ("binder", opens("cards.html")),
]  # fmt: skip
SERVICE: list[State] = [
    ("emergency", opens("emergency.html")),
    ("gate", opens(PAGE)),
    ("begun", lambda page: page.keyboard.press("1")),
    ("all open", lambda page: page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")),
    ("handed over", lambda page: page.locator("[data-do='hand-over']").click()),
]


def walked(page: Any, states: list[State]) -> Iterator[str]:
    for name, go in states:
        go(page)
        yield name


@pytest.fixture(scope="module", params=["owner", "service"])
def edition(request: pytest.FixtureRequest) -> Iterator[tuple[str, str]]:
    """Name and address of an edition over http."""
    site: Path = request.getfixturevalue("small_owner_site" if request.param == "owner" else "small_site")
    with served(site) as address:
        yield request.param, address


def opened(chromium: Any, address: str, **settings: Any) -> Any:
    page = chromium.new_context(**{"viewport": {"width": 360, "height": 740}, **settings}).new_page()
    page.base = address
    page.set_default_timeout(20000)
    return page


def states_of(name: str) -> list[State]:
    return (OWNER if name == "owner" else SERVICE) + HOME


def test_no_state_has_a_violation_or_scrolls_sideways(chromium: Any, edition: tuple[str, str]) -> None:
    """Each state at 360 px in light and 1280 px in dark, and the contrast and target size in the other two."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    name, address = edition
    page, found = opened(chromium, address), []
    for state in walked(page, states_of(name)):
        for width, scheme in ((360, "light"), (1280, "dark"), (360, "dark"), (1280, "light")):
            page.set_viewport_size({"width": width, "height": 800})
            page.emulate_media(color_scheme=scheme)
            first = (width, scheme) in ((360, "light"), (1280, "dark"))
            only = (
                {"type": "tag", "values": TAGS}
                if first
                else {"type": "rule", "values": ["color-contrast", "target-size"]}
            )
            results = axe.run(page, options={"runOnly": only, "resultTypes": ["violations"], "preload": False}).response
            found += [
                f"{state} {width} {scheme} {v['id']}: {v['nodes'][0]['html'][:150]}" for v in results["violations"]
            ]
        page.set_viewport_size({"width": 320, "height": 256})  # 1280 × 1024 at 400 %
        if page.evaluate("document.documentElement.scrollWidth") > 320:
            found.append(f"{state} scrolls sideways")
    page.context.close()
    assert found == []


def test_nothing_moves_by_itself(chromium: Any, edition: tuple[str, str], small_site: Path) -> None:
    """With less motion asked for, no state animates, fades or glides; no script asks for smooth scrolling."""
    name, address = edition
    page = opened(chromium, address, reduced_motion="reduce")
    for state in walked(page, states_of(name)):
        assert page.evaluate("matchMedia('(prefers-reduced-motion: reduce)').matches")
        assert page.evaluate(MOVES) == [], state
    page.context.close()
    scripts = [
        file.read_text() for file in (small_site / "assets").rglob("*.js") if not file.name.startswith("search-")
    ]
    assert len(scripts) > 20
    assert [text for text in scripts if '"smooth"' in text or "'smooth'" in text or ".animate(" in text] == []


def test_forced_colours_keep_what_can_be_pressed(chromium: Any, edition: tuple[str, str]) -> None:
    """Backgrounds and shadows are gone then: everything that can be pressed or filled in has a border, the focus an outline."""
    name, address = edition
    page = opened(chromium, address, forced_colors="active")
    for state in walked(page, states_of(name)):
        assert page.evaluate("matchMedia('(forced-colors: active)').matches")
        assert page.evaluate(UNFRAMED) == [], state
    opens(PAGE)(page)
    seen = 0
    while seen < 25:
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            break
        style = page.evaluate(
            "(s => [s.outlineStyle, parseFloat(s.outlineWidth)])(getComputedStyle(document.activeElement))"
        )
        assert style[0] != "none" and style[1] >= 2, page.evaluate("document.activeElement.outerHTML.slice(0, 100)")
        seen += 1
    page.context.close()
    assert seen > 10


class Keys:
    """Somebody without a mouse. Every press leaves the focus on something that is to be seen."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def at(self) -> str:
        found = self.page.evaluate(
            "(e => [e.checkVisibility({ visibilityProperty: true }), e.innerText || e.value || e.id])(document.activeElement)"
        )
        assert found[0], f"the focus is on something hidden: {found[1]}"
        return " ".join(str(found[1]).split())

    def tab_to(self, text: str) -> None:
        for _ in range(80):
            self.page.keyboard.press("Tab")
            if self.at().startswith(text):
                return
        raise AssertionError(f"Tab never comes to {text}")

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)


def test_an_owner_goes_from_search_to_the_end_by_keyboard(chromium: Any, small_owner_site: Path) -> None:
    with served(small_owner_site) as address:
        page = opened(chromium, address)
        page.goto(address + "index.html")
        keys, box = Keys(page), page.get_by_role("combobox")
        keys.press("Tab")
        assert keys.at() == "Skip to the text"
        keys.press("/")
        assert page.evaluate("document.activeElement.getAttribute('role')") == "combobox"
        page.keyboard.type("no step")
        page.locator("[role=option]").first.wait_for()
        assert box.get_attribute("aria-expanded") == "true"
        assert page.locator("#kb-search-status[role=status]").inner_text()
        keys.press("ArrowDown")
        option = page.locator(f"#{box.get_attribute('aria-activedescendant')}")
        assert option.get_attribute("aria-selected") == "true" and "The step does not come out" in option.inner_text()
        keys.press("Enter")
        page.wait_for_url(f"**/{PAGE}*")
        status, told = page.locator(".onebyone [role=status]"), page.locator(".sofar-list li")
        keys.tab_to("Yes, it is done. Start.")
        for key, heading in (
            ("Enter", "Is the tractor plugged in?"), ("plugged in with the key on", "The tractor's ignition is on"), ("it is still there", ""),
        ):  # fmt: skip
            if key == "Enter":
                keys.press("Enter")
            else:
                keys.tab_to(key[:1].upper() + key[1:])
                keys.press("Space")
            assert page.evaluate("document.activeElement.tagName") == "H3"
            assert not heading or keys.at() == heading
            assert status.text_content() == page.evaluate("document.activeElement.textContent")
        assert told.count() == 2
        for _ in range(6):
            if keys.at() == "Stop here and call us":
                break
            keys.tab_to("I am not sure")
            keys.press("Enter")
        assert keys.at() == "Stop here and call us" == status.text_content()
        keys.press("Tab")
        assert page.evaluate("document.activeElement.href").startswith("tel:")
        keys.tab_to("Back")
        keys.press("Enter")
        assert page.evaluate("document.activeElement.tagName") == "H3" and keys.at() != "Stop here and call us"
        page.context.close()


def test_a_technician_goes_from_search_to_the_end_by_keyboard(chromium: Any, small_site: Path) -> None:
    with served(small_site) as address:
        page = opened(chromium, address, viewport={"width": 1280, "height": 800})
        page.goto(address + "index.html")
        keys = Keys(page)
        keys.press("/")
        page.keyboard.type("the step stays folded when I open the door")
        page.locator("[role=option]").first.wait_for()
        keys.press("ArrowDown")
        page.locator("[role=option][aria-selected=true]").wait_for()
        keys.press("Enter")
        page.wait_for_url(f"**/{PAGE}*")
        page.locator(".sheet:not([hidden])").wait_for()
        said: list[str] = []
        for _ in range(9):
            said.append(page.locator(".sheet-status[role=status]").text_content() or "")
            choices = page.locator(".sheet-action .choice")
            if not choices.count():
                break
            keys.tab_to(" ".join(choices.nth(min(1, choices.count() - 1) if len(said) > 1 else 0).inner_text().split()))
            keys.press("Enter")
            assert page.evaluate("document.activeElement.id") == "trace-title", said
        assert len(set(said)) > 2  # each move is announced in its own words
        assert page.locator(".sheet-answers li").count() >= 2
        page.context.close()

"""Choosing the unit in a real browser, from file://: by press, by typing, by address; what it hides, says, keeps and lets go."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kbtools.library import open_content
from kbtools.site.build import build
from kbtools.site.edition import SERVICE
from tests import unit_vectors
from tests.content_case import TOPIC, Content
from tests.site.test_for_units import W4, limited

pytestmark = pytest.mark.browser

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OUT = "The step will not fold"
"""A symptom of W4, and of W6 from 20500."""


class Reader:
    """One page of a manual; whatever the console says is kept in `said`."""

    def __init__(self, page: Any, site: Path) -> None:
        self.page, self.site = page, site
        self.said: list[str] = []
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))

    def open(self, path: str) -> None:
        self.page.goto("about:blank")
        self.page.goto(f"{self.site.as_uri()}/{path}")

    @property
    def line(self) -> str:
        return " ".join(self.page.inner_text(".unit-line").split())

    @property
    def status(self) -> str:
        return str(self.page.text_content(".unit-status"))

    def choose(self, text: str) -> None:
        self.page.click(".unit-choose > summary")
        self.page.fill("#kb-unit-words", text)
        self.page.keyboard.press("Enter")

    def listed(self) -> list[str]:
        found: list[str] = self.page.locator("main .contents a:visible").all_inner_texts()
        return found


@pytest.fixture
def reader(chromium: Any, small_site: Path) -> Iterator[Reader]:
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    found = Reader(context.new_page(), small_site)
    found.open("index.html")
    yield found
    assert found.said == []
    context.close()


def test_the_vectors_are_what_python_makes_today() -> None:
    assert unit_vectors.FILE.read_text(encoding="utf-8") == unit_vectors.text()


def test_the_page_reads_units_and_limits_as_the_terminal(reader: Reader) -> None:
    vectors = json.loads(unit_vectors.FILE.read_text(encoding="utf-8"))
    read = """texts => texts.map(text => { const found = kbUnit.read(text);
      return found.unit ? [[found.unit.type, found.unit.serial], kbUnit.written(found.unit)] : [null, found.wrong]; })"""
    texts = [text for text, _, _ in vectors["texts"]]
    assert reader.page.evaluate(read, texts) == [[unit, words] for _, unit, words in vectors["texts"]]
    about = """cases => cases.map(([limits, [type, serial]]) =>
      [kbUnit.about(limits, {type, serial}), kbUnit.written({type, serial})])"""
    found = reader.page.evaluate(about, vectors["applies"])
    assert found == [[result, words] for _, _, result, words in vectors["applies"]]
    assert {result for result, _ in found} == {True, False}
    picked = reader.page.evaluate(
        "({members, classes}) => members.map(([[type, serial]]) => kbUnit.pickFor(classes, {type, serial}))", vectors
    )
    assert picked == [at for _, at in vectors["members"]]


def test_a_type_by_one_press_and_back_by_one(reader: Reader) -> None:
    assert reader.line == "For all units"
    assert OUT in reader.listed()
    reader.choose("W6-20499")
    assert reader.line == "Shown for W6-20499 only. 1 entry on this page is left out."
    assert OUT not in reader.listed()
    assert reader.status == "Shown for W6-20499 only. 1 entry on this page is left out."
    assert reader.page.url.endswith("index.html?unit=W6-20499")
    reader.page.click("text=Show all units")
    assert (reader.line, reader.status) == ("For all units", "For all units.")
    assert OUT in reader.listed()
    assert reader.page.url.endswith("index.html")
    reader.page.click(".unit-choose > summary")
    reader.page.click(".unit-types >> text=W6")
    assert reader.line == "Shown for W6 only."
    assert OUT in reader.listed(), "without a serial number everything of the type applies"
    assert reader.page.get_attribute("[data-type=w6]", "aria-pressed") == "true"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("W6-2073", "“W6-2073” has 4 digits after W6-; a serial number has 5."),
        ("W9-20731", "“W9-20731” is no unit of this manual. There is: W4, W6 or 5 digits after W4- or W6-."),
        ("<img src=x onerror=alert(1)>", "“<img src=x onerror=alert(1)>” is no unit of this manual."),
        ("", "Type the serial number, or press a type."),
    ],
)
def test_what_names_no_unit_is_said_and_changes_nothing(reader: Reader, text: str, said: str) -> None:
    reader.choose(text)
    assert said in reader.page.inner_text("#kb-unit-wrong")
    assert reader.page.get_attribute("#kb-unit-wrong", "role") == "alert"
    assert reader.page.get_attribute("#kb-unit-words", "aria-invalid") == "true"
    assert reader.page.evaluate("document.activeElement.id") == "kb-unit-words"
    assert reader.line == "For all units"
    assert reader.page.evaluate("localStorage.getItem('kbtools.unit')") is None
    reader.page.fill("#kb-unit-words", "W4")
    reader.page.keyboard.press("Enter")
    assert reader.line == "Shown for W4 only."


def test_it_goes_along_every_link_and_survives_a_reload(reader: Reader) -> None:
    reader.choose("w6 20499")
    reader.page.click("main h2 a")
    reader.page.wait_for_url("**/systems/step.html?unit=W6-20499")
    assert reader.line.startswith("Shown for W6-20499 only")
    reader.page.reload()
    assert OUT not in reader.listed()
    reader.open("checks/step-click.html")
    assert reader.line.startswith("Shown for W6-20499 only"), "from what the browser kept"
    reader.page.evaluate("localStorage.removeItem('kbtools.unit')")
    reader.page.click("main a[href$='symptoms/step-stays-in.html']")
    reader.page.wait_for_url("**/symptoms/step-stays-in.html?unit=W6-20499*")
    before = reader.page.url
    reader.page.click("nav.onpage a[href='#causes']")
    assert reader.page.url.split("#")[0] == before.split("#")[0]


def test_the_address_wins_over_what_was_kept(reader: Reader) -> None:
    reader.choose("W4")
    reader.open("index.html?unit=W6-20499&q=")
    assert reader.line.startswith("Shown for W6-20499 only")
    reader.open("index.html")
    assert reader.line.startswith("Shown for W6-20499 only")


def test_an_address_with_a_strange_unit_shows_everything_and_says_so(reader: Reader) -> None:
    reader.choose("W6-20499")
    reader.open("index.html?unit=X1-1%3Cb%3E")
    assert reader.line == (
        "“X1-1<b>” is no unit of this manual. There is: W4, W6 or 5 digits after W4- or W6-. Everything is shown."
    )
    assert OUT in reader.listed()
    reader.open("index.html?unit=%E0%A4%A")
    assert "Everything is shown." in reader.line


def test_a_page_that_is_for_other_units_says_so_and_stands_in_full(reader: Reader) -> None:
    reader.open("symptoms/step-stays-out.html?unit=W6-20499")
    said = reader.page.inner_text("main .unit-other")
    assert said == "Not for W6-20499. This page applies to: W4; W6 from W6-20500. It stands here in full."
    assert reader.page.locator(".causes tr[data-cause]:visible").count() == 4
    reader.page.click("text=Show all units")
    assert reader.page.locator(".unit-other").count() == 0


def test_a_list_of_which_nothing_is_left_is_never_blank(chromium: Any, content: Content, tmp_path: Path) -> None:
    content.edit(TOPIC, "    notice: The door is open and", "    applies_to: [w4]\n    notice: The door is open and")
    content.edit(TOPIC, "    title: Actuator worn out\n", "    title: Actuator worn out\n    applies_to: [w4]\n")
    library, problems = open_content(content.folder)
    assert problems == []
    reader = Reader(chromium.new_page(), build(library, SERVICE, tmp_path / "site").folder)
    reader.open("systems/step.html?unit=W6-20499")
    assert reader.page.inner_text("#symptoms ~ .unit-none") == "Nothing here for W6-20499."
    assert reader.line.endswith("3 entries on this page are left out.")
    reader.open("checks/step-supply.html?unit=W6-20499")
    links = reader.page.locator(".linklist").all_inner_texts()
    assert not any("Actuator" in text or text.startswith(",") or text.endswith(", ") for text in links)
    assert reader.said == []
    reader.page.close()


def test_shares_procedure_and_card_are_those_of_the_unit(chromium: Any, content: Content, tmp_path: Path) -> None:
    reader = Reader(chromium.new_page(), build(limited(content), SERVICE, tmp_path / "site").folder)
    reader.open("symptoms/step-stays-in.html")

    def shown() -> tuple[list[str], str, str | None]:
        page = reader.page
        shares = page.locator(".causes .share:visible").all_inner_texts()
        chart = page.locator("#chart ~ :visible").first.inner_text().split("\n")[0]
        return shares, chart, page.get_attribute(".takealong a:visible", "href")

    before = shown()
    assert len(before[0]) == 5
    assert reader.page.inner_text("#causes ~ details > summary h3") == "4 causes, most common first"
    assert before[2] == "../cards/step-stays-in.html"
    reader.choose("W6-20499")
    shares, chart, link = shown()
    assert len(shares) == 4
    assert reader.page.inner_text("#causes ~ details > summary h3") == "3 causes, most common first"
    assert reader.page.locator("#causes ~ details .gist").inner_text().startswith("The tractor's ignition is on, about")
    assert shares != before[0][:3] + before[0][4:]
    assert chart == "This is the procedure for W6 up to W6-20499."
    assert link == "../cards/step-stays-in.w6-below-20500.html"
    reader.page.click("#chart ~ [data-unit-part] summary")
    assert reader.page.locator("#box-1").is_hidden()
    assert reader.page.locator("#box-w6-below-20500-1").is_visible()
    reader.page.evaluate("kbUnit.choose('W6-20500')")
    assert shown() == before
    reader.page.evaluate("kbUnit.choose('W6-20499')")
    reader.page.click(".takealong a:visible")
    assert "Only W6 up to W6-20499" in reader.page.inner_text(".card-applies")
    reader.page.go_back()
    reader.page.click("text=Show all units")
    assert shown() == before
    assert reader.said == []
    reader.page.close()


def test_by_keyboard_alone(reader: Reader) -> None:
    page = reader.page
    for _ in range(10):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.matches('.unit-choose > summary')"):
            break
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("w6-20499")
    page.keyboard.press("Enter")
    assert reader.line.startswith("Shown for W6-20499 only")
    assert page.evaluate("document.activeElement.matches('.unit-choose > summary')")
    assert page.locator(".unit-form").is_hidden()
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    assert page.locator(".unit-form").is_hidden()
    page.keyboard.press("Enter")
    assert page.locator(".unit-form").is_visible()
    page.keyboard.press("Shift+Tab")
    assert page.locator(".unit-form").is_hidden()
    page.keyboard.press("Enter")
    assert reader.line == "For all units"
    assert page.get_attribute(".unit-status", "role") == "status"


def test_a_browser_that_keeps_nothing_still_takes_it_along(chromium: Any, small_site: Path) -> None:
    context = chromium.new_context()
    context.add_init_script("Object.defineProperty(window, 'localStorage', {get() { throw new Error('blocked'); }})")
    reader = Reader(context.new_page(), small_site)
    reader.open("index.html")
    reader.choose("W4")
    reader.page.click("main h2 a")
    reader.page.wait_for_url("**/systems/step.html?unit=W4")
    assert reader.line.startswith("Shown for W4 only")
    context.close()


def test_without_scripts_everything_stands_there(chromium: Any, small_site: Path) -> None:
    context = chromium.new_context(java_script_enabled=False)
    reader = Reader(context.new_page(), small_site)
    reader.open("index.html?unit=W6-20499")
    assert OUT in reader.listed()
    assert reader.page.locator("#kb-unit").is_hidden()
    reader.open("symptoms/step-stays-out.html")
    assert "W4; W6 from W6-20500" in reader.page.inner_text("#what ~ .facts")
    context.close()


def test_a_manual_without_a_choice_has_no_control(chromium: Any, content: Content, tmp_path: Path) -> None:
    content.edit("equipment/equipment.yml", W4, "")
    content.edit(TOPIC, "    applies_to: [w4, {type: w6, from: 20500}]\n", "")
    content.edit(TOPIC, "    applies_to: [w4, w6]\n", "    applies_to: [w6]\n")
    library, problems = open_content(content.folder)
    assert problems == []
    reader = Reader(chromium.new_page(), build(library, SERVICE, tmp_path / "site").folder)
    reader.open("symptoms/step-stays-in.html?unit=W6")
    assert reader.page.locator("#kb-unit").count() == 0
    reader.page.fill("#kb-search-words", "step")
    reader.page.wait_for_selector(".search-option")
    assert reader.said == []
    reader.page.close()


def test_the_paper_says_for_which_unit_it_is(reader: Reader) -> None:
    reader.choose("W6-20499")
    reader.page.emulate_media(media="print")
    assert reader.line.startswith("Shown for W6-20499 only")
    assert reader.page.locator(".unit-choose, .unit-clear").locator("visible=true").count() == 0
    reader.page.evaluate("kbUnit.clear()")
    assert reader.page.locator("#kb-unit").is_hidden()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 360])
def test_every_state_is_accessible_and_fits(chromium: Any, small_site: Path, width: int, scheme: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page = chromium.new_page(viewport={"width": width, "height": 700}, color_scheme=scheme)

    def sound(state: str) -> None:
        found = axe.run(page, options={"runOnly": TAGS}).response["violations"]
        assert [(state, v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width, state

    for path in ("index.html", "symptoms/step-stays-in.html"):
        page.goto(f"{small_site.as_uri()}/{path}?unit=X1")
        sound("strange")
        page.click(".unit-choose > summary")
        page.fill("#kb-unit-words", "W6-2")
        page.keyboard.press("Enter")
        sound("wrong")
        page.fill("#kb-unit-words", "W6-20499")
        page.keyboard.press("Enter")
        sound("chosen")
    page.goto(f"{small_site.as_uri()}/symptoms/step-stays-out.html?unit=W6-20499")
    sound("other")
    page.close()

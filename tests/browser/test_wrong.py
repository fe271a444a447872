"""Saying that a step is wrong, in a real browser: by keyboard, across a reload, in the trace, saved and reviewed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from kbtools.cli import main
from tests.content_case import SMALL

pytestmark = pytest.mark.browser

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
FORM = ".wrong-form"


@pytest.fixture
def page(chromium: Any, small_site: Path) -> Iterator[Any]:
    """The page of a check with three steps; a complaint of the browser fails the test."""
    page = chromium.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto((small_site / "checks/step-supply.html").as_uri())
    page.evaluate("localStorage.clear()")
    yield page
    assert complaints == []
    page.close()


def _notes(page: Any) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(page.evaluate("localStorage.getItem('kbtools.wrong.notes')") or "[]")
    return found


def _saved(page: Any, tmp_path: Path) -> Path:
    with page.expect_download() as download:
        page.click("text=Save for the author")
    file = tmp_path / "notes.json"
    download.value.save_as(file)
    return file


def test_by_keyboard_to_the_line_of_the_source(page: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_cache_path", lambda name: tmp_path / "cache" / name)
    page.locator(".wrong-open").focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.tagName") == "SELECT"
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")
    page.keyboard.type("Pins 3 and 4 on a W6.")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.locator(FORM).count() == 0
    assert page.locator(".wrong-said").inner_text().startswith("Kept. On this machine: 1 note.")
    assert page.locator(".wrong-said").get_attribute("role") == "status"
    assert page.evaluate("document.activeElement.className") == "wrong-open"
    file = _saved(page, tmp_path)
    result = CliRunner().invoke(main, ["search", "--content", str(SMALL), "--review", str(file)])
    line = next(line for line in result.output.splitlines() if "(check step-supply)" in line)
    source, number, _ = line.split("  ")[0].rsplit(":", 2)
    assert "Hold the probes to pins 1 and 2." in Path(source).read_text(encoding="utf-8").splitlines()[int(number) - 1]
    assert '1 × "Pins 3 and 4 on a W6."' in result.output


def test_an_answer_can_be_wrong_too(page: Any) -> None:
    page.click(".wrong-open")
    page.select_option(f"{FORM} select", label="Answer: 1 to under 22 V")
    page.fill(f"{FORM} textarea", "The plate says 21 V.")
    page.click("text=Keep this note")
    (note,) = _notes(page)
    assert (note["entry"], note["part"]) == ("check/step-supply", "outcome low")
    assert "low: {" in (SMALL / str(note["file"])).read_text(encoding="utf-8").splitlines()[int(str(note["line"])) - 1]


def test_what_was_typed_survives_a_reload_and_can_be_left(page: Any) -> None:
    page.click(".wrong-open")
    page.select_option(f"{FORM} select", index=3)
    page.fill(f"{FORM} textarea", "half a sen")
    page.reload()
    assert page.input_value(f"{FORM} textarea") == "half a sen"
    assert page.input_value(f"{FORM} select") == "3"
    page.focus(f"{FORM} textarea")
    page.keyboard.press("Escape")
    assert page.locator(FORM).count() == 0
    assert page.evaluate("document.activeElement.className") == "wrong-open"
    page.reload()
    assert page.locator(FORM).count() == 0
    assert _notes(page) == []


def test_a_note_is_taken_back(page: Any) -> None:
    for said in ("first", "second"):
        page.click(".wrong-open")
        page.fill(f"{FORM} textarea", said)
        page.click("text=Keep this note")
    page.click("text=Take this one back")
    assert page.locator(".wrong-said").inner_text() == "Taken back."
    assert [note["said"] for note in _notes(page)] == ["first"]


def test_the_search_panel_counts_them_too(page: Any) -> None:
    page.click(".wrong-open")
    page.fill(f"{FORM} textarea", "Too dark there.")
    page.click("text=Keep this note")
    page.fill("#kb-search-words", "step")
    page.locator("text=Save 1 note for the author").wait_for()
    page.click("text=Delete them")
    assert _notes(page) == []


def test_a_browser_that_keeps_nothing_says_the_line(page: Any) -> None:
    page.evaluate("() => { Storage.prototype.setItem = function () { throw new Error('full'); }; }")
    page.click(".wrong-open")
    page.fill(f"{FORM} textarea", "Too dark there.")
    page.click("text=Keep this note")
    assert "Tell the author: topics/step/step.yml:" in page.locator(".wrong-said").inner_text()
    assert page.input_value(f"{FORM} textarea") == "Too dark there."


def test_in_the_trace(page: Any, small_site: Path) -> None:
    page.goto((small_site / "symptoms/step-stays-in.html").as_uri())
    panel = page.locator(".sheet-action")
    panel.locator("button").first.click()
    if panel.locator("details.how:not([open]) summary").count():
        panel.locator("details.how summary").first.click()
    panel.locator(".wrong-open").first.click()
    parts = panel.locator(f"{FORM} option").all_inner_texts()
    assert parts[0].startswith("The whole ") and parts[1].startswith("Step 1: ")
    panel.locator("textarea").fill("1 2 x ?")
    panel.locator("text=Keep this note").click()
    (note,) = _notes(page)
    assert str(note["words"]) in (SMALL / str(note["file"])).read_text(encoding="utf-8")


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(chromium: Any, small_site: Path, width: int, scheme: str) -> None:
    """WCAG 2.2 A and AA as axe-core checks them, with the form open and after a note."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page = chromium.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page.goto((small_site / "checks/step-supply.html").as_uri())
    page.click(".wrong-open")
    assert axe.run(page, options={"runOnly": TAGS}).response["violations"] == []
    page.fill(f"{FORM} textarea", "Too dark there.")
    page.click("text=Keep this note")
    assert axe.run(page, options={"runOnly": TAGS}).response["violations"] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


def test_paper_has_none_of_it(page: Any) -> None:
    page.click(".wrong-open")
    page.emulate_media(media="print")
    assert page.locator(".wrong").first.is_hidden()

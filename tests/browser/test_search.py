"""The search box in a real browser, from file://: the terminal's numbers, keyboard, screen reader, bad input, speed."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kbtools.applies import Unit, applies, classes, one_of, unit_words
from kbtools.library import Library, open_content
from kbtools.model import Reviewed
from kbtools.search.engine import Search, marks, search_of
from kbtools.search.export import search_scripts
from kbtools.site.render import path_of, units_of
from kbtools.site.site import CSP
from tests.search.parity_case import fuzzed, off_topic, prefixes, queries

pytestmark = pytest.mark.browser

ROOT = Path(__file__).parents[2]
BOX = "#kb-search-words"
ASK = "vectors => vectors.map(([text, typing]) => kbSearch.ids(text, 10, typing))"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.fixture(scope="module")
def demo() -> Library:
    return open_content(ROOT / "content")[0]


@pytest.fixture(scope="module")
def bare(chromium: Any, demo: Library, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A page with nothing but the engine and the demo's index, from file:// under the manual's CSP."""
    folder = tmp_path_factory.mktemp("engine")
    for name in ("search.js", "unit.js"):
        shutil.copy(ROOT / "site_overrides/assets" / name, folder)
    for name, text in search_scripts(demo, path_of).items():
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "index.html").write_text(
        f'<!doctype html><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{CSP}"><title>Engine</title>'
        f"<section id=kb-unit data-units='{json.dumps(units_of(demo))}'></section>"
        '<script src="unit.js"></script><script src="search.js"></script><script src="search-data.js"></script><script src="search-text.js"></script>',
        encoding="utf-8",
    )
    page = chromium.new_page()
    page.goto((folder / "index.html").as_uri())
    yield page
    page.close()


@pytest.fixture
def home(chromium: Any, small_site: Path) -> Iterator[Any]:
    """The tiny manual's first page; a complaint of the browser fails the test."""
    page = chromium.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("dialog", lambda dialog: complaints.append(dialog.message))
    page.goto((small_site / "index.html").as_uri())
    page.evaluate("localStorage.clear()")
    yield page
    assert complaints == []
    page.close()


def _titles(page: Any) -> list[str]:
    page.wait_for_selector(".search-option")
    found: list[str] = page.locator(".search-title").all_inner_texts()
    return found


def _loaded(page: Any) -> None:
    page.locator("select[aria-label=System] option").first.wait_for(state="attached")


def _asked(page: Any) -> None:
    page.locator("#kb-search-status:not(:empty)").wait_for()


def test_the_browser_ranks_as_the_terminal(bare: Any, demo: Library) -> None:
    """Full queries, a sample of their prefixes and fuzzed ones; benchmarks/search_parity.py takes every prefix."""
    search: Search = search_of(demo)
    asked = queries()
    chance = random.Random(3)
    texts = [*asked, *chance.sample(list(prefixes(asked)), 300), *fuzzed(asked, 200)]
    vectors = [[text, number % 2 == 0] for number, text in enumerate(texts)]
    theirs = bare.evaluate(ASK, vectors)
    for (text, typing), got in zip(vectors, theirs, strict=True):
        expected = [[ident, score] for ident, score in search.ids(str(text), typing=bool(typing))[:10]]
        assert got == expected, text


def test_phrases_outcomes_and_second_group_are_the_terminals(bare: Any, demo: Library) -> None:
    search = search_of(demo)
    texts = [
        "21.5 V at TP6",
        "21,5 volts tp 6",
        "fault 4",
        "tilt steady",
        "F3",
        "K1",
        "load-holding valve",
        *queries()[:60],
    ]
    script = """texts => texts.map(text => {
      const found = kbSearch.ask(text, {limit: 8});
      return [found.query.corrected, ...[found.symptoms, found.others].map(hits =>
        hits.map(hit => [hit.kind, hit.id, hit.score, hit.phrase, hit.outcome, kbSearch.marks(found.query, hit.phrase)]))];
    })"""
    for text, got in zip(texts, bare.evaluate(script, texts), strict=True):
        found = search.ask(text, limit=8)
        rows = [
            [
                [
                    h.document.kind,
                    h.document.id,
                    h.score,
                    h.phrase,
                    h.outcome,
                    [list(m) for m in marks(search.index, found.query, h.phrase)],
                ]
                for h in hits
            ]
            for hits in (found.symptoms, found.others)
        ]
        assert got == [[list(pair) for pair in found.query.corrected], *rows], text


def test_the_browser_calls_the_same_queries_strange(bare: Any, demo: Library) -> None:
    search, asked = search_of(demo), [*queries(), *off_topic()]
    texts = [*asked, *random.Random(4).sample(list(prefixes(off_topic())), 200), *fuzzed(asked, 200)]
    vectors = [[text, number % 2 == 0] for number, text in enumerate(texts)]
    script = "vectors => vectors.map(([text, typing]) => kbSearch.ask(text, {typing, wanted: () => false}).unknown)"
    strange = 0
    for (text, typing), got in zip(vectors, bare.evaluate(script, vectors), strict=True):
        found = search.ask(str(text), typing=bool(typing))
        assert got == ([] if found.about_it else list(found.query.unknown)), text
        strange += not found.about_it
    assert strange > 100


def test_for_every_class_of_units_the_browser_finds_what_the_terminal_finds(bare: Any, demo: Library) -> None:
    search, texts = search_of(demo), ["tilt sensor", "fault 2", "side key", *queries()[::25]]
    entries = [e for table in demo.entries.values() for e in table.values() if isinstance(e, Reviewed)]
    script = """([unit, texts]) => { kbUnit.choose(unit); return texts.map(text => {
      let left = 0;
      const wanted = (system, limits) => kbUnit.applies(limits) || ((left += 1), false);
      const found = kbSearch.ask(text, {limit: 8, wanted});
      return [left, ...[found.symptoms, found.others].map(hits => hits.map(hit => [hit.kind, hit.id, hit.score]))];
    }); }"""
    for limit in classes(demo, [limit for entry in entries for limit in entry.applies_to]):
        unit, left = one_of(limit), 0
        for text, got in zip(texts, bare.evaluate(script, [unit_words(demo, unit), texts]), strict=True):
            hidden: set[tuple[str, str]] = set()
            found = search.ask(text, limit=8, wanted=lambda d: _about(demo, d.kind, d.id, unit, hidden))  # noqa: B023
            groups = [
                [[h.document.kind, h.document.id, h.score] for h in hits] for hits in (found.symptoms, found.others)
            ]
            assert got == [len(hidden), *groups], (unit, text)
            left += len(hidden)
        assert left or unit == Unit("w6"), "a class of units to which nothing is denied would show nothing here"


def _about(library: Library, kind: str, ident: str, unit: Unit, hidden: set[tuple[str, str]]) -> bool:
    entry = library.entries[kind].get(ident)
    if not isinstance(entry, Reviewed) or applies(entry.applies_to, unit):
        return True
    hidden.add((kind, ident))
    return False


def test_slash_words_arrows_and_enter_lead_to_the_page(home: Any) -> None:
    home.keyboard.press("/")
    home.keyboard.type("stpe hangs out")
    assert _titles(home)[0] == "The step will not fold"
    assert "Read as: stpe → step." in home.inner_text("#kb-search-status")
    assert home.locator(".search-phrase").first.inner_text() == "“the step hangs out all the time”"
    assert home.locator(".search-phrase").first.locator("mark").all_inner_texts() == ["step", "hangs", "out"]
    assert "q=stpe+hangs+out" in home.url
    box = home.locator(BOX)
    assert box.get_attribute("aria-expanded") == "true"
    for _ in range(2):
        home.keyboard.press("ArrowDown")
    active = home.locator(f"#{box.get_attribute('aria-activedescendant')}")
    assert active.get_attribute("aria-selected") == "true"
    assert home.locator("[aria-selected=true]").count() == 1
    wanted = active.get_attribute("href")
    home.keyboard.press("Enter")
    home.wait_for_url(f"**/{wanted}")


def test_enter_opens_the_first_and_escape_closes(home: Any) -> None:
    home.fill(BOX, "step")
    _titles(home)
    home.keyboard.press("Escape")
    assert home.locator(".search-panel").is_hidden()
    home.fill(BOX, "step hangs")
    _titles(home)
    home.keyboard.press("Enter")
    home.wait_for_url("**/symptoms/step-stays-out.html")


def test_results_stay_while_a_word_is_written(home: Any) -> None:
    home.focus(BOX)
    _loaded(home)
    for end in range(len("step "), len("step zzqq") + 1):
        home.fill(BOX, "step zzqq"[:end])
        assert "The step will not fold" in _titles(home)


def test_the_chosen_unit_and_a_second_group(home: Any) -> None:
    home.fill(BOX, "F2")
    assert "Wall and step fuse F2" in _titles(home)
    groups = home.locator("[role=listbox] [role=group]")
    assert groups.count() == 2
    home.fill(BOX, "step out")
    assert set(_titles(home)) >= {"The step will not fold", "The step will not come out"}
    home.evaluate("kbUnit.choose('W6-20499')")
    assert set(_titles(home)) >= {"The step will not come out"}
    assert "The step will not fold" not in _titles(home)
    assert "1 entry for other units is left out." in home.inner_text("#kb-search-status")


def test_what_is_most_likely_about_something_else_is_said_first(home: Any) -> None:
    home.fill(BOX, "how long does my fridge stay cold")
    assert "The step will not fold" in _titles(home)
    said = "Nothing in this manual is about that. It does not know: long, fridge, cold. Nearest, perhaps not it: "
    assert home.inner_text("#kb-search-status").startswith(said)
    assert home.locator(".search-group").all_inner_texts()[0] == "Perhaps not it: Symptoms"
    home.fill(BOX, "step f")
    home.locator(".search-group", has_text="Perhaps").first.wait_for(state="detached")
    assert "Nothing" not in home.inner_text("#kb-search-status")


def test_nothing_found_offers_the_systems(home: Any) -> None:
    home.fill(BOX, "xyzzyq")
    link = home.locator(".search-help a")
    link.wait_for()
    assert link.inner_text() == "Entry step"
    assert "Nothing found." in home.inner_text("#kb-search-status")
    assert home.locator(BOX).get_attribute("aria-expanded") == "false"
    link.click()
    home.wait_for_url("**/systems/step.html")


@pytest.mark.parametrize(
    "text",
    [
        "step " * 2_000,
        "🚚🔥 step",
        "الدرج step",
        "?!.,;:",
        "-step",
        "<img src=x onerror=alert(1)><b>step</b>",
        "step.* [out] (a|b)+ \\ $^",
        "constructor __proto__ toString hasOwnProperty step",
        "constructor't",
    ],
)
def test_any_text_is_text(home: Any, text: str, small: Library) -> None:
    home.focus(BOX)
    _loaded(home)
    home.fill(BOX, text)
    home.wait_for_timeout(30)
    assert home.locator(".search-panel img, .search-panel b, .search-panel script").count() == 0
    expected = [list(pair) for pair in search_of(small).ids(text, typing=True)]
    assert home.evaluate("text => kbSearch.ids(text, 10, true)", text) == expected


@pytest.mark.parametrize(
    "query", ["?q=%E0%A4%A", "?q=%", "?q=%00%ff", "?q", "?q=&q=step", "?q=<script>alert(1)</script>", "?%ff=%ff"]
)
def test_a_damaged_address(home: Any, small_site: Path, query: str) -> None:
    home.goto((small_site / "index.html").as_uri() + query)
    home.wait_for_timeout(100)
    home.fill(BOX, "step hangs")
    assert _titles(home)[0] == "The step will not fold"


def test_the_address_brings_the_results_back(home: Any, small_site: Path) -> None:
    home.goto((small_site / "checks/step-supply.html").as_uri() + "?q=step+hangs")
    assert _titles(home)[0] == "The step will not fold"
    assert home.input_value(BOX) == "step hangs"
    assert home.evaluate("document.activeElement.tagName") == "BODY"
    home.click(".search-option")
    home.wait_for_url("**/symptoms/step-stays-out.html")


def test_search_notes_stay_here_until_they_are_saved(home: Any, small_site: Path, tmp_path: Path) -> None:
    for query, follow in (("xyzzy wobble", False), ("step hangs", True), ("step out", False)):
        home.goto((small_site / "index.html").as_uri())
        home.fill(BOX, query)
        _asked(home)
        if follow:
            home.click(".search-option")
            home.wait_for_url("**/symptoms/**")
    home.goto((small_site / "index.html").as_uri())
    home.fill(BOX, "door")
    with home.expect_download() as download:
        home.click("text=Save 2 notes for the author")
    file = tmp_path / "notes.json"
    download.value.save_as(file)
    saved = json.loads(file.read_text(encoding="utf-8"))
    assert saved["kind"] == "kbtools search notes"
    assert saved["notes"] == [{"query": "xyzzy wobble", "found": 0}, {"query": "step out", "found": 2}]
    keys = home.evaluate("Object.keys(localStorage)")
    assert all(key.startswith("kbtools.") for key in keys)
    home.click("text=Delete them")
    assert home.evaluate("localStorage.getItem('kbtools.search.notes')") == "[]"


def test_damaged_storage_does_no_harm(home: Any) -> None:
    home.evaluate(
        "localStorage.setItem('kbtools.search.notes', '{'); localStorage.setItem('kbtools.search.filters', '7')"
    )
    home.fill(BOX, "step hangs")
    assert _titles(home)[0] == "The step will not fold"


@pytest.mark.parametrize("name", ["search-data.js", "search-text.js"])
def test_a_missing_index_is_said(chromium: Any, small_site: Path, tmp_path: Path, name: str) -> None:
    shutil.copytree(small_site, tmp_path / "site")
    (tmp_path / f"site/assets/{name}").unlink()
    page = chromium.new_page()
    page.goto((tmp_path / "site/index.html").as_uri())
    page.fill(BOX, "step")
    page.locator("#kb-search-status", has_text="cannot be read").wait_for()
    page.close()


@pytest.mark.parametrize("width", [1280, 360])
def test_the_open_box_is_accessible_and_fits(chromium: Any, small_site: Path, width: int) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page = chromium.new_page(viewport={"width": width, "height": 700})
    page.goto((small_site / "checks/step-supply.html").as_uri())
    for text in ("step hangs out", "xyzzyq"):
        page.fill(BOX, text)
        _asked(page)
        found = axe.run(page, options={"runOnly": TAGS}).response["violations"]
        assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()

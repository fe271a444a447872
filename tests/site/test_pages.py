"""The built pages of the tiny manual: links both ways, nothing inline, nothing from elsewhere, text shown as text."""

from __future__ import annotations

from pathlib import Path

import pytest

from kbtools import words
from kbtools.cards.compiled import compiled
from kbtools.library import Library, open_content
from kbtools.model import KINDS
from kbtools.rules import RULES
from kbtools.site.authors import described_models
from kbtools.site.build import build
from kbtools.site.edition import SERVICE
from kbtools.site.site import CSP
from tests.content_case import EQUIPMENT, TOPIC, Content
from tests.site.html import Reading, pages_of, target


@pytest.fixture(scope="module")
def pages(small_site: Path) -> dict[str, Reading]:
    return pages_of(small_site)


def read(site: Path, path: str) -> str:
    return (site / path).read_text(encoding="utf-8")


def built(content: Content, tmp_path: Path) -> Path:
    library, problems = open_content(content.folder)
    assert problems == []
    return build(library, SERVICE, tmp_path / "out").folder


def test_every_entry_has_its_page_or_its_anchor(small: Library, pages: dict[str, Reading]) -> None:
    for kind in ("symptom", "cause", "check", "system"):
        assert {f"{KINDS[kind][0]}/{ident}.html" for ident in small.entries[kind]} <= set(pages)
    for kind in ("type", "person", "place", "tool", "hazard", "precaution", "part", "point", "state"):
        assert set(small.entries[kind]) <= set(pages[f"reference/{KINDS[kind][0]}.html"].anchors)
    assert {f"cards/{ident}.html" for ident in small.symptoms} <= set(pages)
    assert {"index.html", "emergency.html", "404.html", "safe-working.html"} <= set(pages)


def test_every_link_leads_to_a_page_and_an_anchor_that_are_there(small_site: Path, pages: dict[str, Reading]) -> None:
    followed = 0
    for path, page in pages.items():
        for link in page.links:
            if link.startswith("tel:"):
                continue
            found = target(path, link)
            assert found is not None, f"{path} links out of the manual: {link}"
            assert found[0] in pages, f"{path} links to {link}, which is not there"
            assert not found[1] or found[1] in pages[found[0]].anchors, f"{path}: no anchor {link}"
            followed += 1
        for link in page.loads:
            found = target(path, link)
            assert found is not None, f"{path} loads {link} from elsewhere"
            assert (small_site / found[0]).is_file(), f"{path} loads {link}, which is not there"
    assert followed > 300


def test_ids_are_unique_on_every_page(pages: dict[str, Reading]) -> None:
    assert {path: page.anchors for path, page in pages.items() if len(set(page.anchors)) < len(page.anchors)} == {}


def test_symptoms_causes_and_checks_link_both_ways(small: Library, pages: dict[str, Reading]) -> None:
    links = {path: {found[0] for link in page.links if (found := target(path, link))} for path, page in pages.items()}
    pairs = 0
    for symptom in small.symptoms:
        for cause in small.causes_of(symptom):
            assert f"causes/{cause.id}.html" in links[f"symptoms/{symptom}.html"]
            assert f"symptoms/{symptom}.html" in links[f"causes/{cause.id}.html"]
        for check in small.checks_of(symptom):
            assert f"checks/{check.id}.html" in links[f"symptoms/{symptom}.html"]
            assert f"symptoms/{symptom}.html" in links[f"checks/{check.id}.html"]
            pairs += 1
        for other, _ in small.related(symptom):
            assert f"symptoms/{other.id}.html" in links[f"symptoms/{symptom}.html"]
    for check in small.checks:
        for cause in small.causes_of_check(check):
            assert f"causes/{cause.id}.html" in links[f"checks/{check}.html"]
            assert f"checks/{check}.html" in links[f"causes/{cause.id}.html"]
    assert pairs > 3


def test_the_emergency_page_is_one_tap_from_everywhere(pages: dict[str, Reading]) -> None:
    for path, page in pages.items():
        if not path.startswith("cards/"):
            assert any(target(path, link) == ("emergency.html", "") for link in page.links), path


def test_every_page_defers_and_says_what_is_handed_over(
    small: Library, small_site: Path, pages: dict[str, Reading]
) -> None:
    for path in pages:
        text = read(small_site, path)
        assert small.manual.defer in text, path
        assert small.manual.hand_over in text, path
        assert small.revision in text, path
        assert small.manual.revised in text, path


def test_nothing_is_inline_and_the_policy_stands_on_every_page(pages: dict[str, Reading]) -> None:
    for path, page in pages.items():
        assert page.inline == [], path
        policy = page.metas["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'"), path
        assert "unsafe" not in policy
        if not path.startswith(("cards/", "binders/", "records/")):
            assert policy == CSP


def test_only_own_assets_are_written(small: Library, small_site: Path) -> None:
    own = {file.name for file in (Path(__file__).parents[2] / "site_overrides/assets").iterdir()}
    traces = {f"{symptom}.js" for symptom in small.symptoms}
    assert {file.name for file in (small_site / "assets").iterdir()} == own | {
        "search-data.js",
        "search-text.js",
        "trace",
        "trace-codes.js",
    }
    assert {file.name for file in (small_site / "assets/trace").iterdir()} == traces
    assert not list(small_site.glob("sitemap*"))
    assert not list(small_site.glob("search*"))


def test_html_in_any_text_is_shown_as_text(content: Content, tmp_path: Path) -> None:
    evil = "<script>alert(1)</script><img src=x onerror=alert(2)> [go](javascript:alert(3)) {{ 7*7 }} &lt;"
    quoted = "'" + evil.replace("'", "''") + "'"
    content.edit(TOPIC, "title: The step will not come out", f"title: {quoted}")
    content.edit(TOPIC, "notice: The door is open and the step stays folded.", f"notice: {quoted}")
    content.edit(TOPIC, "      - no step\n", f"      - {quoted}\n")
    content.edit(TOPIC, "explains: The actuator gets its voltage and does not move.", f"explains: {quoted}")
    content.edit(TOPIC, "means: The step is locked in on purpose.", f"means: {quoted}")
    content.edit(TOPIC, "ask: Open and shut the door slowly. Do you hear a click each time?", f"ask: {quoted}")
    content.edit(EQUIPMENT, "where: Two-pin plug on the actuator's lead.", f"where: {quoted}")
    content.edit("manual.yml", "organisation: Wrenfold Mobile Units", f"organisation: {quoted}")
    content.edit("manual.yml", 'telephone: "+00 0000 0100"', "telephone: 'javascript:alert(4)'")
    site = built(content, tmp_path)
    shown = 0
    for path, page in pages_of(site).items():
        assert page.inline == [], path
        assert "img" not in page.tags
        assert not [link for link in page.links if link.lower().lstrip().startswith("javascript")], path
        shown += read(site, path).count("&lt;script&gt;alert(1)")
        assert "49 &amp;lt;" not in read(site, path)
    assert shown > 10


def test_a_script_link_in_a_hand_written_page_is_no_link(content: Content, tmp_path: Path) -> None:
    content.write(
        "pages/more.md", "# More\n\n[a](javascript:alert(1)) [b](&#106;avascript:alert(2)) [c](emergency.html)\n"
    )
    page = pages_of(built(content, tmp_path))["more.html"]
    assert not [link for link in page.links if "script" in link]
    assert "emergency.html" in page.links


def test_aligned_tables_in_hand_written_pages_bear_no_inline_style(content: Content, tmp_path: Path) -> None:
    content.write("pages/more.md", "# More\n\n| a | b |\n|---:|:--:|\n| 1 | 2 |\n")
    page = pages_of(built(content, tmp_path))["more.html"]
    assert "table" in page.tags
    assert page.inline == []


def test_front_matter_keeps_a_page_out_of_other_editions(content: Content, tmp_path: Path) -> None:
    content.write("pages/plain.md", "---\neditions: [owner]\n---\n\n# Plain\n")
    content.write("pages/crew.md", "# Crew\n")
    found = pages_of(built(content, tmp_path))
    assert "plain.html" not in found
    assert "crew.html" in found


def test_the_authors_own_index_opens_the_contents(content: Content, tmp_path: Path) -> None:
    content.write("pages/index.md", "Read **this** first.\n")
    home = read(built(content, tmp_path), "index.html")
    assert "<strong>this</strong>" in home
    assert "The step will not come out" in home


def test_without_edit_base_a_page_says_file_and_line(small_site: Path) -> None:
    assert "source topics/step/step.yml:8" in read(small_site, "symptoms/step-stays-in.html")
    assert "source pages/safe-working.md" in read(small_site, "safe-working.html")


def test_with_edit_base_a_page_can_be_edited(content: Content, tmp_path: Path) -> None:
    content.edit(
        "manual.yml",
        "unsolved_minutes: 240",
        "unsolved_minutes: 240\nedit_base: https://code.example/edit/main/content/",
    )
    page = pages_of(built(content, tmp_path))["causes/actuator-worn.html"]
    wanted = [
        link for link in page.links if link.startswith("https://code.example/edit/main/content/topics/step/step.yml#L")
    ]
    assert len(wanted) == 1


def test_drafts_are_marked_and_reviews_are_dated(small_site: Path) -> None:
    draft = read(small_site, "causes/door-switch-out-of-place.html")
    assert "Draft, not reviewed" in draft
    assert "2026-01-20" in draft
    assert "Draft, not reviewed" not in read(small_site, "causes/actuator-worn.html")


def test_a_symptoms_page_holds_what_a_reader_needs(small_site: Path) -> None:
    page = read(small_site, "symptoms/step-stays-in.html").split('class="takealong"')[1]
    order = [
        "Keep off the step",
        "Stop at once if",
        "Fault trace",
        "What it is",
        "Likely causes",
        "Procedure on paper",
        "All checks",
        "Remedies",
        "Put back",
        "Related",
    ]
    assert [page.index(f">{text}<") for text in order] == sorted(page.index(f">{text}<") for text in order)
    for text in (
        "After three seconds it is a fault.",
        "There the step is out",
        "about 1 in 3",
        "Something that is not listed here",
    ):
        assert text in page
    for text in (
        "22 V or more",
        "1 to under 22 V",
        "Under 1 V",
        "Tow until mended",
        "Push the plug in until it clicks.",
    ):
        assert text in page
    assert "W4; W6 from W6-20500" in read(small_site, "symptoms/step-stays-out.html")


def test_points_show_idle_and_load(small_site: Path) -> None:
    for path in ("systems/step.html", "reference/points.html"):
        page = read(small_site, path)
        assert "0 V" in page
        assert "at least 22 V while it moves" in page
        assert "Two-pin plug" in page


def test_every_field_and_every_rule_is_on_its_page(small_site: Path) -> None:
    fields, rules = read(small_site, "reference/fields.html"), read(small_site, "reference/rules.html")
    models = described_models()
    assert {"Manual", "Symptom", "Cause", "Check", "Outcome", "Hazard", "Remedy"} <= {model.title for model in models}
    for model in models:
        for field in model.fields:
            assert f"<code>{field.key}</code>" in fields
            assert field.description, f"{model.title}.{field.key} has no description"
    assert [ident for ident in RULES if f'id="{ident}"' not in rules] == []


def test_what_each_trace_takes_stands_on_a_page(small: Library, small_site: Path) -> None:
    text = (small_site / "reference" / "traces.html").read_text(encoding="utf-8")
    for ident, symptom in small.symptoms.items():
        assert f"../symptoms/{ident}.html" in text
        minutes = compiled(small, ident).minutes
        assert minutes is not None
        assert words.minutes_words(minutes) in text.split(symptom.title, 1)[1]

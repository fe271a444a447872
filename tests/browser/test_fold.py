"""What is folded away on a symptom's page, in a real browser: by address, by finding, on paper, and hazards before steps."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from unicodedata import normalize

import pytest

pytestmark = pytest.mark.browser

PAGE = "symptoms/step-stays-in.html"
CHECK = "check-step-supply"


@pytest.fixture(params=[True, False], ids=["scripts", "no-scripts"])
def page(request: pytest.FixtureRequest, chromium: Any) -> Iterator[Any]:
    context = chromium.new_context(java_script_enabled=request.param, viewport={"width": 360, "height": 740})
    yield context.new_page()
    context.close()


def test_an_address_within_a_fold_opens_it(page: Any, small_site: Path) -> None:
    base = (small_site / PAGE).as_uri()
    page.goto(base)
    assert not page.locator(f"#{CHECK} .steps").is_visible()
    for name in (CHECK, "remedy-fuse-f2-open", "boxes"):
        page.goto("about:blank")
        page.goto(f"{base}#{name}")
        assert page.locator(f"#{name} li").first.is_visible()
        top = page.locator(f"details:has(> #{name})").bounding_box()["y"]
        assert -1 <= top < 740, "its title is in sight"


def test_finding_words_opens_the_fold_that_holds_them(page: Any, small_site: Path) -> None:
    page.goto((small_site / PAGE).as_uri())
    step = page.locator(f"#{CHECK} .steps > li").first
    words = " ".join(str(step.text_content()).split()[:4])
    assert not step.is_visible()
    page.goto("about:blank")
    page.goto(f"{(small_site / PAGE).as_uri()}#:~:text={words.replace(' ', '%20')}")
    step.wait_for(state="visible", timeout=5000)


def test_everything_stands_open_on_paper(page: Any, small_site: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    page.goto((small_site / PAGE).as_uri())
    wanted = [str(text) for text in page.locator("main .steps > li:not(:has(a))").all_text_contents()]
    pages = pypdf.PdfReader(BytesIO(page.pdf())).pages
    flat = "".join(normalize("NFKC", "".join(p.extract_text() for p in pages)).split())
    assert len(wanted) > 4
    assert [text for text in wanted if "".join(text.split())[:25] not in flat] == []
    assert not page.locator(f"#{CHECK} .steps").is_visible()


def test_hazards_stand_before_the_first_step_and_in_the_row(page: Any, small_site: Path) -> None:
    page.goto(f"{(small_site / PAGE).as_uri()}#{CHECK}")
    hazard, step = page.locator(f"#{CHECK} .embedded").first, page.locator(f"#{CHECK} .steps > li").first
    assert hazard.bounding_box()["y"] < step.bounding_box()["y"]
    word = hazard.locator(".word").first.inner_text()
    row = page.locator(f"details:has(> #{CHECK}) > summary .gist").inner_text()
    assert row.replace("\u00a0", " ").startswith("Trained technician, with 1 helper · 6 min · Step well · ")
    assert word in row


def test_the_opening_that_makes_safe_is_never_folded(page: Any, small_site: Path) -> None:
    page.goto((small_site / PAGE).as_uri())
    assert page.locator("section.safe").is_visible()
    assert page.locator("section.safe details").count() == 0


def test_on_a_phone_the_first_question_stands_within_two_screens_after_the_opening(
    chromium: Any, small_site: Path
) -> None:
    context = chromium.new_context(viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto((small_site / PAGE).as_uri())
    opening = page.locator("section.safe").bounding_box()
    answer = page.locator(".trace .choice").last.bounding_box()
    height = page.evaluate("document.documentElement.scrollHeight")
    context.close()
    assert answer["y"] + answer["height"] - opening["y"] - opening["height"] < 2 * 740
    assert height < 6000


def test_on_a_phone_the_likeliest_causes_stand_alone_until_all_are_asked_for(chromium: Any, small_site: Path) -> None:
    page = chromium.new_page(viewport={"width": 360, "height": 740})
    page.goto((small_site / PAGE).as_uri())
    page.keyboard.press("1")
    rows, more = page.locator(".sheet-causes > li"), page.locator("[data-do='all-causes']")
    count = rows.count()
    assert count > 3
    assert sum(rows.nth(i).is_visible() for i in range(count)) == 3
    assert more.inner_text() == f"All {count} causes"
    more.click()
    assert more.get_attribute("aria-expanded") == "true"
    assert all(rows.nth(i).is_visible() for i in range(count))
    page.close()


def test_on_a_desk_the_causes_stand_open(chromium: Any, small_site: Path) -> None:
    page = chromium.new_page(viewport={"width": 1280, "height": 900})
    page.goto((small_site / PAGE).as_uri())
    assert page.locator("table.causes").is_visible()
    page.close()

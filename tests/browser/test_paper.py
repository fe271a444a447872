"""Binders and record sheets as Chromium prints them: pages counted, sizes measured, nothing cut off.

Sizes: ISO 216, A4 210 × 297 mm and A5 148 × 210 mm; US Letter 8.5 × 11 in (ANSI/ASME Y14.1, size A); 72 pt to the inch.
"""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
import yaml

from kbtools import words
from kbtools.library import Library, open_content
from kbtools.site.build import build
from kbtools.site.edition import SERVICE
from kbtools.site.trace import checks_of
from tests.browser.test_cards import squeezed
from tests.card_case import EQUIPMENT, MANUAL

pypdf = pytest.importorskip("pypdf")
pytestmark = pytest.mark.browser

MM = 72 / 25.4
A5, A4, A4_WIDE, LETTER, LETTER_WIDE = (
    (148 * MM, 210 * MM), (210 * MM, 297 * MM), (297 * MM, 210 * MM), (612.0, 792.0), (792.0, 612.0),
)  # fmt: skip
SMALLEST = 6.5
"""Points; the smallest type on a sheet, reduced to Letter."""

CUT_OFF = """() => [...document.querySelectorAll('.sheet, .sheet .card, .sheet-cover *')]
  .filter(e => e.getClientRects().length && getComputedStyle(e).display !== 'inline')
  .filter(e => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1)
  .map(e => e.className + ' ' + e.textContent.trim().slice(0, 40) + [e.scrollWidth, e.clientWidth, e.scrollHeight, e.clientHeight])"""


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    found = chromium.new_page(viewport={"width": 1000, "height": 800})
    yield found
    found.close()


def printed(page: Any, file: Path, paper: str = "", **options: Any) -> Any:
    """The file as a PDF, after a choice of paper on it."""
    page.goto(file.as_uri())
    if paper:
        page.locator(f"input[value='{paper}']").check()
    return pypdf.PdfReader(BytesIO(page.pdf(**(options or {"prefer_css_page_size": True}))))


def sizes(pdf: Any) -> set[tuple[float, float]]:
    return {(float(p.mediabox.width), float(p.mediabox.height)) for p in pdf.pages}


def near(size: tuple[float, float]) -> Any:
    return pytest.approx(size, abs=1.5)


def texts(pdf: Any) -> list[str]:
    return [squeezed(p.extract_text()) for p in pdf.pages]


def contents(page: Any) -> list[tuple[str, int]]:
    """Titles and pages as the contents have them."""
    rows = page.locator(".binder-contents li").evaluate_all(
        "rows => rows.map(r => [r.querySelector('a').textContent, Number(r.querySelector('span').textContent)])"
    )
    return [(title, number) for title, number in rows]


def prove(page: Any, file: Path, cards: int) -> int:
    """Prints a binder on A5: as many pages as it says, each card on the page that the contents name. Returns the pages."""
    pdf = printed(page, file)
    found, listed = texts(pdf), contents(page)
    assert len(listed) == cards
    assert all(size == near(A5) for size in sizes(pdf))
    for number, text in enumerate(found, 1):
        assert text.count(f"·{number}of{len(found)}") == 1
    for title, number in listed:
        assert found[number - 1].startswith(squeezed(title.removesuffix(" (draft)"))), title
    assert listed[-1][1] == len(found)
    page.emulate_media(media="print")
    assert page.evaluate(CUT_OFF) == []
    page.emulate_media(media="null")
    return len(found)


def test_the_tiny_binder_is_a_cover_and_its_cards(page: Any, small_site: Path, small: Library) -> None:
    assert prove(page, small_site / "binders/step.html", 2) == 3
    cover = texts(printed(page, small_site / "binders/step.html"))[0]
    manual = small.manual
    for wanted in (
        manual.title,
        "Entry step",
        small.revision,
        "2026-01-31",
        manual.telephone,
        manual.emergency_call,
        manual.defer,
    ):
        assert squeezed(wanted) in cover


@pytest.mark.parametrize(("paper", "size"), [("a4", A4_WIDE), ("letter", LETTER_WIDE)])
def test_two_on_a_sheet(page: Any, small_site: Path, paper: str, size: tuple[float, float]) -> None:
    pdf = printed(page, small_site / "binders/step.html", paper)
    found = texts(pdf)
    assert len(found) == 2  # a cover and two cards
    assert all(one == near(size) for one in sizes(pdf))
    assert "Printedby" in found[0] and squeezed("The step will not come out") in found[0]
    assert "·1of3" in found[0] and "·2of3" in found[0] and "·3of3" in found[1]
    places: list[tuple[float, float, float]] = []

    def visit(text: str, matrix: Any, inner: Any, font: Any, points: float) -> None:
        if text.strip():
            scale = abs(matrix[0] * inner[0]) or abs(matrix[0])
            places.append((matrix[0] * inner[4] + matrix[4], matrix[3] * inner[5] + matrix[5], points * scale))

    pdf.pages[0].extract_text(visitor_text=visit)
    assert all(0 < x < size[0] and 0 < y < size[1] for x, y, _ in places)
    assert any(x < size[0] / 2 for x, _, _ in places) and any(x > size[0] / 2 for x, _, _ in places)
    assert min(points for _, _, points in places) >= SMALLEST


@pytest.fixture(scope="module")
def thick(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A manual whose one system has 70 symptoms, some with titles over two lines."""
    folder = tmp_path_factory.mktemp("thick") / "content"
    (folder / "equipment").mkdir(parents=True)
    (folder / "topics/x").mkdir(parents=True)
    symptoms = {
        f"s{n}": {
            "title": f"{n} " + ("It stops half way and starts again by itself after a while " * (1 + n % 3)).strip()
        }
        for n in range(70)
    }
    equipment = {**EQUIPMENT, "systems": {"x": {"title": "System X", "summary": "What belongs to it. " * 9}}}
    for name, data in (("manual", MANUAL), ("equipment/all", equipment), ("topics/x/x", {"symptoms": symptoms})):
        (folder / f"{name}.yml").write_text(yaml.safe_dump(data), encoding="utf-8")
    library, problems = open_content(folder)
    assert problems == []
    return build(library, SERVICE, folder.parent / "out").folder


def test_long_contents_go_on_over_further_pages(page: Any, thick: Path) -> None:
    pages = prove(page, thick / "binders/x.html", 70)
    assert pages >= 70 + 3
    first = contents(page)[0][1]
    assert first == pages - 69
    assert len(printed(page, thick / "binders/x.html", "a4").pages) == (pages + 1) // 2


def test_every_binder_of_the_demo(page: Any, tmp_path: Path) -> None:
    library, _ = open_content(Path(__file__).parents[2] / "content")
    site = build(library, SERVICE, tmp_path).folder
    bound = 0
    for system in library.systems:
        own = library.system_symptoms(system)
        assert (site / f"binders/{system}.html").is_file() is bool(own)
        if own:
            prove(page, site / f"binders/{system}.html", len(own))
            bound += len(own)
    assert bound == len(library.symptoms)
    for symptom in list(library.symptoms)[::12]:
        pdf = printed(page, site / f"records/{symptom}.html", format="A4")
        text = "".join(texts(pdf))
        assert all(squeezed(check.title) in text for check in checks_of(library, symptom))
        assert page.locator(".reading").count() == sum(
            (2 if check.reading.of else 1) for check in checks_of(library, symptom) if check.reading
        )


@pytest.mark.parametrize(("paper", "size"), [("A4", A4), ("Letter", LETTER)])
def test_a_record_sheet_fits_a4_and_letter(
    page: Any, small_site: Path, small: Library, paper: str, size: tuple[float, float]
) -> None:
    pdf = printed(page, small_site / "records/step-stays-in.html", format=paper)
    assert all(one == near(size) for one in sizes(pdf))
    found = texts(pdf)
    assert len(found) in (1, 2)
    for number, text in enumerate(found, 1):
        assert f"Page{number}of{len(found)}" in text
    text = "".join(found)
    asked = [
        "Unit (type)",
        "Serial number",
        "Date and time",
        "By whom",
        "Work done by: name, signature, date",
        "Received by",
    ]
    first = small.precautions["keep-off-the-step"]
    asked += [first.title, *(step.do for step in first.steps), "A hand or foot is in the linkage", small.manual.defer]
    for check in small.checks_of("step-stays-in"):
        normal = words.normal_outcome(check)
        assert normal is not None
        asked += [check.title, words.outcome_words(check, normal)]
        if check.reading is None:
            asked += [words.outcome_words(check, outcome) for outcome in check.outcomes]
    asked += [small.states["actuator-unplugged"].put_back or "", small.revision]
    assert [wanted for wanted in asked if squeezed(wanted) not in text] == []


def test_a_reading_has_a_box_with_its_unit_and_an_answer_has_ticks(page: Any, small_site: Path) -> None:
    page.goto((small_site / "records/step-stays-in.html").as_uri())
    row = page.locator("tr", has_text="Voltage at the actuator")
    assert row.locator(".reading .value").count() == 1
    assert row.locator(".unit").inner_text() == "V"
    assert "22 V or more" in row.inner_text()
    assert row.locator(".tick").count() == 0
    assert page.locator("tr", has_text="Is the tractor plugged in?").locator(".tick").count() == 2


def test_pages_lead_to_their_paper(page: Any, small_site: Path) -> None:
    page.goto((small_site / "systems/step.html").as_uri())
    page.get_by_role("link", name="Binder to print").click()
    assert page.title() == "Binder: Entry step"
    page.get_by_role("link", name="Open this page of the manual").click()
    page.goto((small_site / "symptoms/step-stays-in.html").as_uri())
    page.get_by_role("link", name="Record sheet").click()
    assert page.title() == "Record sheet: The step will not come out"
    page.get_by_role("link", name="Open this page of the manual").click()
    assert page.locator("h1").inner_text() == "The step will not come out"

"""Every card in a real browser: one A5 page, type of 8 points and more, nothing clipped, nothing lost."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from kbtools.cards import Card, card
from kbtools.library import Library, open_content
from tests.card_case import OVERRIDES, STRAINS, rendered, strained

pypdf = pytest.importorskip("pypdf")
pytestmark = pytest.mark.browser

ROOT = Path(__file__).parents[2]

# ISO 216: A5 is 148 × 210 mm; in points (1/72 in)
A5 = (148 / 25.4 * 72, 210 / 25.4 * 72)
SMALLEST = 8.0

MEASURE = """() => {
  const points = px => px * 72 / 96, found = {};
  const height = query => {
    const box = document.querySelector(query);
    if (!box) return 0;
    const style = getComputedStyle(box);
    return points(box.getBoundingClientRect().height + parseFloat(style.marginBottom));
  };
  const main = document.querySelector('.card');
  main.style.minHeight = '0';
  document.querySelector('.card-foot').style.marginTop = '0';
  found.parts = {
    'title': height('.card-header') + height('.card-intro'), 'safety panel': height('.card-panel'),
    'first steps': height('.card-first'), 'stop signs': height('.card-stop'), 'checks': height('.card-checks'),
    'causes': height('.card-causes'), 'foot': height('.card-foot'),
  };
  found.height = points(main.getBoundingClientRect().height);
  found.clipped = [...document.querySelectorAll('.card, .card *:not(svg):not(svg *)')]
    .filter(e => e.getClientRects().length && getComputedStyle(e).display !== 'inline')
    .filter(e => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1)
    .map(e => e.className + ' ' + e.textContent.slice(0, 40) + [e.scrollWidth, e.clientWidth, e.scrollHeight, e.clientHeight]);
  const texts = document.createTreeWalker(document.querySelector('.card'), NodeFilter.SHOW_TEXT);
  found.sizes = [];
  while (texts.nextNode())
    if (texts.currentNode.textContent.trim()) found.sizes.push(points(parseFloat(getComputedStyle(texts.currentNode.parentElement).fontSize)));
  return found;
}"""


class Press:
    """Prints cards with one browser and one page."""

    def __init__(self, page: Any, folder: Path) -> None:
        self.page, self.folder = page, folder
        shutil.copytree(OVERRIDES / "assets", folder / "assets")
        (folder / "cards").mkdir()

    def open(self, printed: Card) -> None:
        file = self.folder / "cards" / "card.html"
        file.write_text(rendered(printed), encoding="utf-8")
        self.page.goto(file.as_uri())

    def measure(self, printed: Card) -> dict[str, Any]:
        self.open(printed)
        found: dict[str, Any] = self.page.evaluate(MEASURE)
        return found

    def pdf(self, printed: Card) -> Any:
        self.open(printed)
        return pypdf.PdfReader(BytesIO(self.page.pdf(prefer_css_page_size=True)))


@pytest.fixture(scope="module")
def press(chromium: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Press]:
    page = chromium.new_page(viewport={"width": round(A5[0] * 4 / 3), "height": round(A5[1] * 4 / 3)})
    page.emulate_media(media="print")
    yield Press(page, tmp_path_factory.mktemp("press"))
    page.close()


def squeezed(text: str) -> str:
    """Text without spaces, ligatures and direction marks: PDF text has its own idea of all three."""
    return re.sub(r"[\s\u200e\u200f\u202a-\u202e\u2066-\u2069]", "", text.replace("ﬁ", "fi").replace("ﬂ", "fl"))


def latin(text: str) -> bool:
    """Extraction turns scripts that run from right to left about, so only Latin text can be looked up."""
    return not any("\u0590" <= char < "\u1e00" for char in text)


def must_stand(printed: Card) -> list[str]:
    """What may never drop."""
    paras = [*printed.first, *(printed.message.hazards if printed.message else ()), *printed.foot]
    signs = [sign for stop in printed.stops for sign in stop.signs]
    return [printed.title, *("".join(run.text for run in para) for para in paras), *signs]


def prove(press: Press, printed: Card) -> None:
    found = press.measure(printed)
    assert found["clipped"] == []
    assert min(found["sizes"]) >= SMALLEST - 1e-3
    for part, height in found["parts"].items():
        assert height <= printed.parts[part] + 0.5, f"{part} is higher than its estimate"
    assert found["height"] <= printed.height + 0.5 <= printed.room + 0.5
    pdf = press.pdf(printed)
    assert len(pdf.pages) == 1
    box = pdf.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(A5, abs=1)
    text = squeezed(pdf.pages[0].extract_text())
    assert [wanted for wanted in must_stand(printed) if latin(wanted) and squeezed(wanted) not in text] == []


def libraries() -> Iterator[tuple[str, Library]]:
    for folder in (ROOT / "tests" / "small", ROOT / "content"):
        yield folder.name, open_content(folder)[0]


@pytest.mark.parametrize(
    ("name", "library"), list(libraries()), ids=lambda value: value if isinstance(value, str) else ""
)
def test_every_card_is_one_a5_page(press: Press, name: str, library: Library) -> None:
    assert library.symptoms, name
    for symptom in library.symptoms:
        prove(press, card(library, symptom))


@pytest.mark.parametrize("name", STRAINS)
def test_a_strained_card_is_one_a5_page(press: Press, tmp_path: Path, name: str) -> None:
    prove(press, card(strained(tmp_path / "content", name), "s"))


def test_estimates_are_close(press: Press, small: Library) -> None:
    """Within 6 per cent above what the browser makes of it: an estimate far above would waste the page."""
    for symptom in small.symptoms:
        printed = card(small, symptom)
        assert printed.height <= press.measure(printed)["height"] * 1.06


def test_a_card_asks_for_nothing_elsewhere_and_runs_nothing(press: Press, small: Library) -> None:
    asked: list[str] = []
    press.page.on("request", lambda request: asked.append(request.url))
    press.open(card(small, next(iter(small.symptoms))))
    assert asked and all(url.startswith("file:") for url in asked)
    assert press.page.evaluate("document.scripts.length") == 0


def test_on_a_phone_nothing_scrolls_sideways(press: Press, tmp_path: Path) -> None:
    page = press.page
    before = page.viewport_size
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": 360, "height": 720})
    try:
        for name in ("plain", "long-words", "right-to-left"):
            press.open(card(strained(tmp_path / name, name), "s"))
            assert page.evaluate("document.documentElement.scrollWidth") <= 360
            sizes = page.evaluate("[...document.querySelectorAll('a')].map(a => a.getBoundingClientRect().height)")
            assert min(sizes) >= 24  # WCAG 2.2 SC 2.5.8, target size: 24 CSS px
    finally:
        page.set_viewport_size(before)
        page.emulate_media(media="print")


@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing(press: Press, tmp_path: Path, width: int) -> None:
    """WCAG 2.2 A and AA as axe-core checks them."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    before = press.page.viewport_size
    press.page.emulate_media(media="screen")
    press.page.set_viewport_size({"width": width, "height": 800})
    try:
        for name in ("plain", "draft", "right-to-left", "bare"):
            press.open(card(strained(tmp_path / name, name), "s"))
            found = axe.run(press.page, options=options).response["violations"]
            assert [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found] == []
    finally:
        press.page.set_viewport_size(before)
        press.page.emulate_media(media="print")

"""Owners' cards in a real browser: one A5 page each, larger type than on a technician's card, nothing clipped, nothing lost."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kbtools.cards.owner_card import OwnerCard
from kbtools.cards.owner_layout import SIZES
from kbtools.library import Library, open_content
from kbtools.site.build import build
from kbtools.site.edition import OWNER
from tests.browser.test_cards import A5, MEASURE, latin, squeezed
from tests.browser.test_paper import A4_WIDE, LETTER_WIDE, near, printed, prove, sizes, texts
from tests.browser.test_site import TAGS
from tests.card_case import OVERRIDES, rendered
from tests.content_case import Content
from tests.owner_cards_case import STRAINED, cards_of, strained_card
from tests.test_owner_card import whole

pytest.importorskip("pypdf")
pytestmark = pytest.mark.browser

PARTS = """() => {
  const found = MEASURE();
  const height = query => [...document.querySelectorAll(query)].reduce((sum, box) => {
    const style = getComputedStyle(box);
    return sum + (box.getBoundingClientRect().height + parseFloat(style.marginBottom) + parseFloat(style.marginTop)) * 72 / 96;
  }, 0);
  found.parts = {
    'title': height('.plain-header'), 'safety panel': height('.card-panel'), 'first steps': height('.plain-first'),
    'stop signs': height('.plain-stop'), 'meaning': height('.plain-means'), 'questions': height('.plain-questions'),
    'remedies': height('.plain-tries'), 'call': height('.plain-call'), 'foot': height('.plain-foot'),
  };
  return found;
}""".replace("MEASURE()", f"({MEASURE})()")


@pytest.fixture(scope="module")
def demo() -> Library:
    return open_content(Path(__file__).parents[2] / "content")[0]


@pytest.fixture(scope="module")
def demo_site(demo: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build(demo, OWNER, tmp_path_factory.mktemp("demo")).folder


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    found = chromium.new_page(viewport={"width": round(A5[0] * 4 / 3), "height": round(A5[1] * 4 / 3)})
    yield found
    found.close()


def prove_card(page: Any, file: Path, card: OwnerCard) -> None:
    """One A5 page, no part higher than its estimate, and nothing of its text missing."""
    page.emulate_media(media="print")
    pdf = printed(page, file)
    assert sizes(pdf) == {sizes(pdf).pop()} and len(pdf.pages) == 1
    assert sizes(pdf).pop() == pytest.approx(A5, abs=1)
    found = page.evaluate(PARTS)
    assert found["clipped"] == []
    assert min(found["sizes"]) >= 8 - 1e-3
    assert sum(size >= min(SIZES) - 1e-3 for size in found["sizes"]) >= len(found["sizes"]) - len(card.foot)
    for part, height in found["parts"].items():
        assert height <= card.parts[part] + 0.5, f"{part} is higher than its estimate"
    text = texts(pdf)[0]
    assert [line for line in whole(card).splitlines() if latin(line) and squeezed(line) not in text] == []


def test_every_card_of_the_demo_is_one_a5_page(page: Any, demo: Library, demo_site: Path) -> None:
    cards = cards_of(demo)
    assert len(cards) == len(list((demo_site / "cards").iterdir()))
    for ident, card in cards.items():
        prove_card(page, demo_site / f"cards/{ident}.html", card)


@pytest.mark.parametrize("name", STRAINED)
def test_a_strained_card_is_one_a5_page(page: Any, tmp_path: Path, name: str) -> None:
    card = strained_card(tmp_path / "content", name)
    (tmp_path / "assets").symlink_to(OVERRIDES / "assets")
    (tmp_path / "cards").mkdir()
    file = tmp_path / "cards/s.html"
    file.write_text(rendered(card, template="kb/owner/card.html"), encoding="utf-8")
    prove_card(page, file, card)


def test_with_an_address_a_card_bears_its_code(page: Any, content: Content, tmp_path: Path) -> None:
    content.edit("manual.yml", "revised:", "site_url: https://manual.example/owner/\nrevised:")
    library = open_content(content.folder)[0]
    site = build(library, OWNER, tmp_path / "o").folder
    prove_card(page, site / "cards/step-stays-in.html", cards_of(library)["step-stays-in"])
    assert page.locator("svg.card-qr").get_attribute("aria-label") == "QR code to symptoms/step-stays-in.html"


def test_binders_hold_every_card(page: Any, demo: Library, demo_site: Path, small_owner_site: Path) -> None:
    page.set_viewport_size({"width": 1000, "height": 800})
    assert prove(page, small_owner_site / "cards.html", 2) == 3
    assert prove(page, demo_site / "cards.html", len(demo.symptoms)) > len(demo.symptoms) + 1
    bound = [one for file in (demo_site / "binders").iterdir() for one in _cards_in(file)]
    assert sorted(bound) == sorted(demo.symptoms)
    cover = texts(printed(page, demo_site / "cards.html"))[0]
    assert [w for w in (demo.revision, demo.manual.telephone, "Owner edition") if squeezed(w) not in cover] == []


def _cards_in(file: Path) -> list[str]:
    """Ids of the symptoms whose cards a binder holds."""
    return re.findall(r'data-symptom="([^"]+)"', file.read_text())


@pytest.mark.parametrize(("paper", "size"), [("a4", A4_WIDE), ("letter", LETTER_WIDE)])
def test_two_on_a_sheet(page: Any, small_owner_site: Path, paper: str, size: tuple[float, float]) -> None:
    pdf = printed(page, small_owner_site / "binders/step.html", paper)
    assert len(pdf.pages) == 2  # a cover and two cards
    assert all(one == near(size) for one in sizes(pdf))


def test_pages_lead_to_the_cards(page: Any, small_owner_site: Path) -> None:
    page.goto((small_owner_site / "index.html").as_uri())
    page.get_by_role("link", name="All cards in one print job").click()
    page.get_by_role("link", name="Open this page of the manual").click()
    page.get_by_role("link", name="Cards to print: Entry step").click()
    page.goto((small_owner_site / "symptoms/step-stays-in.html").as_uri())
    page.get_by_role("link", name="Card to hang up or keep in the locker").click()
    assert page.locator("h1").inner_text() == "The step does not come out"


@pytest.mark.parametrize("width", [360, 1280])
def test_on_a_screen_nothing_hinders(page: Any, small_owner_site: Path, width: int) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": width, "height": 800})
    for path in ("cards/step-stays-in.html", "cards.html"):
        page.goto((small_owner_site / path).as_uri())
        found = axe.run(page, options={"runOnly": [*TAGS, "best-practice"]}).response["violations"]
        assert [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width

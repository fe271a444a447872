"""The manual in a real browser, from file:// and http: nothing forbidden, nothing from elsewhere, readable for everybody."""

from __future__ import annotations

import functools
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from kbtools.site.build import build
from kbtools.site.edition import SERVICE
from tests.card_case import STRAINS, strained

pytestmark = pytest.mark.browser

WATCH = "document.addEventListener('securitypolicyviolation', e => console.error('CSP ' + e.violatedDirective + ' ' + e.blockedURI))"

KINDS = [
    "index.html",
    "emergency.html",
    "404.html",
    "safe-working.html",
    "symptoms/step-stays-in.html",
    "causes/actuator-worn.html",
    "checks/step-supply.html",
    "systems/step.html",
    "cards/step-stays-in.html",
    "binders/step.html",
    "records/step-stays-in.html",
    "reference/index.html",
    "reference/hazards.html",
    "reference/precautions.html",
    "reference/parts.html",
    "reference/points.html",
    "reference/fields.html",
    "reference/rules.html",
    "reference/traces.html",
]

# WCAG 2.2, levels A and AA; axe-core checks the target size (SC 2.5.8) only with the tag wcag22aa
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """A site over http."""

    class Quiet(SimpleHTTPRequestHandler):
        def log_message(self, *arguments: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()


@pytest.fixture(scope="module")
def address(small_site: Path) -> Iterator[str]:
    """The service edition over http."""
    with served(small_site) as found:
        yield found


def visit(chromium: Any, base: str, paths: list[str]) -> tuple[list[str], list[str]]:
    """What the console said (policy violations included) and which requests left the site, over these pages."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    context.add_init_script(WATCH)
    page, said, asked = context.new_page(), [], []
    page.on("console", lambda message: said.append(f"{page.url} {message.type}: {message.text}"))
    page.on("pageerror", lambda error: said.append(f"{page.url} {error}"))
    page.on("request", lambda request: asked.append(request.url))
    for path in paths:
        page.goto(base + path)
    context.close()
    assert len(asked) > len(paths)
    return said, [url for url in asked if not url.startswith((base, "data:"))]


def test_from_a_folder_the_console_stays_empty_and_nothing_is_asked_for_elsewhere(
    chromium: Any, small_site: Path
) -> None:
    paths = [p.relative_to(small_site).as_posix() for p in small_site.rglob("*.html") if p.name != "404.html"]
    assert visit(chromium, small_site.as_uri() + "/", paths) == ([], [])


def test_over_http_the_console_stays_empty_and_nothing_is_asked_for_elsewhere(chromium: Any, address: str) -> None:
    assert visit(chromium, address, KINDS) == ([], [])


def test_the_policy_is_alive(chromium: Any, small_site: Path) -> None:
    page = chromium.new_page()
    page.add_init_script(WATCH)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto((small_site / "index.html").as_uri())
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=\"color:red\">x</p>')")
    page.evaluate("document.body.append(Object.assign(new Image(), {src: 'https://elsewhere.example/x.png'}))")
    page.wait_for_timeout(200)
    page.close()
    assert any("CSP style-src" in text for text in said)
    assert any("CSP img-src" in text for text in said)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_no_accessibility_violation(chromium: Any, address: str, width: int, scheme: str) -> None:
    axe_module = pytest.importorskip("axe_playwright_python.sync_playwright")
    axe = axe_module.Axe()
    page = chromium.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
    found = []
    for path in KINDS:
        page.goto(address + path)
        results = axe.run(page, options={"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]})
        found += [f"{path}: {v['id']}: {v['nodes'][0]['html'][:200]}" for v in results.response["violations"]]
        assert len(results.response["passes"]) > 10
    page.close()
    assert found == []


OVERFLOW = """() => {
  const wide = document.documentElement.clientWidth;
  const inside = e => e.parentElement.closest('pre, .scroll');
  return [...document.querySelectorAll('body *')]
    .filter(e => e.getBoundingClientRect().right > wide + 1 && !inside(e) && getComputedStyle(e).position !== 'absolute')
    .map(e => e.tagName + ' ' + e.textContent.trim().slice(0, 40));
}"""


@pytest.mark.parametrize(("width", "size"), [(360, 100), (320, 100), (1280, 200), (768, 200)])
def test_no_sideways_scroll_on_a_phone_nor_with_text_twice_as_large(
    chromium: Any, small_site: Path, width: int, size: int
) -> None:
    page = chromium.new_page(viewport={"width": width, "height": 800})
    for path in KINDS:
        page.goto((small_site / path).as_uri())
        page.evaluate(f"document.documentElement.style.fontSize = '{size}%'")
        assert page.evaluate(OVERFLOW) == [], f"{path} at {width} px, text {size} %"
    page.close()


@pytest.mark.parametrize("strain", sorted(STRAINS))
def test_strained_content_stays_on_the_phones_page(chromium: Any, tmp_path: Path, strain: str) -> None:
    site = build(strained(tmp_path / "content", strain), SERVICE, tmp_path / "out").folder
    page = chromium.new_page(viewport={"width": 360, "height": 800})
    for file in sorted(site.rglob("*.html")):
        if "reference" not in file.parts and "cards" not in file.parts and file.name != "404.html":
            page.goto(file.as_uri())
            assert page.evaluate(OVERFLOW) == [], file.name
    page.close()


def test_right_to_left_text_runs_from_right_to_left(chromium: Any, tmp_path: Path) -> None:
    site = build(strained(tmp_path / "content", "right-to-left"), SERVICE, tmp_path / "out").folder
    page = chromium.new_page(viewport={"width": 800, "height": 800})
    page.goto((site / "symptoms/s.html").as_uri())
    left = page.evaluate(
        """() => { const range = document.createRange(), h1 = document.querySelector('h1'); range.selectNodeContents(h1);
        const box = range.getBoundingClientRect(), own = h1.getBoundingClientRect(); return [box.left - own.left, own.right - box.right]; }"""
    )
    page.close()
    assert left[0] > left[1], "the title begins at the right edge"


def test_steps_and_panels_hold_together_in_print(chromium: Any, small_site: Path) -> None:
    page = chromium.new_page()
    page.goto((small_site / "causes/actuator-worn.html").as_uri())
    page.emulate_media(media="print")
    broken = page.evaluate(
        """() => [...document.querySelectorAll('.steps > li, .kb-steps > li, .kb-panel, .embedded li, tr')]
        .filter(e => getComputedStyle(e).breakInside !== 'avoid').map(e => e.className + e.tagName)"""
    )
    count = page.evaluate("document.querySelectorAll('.steps > li').length")
    page.close()
    assert broken == []
    assert count == 4


def test_print_says_where_links_lead(chromium: Any, small_site: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    page = chromium.new_page()
    page.goto((small_site / "causes/actuator-worn.html").as_uri())
    text = "".join(p.extract_text() for p in pypdf.PdfReader(BytesIO(page.pdf())).pages)
    page.close()
    flat = "".join(text.split())
    assert "(../checks/step-supply.html)" in flat
    assert "(../reference/tools.html#hand-tools)" in flat

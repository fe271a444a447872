"""A trace on its way to another device: its code to copy, its QR code read by an independent decoder, the printed call sheet."""

from __future__ import annotations

import io
import mimetypes
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest

from kbtools.library import open_content
from kbtools.site.build import build
from kbtools.site.edition import SERVICE
from tests.browser.test_offline import Server, kept
from tests.browser.test_qr import decoded
from tests.browser.test_site import OVERFLOW, TAGS, served
from tests.content_case import Content

pytestmark = pytest.mark.browser

PAGE = "symptoms/step-stays-in.html"
HANDED = "t=1&who=technician&view=hands&safe=1&given=tractor-plugged-in=unplugged&given=step-supply=23.5&end=handed"
LONG = "&".join([HANDED, "given=step-click=?", "given=remedy:coupled-locks-step=x", *["seen=step-click"] * 12])
FIELD = "Code of a trace, from an owner's page or a call sheet"
WEB = "https://manual.example/service/"


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    yield page
    assert said == []
    context.close()


def on_the_web(page: Any, site: Path) -> None:
    """The folder as a web site, without one: nothing leaves the machine."""

    def answer(route: Any) -> None:
        file = site / route.request.url.removeprefix(WEB).partition("?")[0]
        if file.is_file():
            route.fulfill(body=file.read_bytes(), content_type=mimetypes.guess_type(file.name)[0] or "text/plain")
        else:
            route.fulfill(status=404, body="")

    page.context.route(WEB + "**", answer)


def read(page: Any, selector: str = ".qr .qr-code") -> str:
    """What the decoder reads in the code on the screen."""
    from PIL import Image

    shot = Image.open(io.BytesIO(page.locator(selector).screenshot())).convert("L")
    ((text, kind, level),) = decoded(np.array(shot))
    assert (kind, level) == ("QRCode", "M")
    return text


def show(page: Any, address: str) -> str:
    """Opens the QR code of the hand-over panel and returns the words under it."""
    page.goto("about:blank")
    page.goto(address)
    page.locator(".sheet-action").get_by_role("button", name="Show as QR code").click()
    return str(page.get_by_role("dialog", name="QR code of this point").inner_text())


def answers(page: Any) -> list[str]:
    return [text.removesuffix("Change").strip() for text in page.locator(".sheet-answers li").all_inner_texts()]


def test_from_the_web_the_code_holds_the_whole_address(page: Any, small_site: Path) -> None:
    on_the_web(page, small_site)
    words = show(page, WEB + PAGE + "#" + HANDED)
    before, address = answers(page), read(page)
    assert address.startswith(WEB + PAGE + "#t=1&")
    assert "given=step-supply=23.5" in address
    assert "holds the whole address of this point" in words
    other = page.context.new_page()
    other.goto(address)
    assert answers(other) == before
    other.goto((small_site / "index.html").as_uri())
    other.get_by_label(FIELD).fill(address)
    other.keyboard.press("Enter")
    other.wait_for_url("file:**step-stays-in.html#t=1*")
    assert answers(other) == before
    other.close()


def test_a_long_address_gives_way_to_one_with_the_short_code(page: Any, small_site: Path) -> None:
    on_the_web(page, small_site)
    words = show(page, WEB + PAGE + "#" + LONG)
    before, address = answers(page), read(page)
    assert address.startswith(WEB + "index.html#code=")
    assert len(address) < 75
    assert "too long for a QR code that a phone reads easily" in words
    other = page.context.new_page()
    other.goto(address)
    other.wait_for_url(f"**/{PAGE}#t=1*")
    assert answers(other)[0] == before[0]
    assert len(answers(other)) == len(before) == 4
    assert "given=step-supply=good" in other.url
    other.close()


@pytest.mark.parametrize("fragment", [HANDED, LONG])
def test_a_phone_that_keeps_the_manual_opens_the_point_with_the_network_cut(
    chromium: Any, page: Any, small_site: Path, tmp_path: Path, fragment: str
) -> None:
    server = Server(tmp_path, small_site)
    phone = chromium.new_context(viewport={"width": 360, "height": 740})
    van = kept(phone, server)
    show(page, server.address + PAGE + "#" + fragment)
    address, before = read(page), answers(page)
    server.stop()
    phone.set_offline(True)
    van.goto(address)
    van.wait_for_url(f"**/{PAGE}#t=1*")
    van.locator(".sheet-answers li").first.wait_for()
    assert answers(van)[0] == before[0]
    assert len(answers(van)) == len(before)
    assert (answers(van) == before) is (fragment == HANDED), "only figures of readings may differ"
    phone.close()


def test_from_a_folder_the_code_holds_the_text_code(page: Any, small_site: Path) -> None:
    words = show(page, (small_site / PAGE).as_uri() + "#" + HANDED)
    code = read(page)
    assert "no address on the web, so the QR code holds the short code alone" in words
    assert code.replace("-", " ") in " ".join(page.locator(".qr .code-group").all_inner_texts())
    page.goto((small_site / "index.html").as_uri())
    page.get_by_label(FIELD).fill(code)
    page.keyboard.press("Enter")
    page.wait_for_url("**/step-stays-in.html#t=1*")
    assert "who=technician" in page.url
    assert page.url.endswith("given=tractor-plugged-in=unplugged&given=step-supply=good&end=handed")


def test_a_manual_that_knows_its_address_gives_it_from_a_folder_too(
    page: Any, content: Content, tmp_path: Path
) -> None:
    content.edit("manual.yml", "title: Entry step manual\n", f"title: Entry step manual\nsite_url: {WEB[:-1]}\n")
    site = build(open_content(content.folder)[0], SERVICE, tmp_path).folder
    show(page, (site / PAGE).as_uri() + "#" + HANDED)
    assert read(page).startswith(WEB + PAGE + "#t=1&rev=")
    with served(site) as address:
        show(page, address + PAGE + "#" + HANDED)
        assert read(page).startswith(WEB + PAGE + "#t=1&rev=")


def test_an_address_of_this_machine_alone_is_told(page: Any, small_site: Path) -> None:
    with served(small_site) as address:
        words = show(page, address + PAGE + "#" + HANDED)
        assert read(page).startswith(address + PAGE)
        assert "where no other device gets" in words


def test_the_panel_by_keyboard(page: Any, small_site: Path) -> None:
    page.goto((small_site / PAGE).as_uri() + "#" + HANDED)
    opener = page.locator(".sheet-action").get_by_role("button", name="Show as QR code")
    opener.focus()
    page.keyboard.press("Enter")
    panel = page.get_by_role("dialog", name="QR code of this point")
    assert panel.get_by_role("button", name="Close").evaluate("e => e === document.activeElement")
    before = page.url
    page.keyboard.press("1")
    page.keyboard.press("u")
    assert page.url == before
    for _ in range(6):
        page.keyboard.press("Tab")
        assert page.evaluate(
            "document.activeElement === document.body || document.activeElement.closest('dialog') !== null"
        )
    page.keyboard.press("Escape")
    page.locator("dialog").wait_for(state="detached")
    assert opener.evaluate("e => e === document.activeElement")


def test_the_code_is_copied_and_stands_on_the_call_sheet(page: Any, small_site: Path) -> None:
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.goto((small_site / PAGE).as_uri() + "#" + HANDED)
    page.locator(".sheet-action").get_by_role("button", name="Copy the code").click()
    page.get_by_text("Code copied.").wait_for()
    code = page.evaluate("navigator.clipboard.readText()")
    assert f"\nCode: {code}\n" in page.locator("#trace-call").input_value()
    assert page.locator(".sheet-action .code-group").all_inner_texts() == code.split("-")
    assert page.locator(".sheet-action .code .unseen").inner_text() == ", ".join(
        " ".join(group) for group in code.split("-")
    )


def test_the_chosen_unit_goes_along(page: Any, small_site: Path) -> None:
    page.goto((small_site / PAGE).as_uri() + "?unit=W6-20731#" + HANDED)
    assert page.evaluate("kbUnit.words()") == "W6-20731"
    code = page.locator("#trace-call").input_value().partition("Code: ")[2].partition("\n")[0]
    page.evaluate("kbUnit.clear()")
    without = page.locator("#trace-call").input_value().partition("Code: ")[2].partition("\n")[0]
    assert len(code.replace("-", "")) - len(without.replace("-", "")) == 4
    page.goto((small_site / "index.html").as_uri())
    page.get_by_label(FIELD).fill(code)
    page.keyboard.press("Enter")
    page.wait_for_url("**unit=W6-20731#t=1*")
    assert page.evaluate("kbUnit.words()") == "W6-20731"


def test_the_call_sheet_prints_on_one_page_with_its_codes(page: Any, small_site: Path) -> None:
    page.add_init_script("window.print = () => {}")
    page.goto((small_site / PAGE).as_uri() + "#" + HANDED)
    page.locator(".sheet-action").get_by_role("button", name="Print the call sheet").click()
    page.emulate_media(media="print")
    code = read(page, ".sheet-paper .qr-code")
    printed = pypdf.PdfReader(io.BytesIO(page.pdf(format="A4")))
    assert len(printed.pages) == 1
    text = printed.pages[0].extract_text()
    assert "FAULT TRACE, Entry step manual" in text
    assert f"Code: {code}" in text
    assert "All checks" not in text
    page.emulate_media(media="screen")
    assert page.locator(".sheet-paper").is_hidden()
    assert page.get_by_role("heading", name="All checks").is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_no_accessibility_violation_and_no_sideways_scroll(
    chromium: Any, small_site: Path, small_owner_site: Path, width: int, scheme: str
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page = chromium.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
    found = []

    def look(what: str) -> None:
        results = axe.run(page, options={"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]})
        found.extend(f"{what}: {v['id']}: {v['nodes'][0]['html'][:200]}" for v in results.response["violations"])
        assert len(results.response["passes"]) > 10
        assert page.evaluate(OVERFLOW) == [], what

    with served(small_site) as address:
        show(page, address + PAGE + "#" + HANDED)
        look("panel with an address")
    show(page, (small_site / PAGE).as_uri() + "#" + HANDED)
    look("panel")
    page.get_by_role("button", name="Close").click()
    page.evaluate("document.querySelector('.sheet-call').open = true")
    look("hand-over and call sheet")
    for site in (small_site, small_owner_site):
        page.goto("about:blank")
        page.goto((site / "index.html").as_uri() + "#code=0000-0000")
        page.locator("#kb-code-said p").wait_for()
        look(site.name)
    page.close()
    assert found == []

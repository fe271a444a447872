"""The owner edition on the reader's device: with the network cut, through an update, and when it has grown old."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kbtools.library import Library, open_content
from kbtools.site.build import build
from kbtools.site.edition import OWNER
from tests.browser.test_offline import Server, kept, open_revision
from tests.content_case import TOPIC, Content

pytestmark = pytest.mark.browser

PAGE = "symptoms/step-stays-in.html"


@pytest.fixture
def server(small_owner_site: Path, tmp_path: Path) -> Iterator[Server]:
    found = Server(tmp_path, small_owner_site)
    yield found
    found.stop()


@pytest.fixture
def context(chromium: Any) -> Iterator[Any]:
    found = chromium.new_context(viewport={"width": 360, "height": 740})
    yield found
    found.close()


def press(page: Any, label: str) -> None:
    page.get_by_role("button", name=label, exact=True).click()


def shown(page: Any) -> str:
    return str(page.locator(".turn:not([hidden]) h3").first.inner_text())


def test_with_the_network_cut_every_page_opens_and_the_steps_go_on(
    context: Any, server: Server, small_owner_site: Path
) -> None:
    page, said = kept(context, server), []
    page.wait_for_selector("#kb-stored:not([hidden])")
    context.set_offline(True)
    page.on("console", lambda message: said.append(f"{page.url} {message.text}"))
    page.on("pageerror", lambda error: said.append(str(error)))
    paths = [file.relative_to(small_owner_site).as_posix() for file in sorted(small_owner_site.rglob("*.html"))]
    assert {"cards.html", "binders/step.html", "cards/step-stays-in.html", "emergency.html"} <= set(paths)
    for path in paths:
        response = page.goto(server.address + path)
        assert (response.status, response.from_service_worker) == (200, True), path
    page.goto(server.address)
    page.get_by_role("combobox").fill("no step")
    page.locator("[role=option]").first.click()
    press(page, "Yes, it is done. Start.")
    press(page, "Plugged in with the key on")
    assert shown(page) == "The tractor's ignition is on"
    assert said == []


def test_steps_half_done_survive_an_update(context: Any, server: Server, content: Content, tmp_path: Path) -> None:
    content.edit(TOPIC, "title: Voltage at the actuator", "title: Volts at the actuator")
    newer = build(open_content(content.folder)[0], OWNER, tmp_path / "newer").folder
    page = kept(context, server, PAGE)
    press(page, "Yes, it is done. Start.")
    press(page, "Plugged in with the key on")
    before = shown(page), page.locator(".sofar-list").inner_text()
    server.publish(newer)
    page.evaluate("navigator.serviceWorker.getRegistration().then(found => found.update())")
    page.wait_for_selector("#kb-newer .newer:not([hidden])")
    with page.expect_navigation():
        page.locator("#kb-newer button").click()
    page.locator(".is-live").wait_for()
    assert open_revision(newer) in page.locator(".imprint").inner_text()
    assert (shown(page), page.locator(".sofar-list").inner_text()) == before
    page.goto(server.address + "index.html")
    page.locator("#kb-unfinished a").click()
    page.locator(".is-live").wait_for()
    assert shown(page) == before[0]


@pytest.mark.parametrize(("now", "old"), [("2027-01-30", False), ("2027-02-02", True)])
def test_an_old_manual_asks_for_a_newer_one(
    chromium: Any, small: Library, small_owner_site: Path, now: str, old: bool
) -> None:
    """The tiny manual is of 2026-01-31 and asks after 365 days; from a folder, by the reader's clock."""
    page = chromium.new_page()
    page.clock.set_fixed_time(f"{now}T12:00:00Z")
    page.goto((small_owner_site / "index.html").as_uri())
    assert page.locator("#kb-age").is_visible() is old
    assert "ask for a newer one" in page.locator("#kb-age").text_content()
    assert small.manual.telephone in page.locator("#kb-age").text_content()
    page.close()

"""A manual from a server stays on the device: with the network cut, through an update, and never by force."""

from __future__ import annotations

import functools
import shutil
import threading
import zipfile
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from kbtools.library import Library, open_content
from kbtools.site.build import build
from kbtools.site.bundle import START, bundle
from kbtools.site.edition import SERVICE
from kbtools.site.render import overrides
from kbtools.site.worker import WORKER
from tests.content_case import TOPIC, Content

pytestmark = pytest.mark.browser

SYMPTOM = "symptoms/step-stays-in.html"
READY = "() => navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null)"


class Server:
    """A site over http whose files can be exchanged; `down` makes it answer nothing but 503."""

    def __init__(self, folder: Path, site: Path) -> None:
        self.folder, self.down = folder / "www", False
        shutil.copytree(site, self.folder)
        server = self

        class Handler(SimpleHTTPRequestHandler):
            def log_message(self, *arguments: object) -> None:
                pass

            def do_GET(self) -> None:
                if server.down:
                    self.send_error(503)
                else:
                    super().do_GET()

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(self.folder)))
        threading.Thread(target=self._server.serve_forever, daemon=True).start()
        self.address = f"http://127.0.0.1:{self._server.server_port}/"

    def publish(self, site: Path) -> None:
        shutil.rmtree(self.folder)
        shutil.copytree(site, self.folder)

    def stop(self) -> None:
        self._server.shutdown()
        self._server.server_close()


@pytest.fixture
def server(small_site: Path, tmp_path: Path) -> Iterator[Server]:
    found = Server(tmp_path, small_site)
    yield found
    found.stop()


@pytest.fixture
def context(chromium: Any) -> Iterator[Any]:
    found = chromium.new_context(viewport={"width": 1280, "height": 900})
    yield found
    found.close()


@pytest.fixture
def newer(content: Content, tmp_path: Path) -> Path:
    """The same manual a revision later."""
    content.edit(TOPIC, "title: Voltage at the actuator", "title: Volts at the actuator")
    return build(open_content(content.folder)[0], SERVICE, tmp_path / "newer").folder


def kept(context: Any, server: Server, path: str = "index.html") -> Any:
    """A page of a manual that is on the device by now."""
    page = context.new_page()
    page.goto(server.address + path)
    page.wait_for_function(READY)
    return page


def test_with_the_network_cut_every_page_opens_and_search_works(context: Any, server: Server, small_site: Path) -> None:
    page = kept(context, server)
    page.wait_for_selector("#kb-stored:not([hidden])")
    assert "revision" in page.locator(".imprint").inner_text()
    context.set_offline(True)
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{page.url} {message.text}"))
    page.on("pageerror", lambda error: said.append(str(error)))
    for file in sorted(small_site.rglob("*.html")):
        path = file.relative_to(small_site).as_posix()
        response = page.goto(server.address + path)
        assert (response.status, response.from_service_worker) == (200, True), path
        assert "kbtools" in page.content() or "card" in page.content()
    assert said == []
    page.goto(server.address)  # the folder itself
    page.locator("#kb-search input").fill("the step stays folded when I open the door")
    page.wait_for_selector("#kb-search a[href*='step-stays-in']")
    page.goto(server.address + SYMPTOM + "?q=step")
    assert page.locator("h1").inner_text() == "The step will not come out"


def test_an_unknown_address_without_a_network_says_so(context: Any, server: Server) -> None:
    page = kept(context, server)
    context.set_offline(True)
    page.goto(server.address + "symptoms/none.html")
    assert "No such page" in page.title()


def test_a_newer_revision_is_offered_and_taken_only_when_asked(context: Any, server: Server, newer: Path) -> None:
    page = kept(context, server, SYMPTOM)
    page.keyboard.press("1")  # nobody is hurt: the trace is under way
    asked = page.locator("#trace-title").inner_text()
    answered = page.evaluate("location.hash")
    page.evaluate("window.sameDocument = true")
    server.publish(newer)
    page.evaluate("navigator.serviceWorker.getRegistration().then(found => found.update())")
    page.wait_for_selector("#kb-newer .newer:not([hidden])")
    fresh = open_revision(newer)
    assert fresh in page.locator(".newer-revision").inner_text()
    assert fresh not in page.locator(".imprint").inner_text()
    page.wait_for_timeout(300)
    assert page.evaluate("window.sameDocument") is True
    assert page.locator("#trace-title").inner_text() == asked
    # another page, still of the old revision: pages of two revisions never mix
    other = context.new_page()
    other.goto(server.address + "checks/step-supply.html")
    assert other.locator("h1").inner_text() == "Voltage at the actuator"
    other.wait_for_selector("#kb-newer .newer:not([hidden])")
    other.evaluate("window.sameDocument = true")
    with page.expect_navigation():
        page.locator("#kb-newer button").click()
    page.wait_for_function("() => document.readyState === 'complete'")
    assert fresh in page.locator(".imprint").inner_text()
    assert page.evaluate("location.hash") == answered
    assert page.locator("#trace-title").inner_text() == asked
    assert other.evaluate("window.sameDocument") is True
    other.reload()
    assert other.locator("h1").inner_text() == "Volts at the actuator"
    names = page.evaluate("caches.keys()")
    assert len(names) == 1


def open_revision(site: Path) -> str:
    text = (site / WORKER).read_text(encoding="utf-8")
    return text.split('"revision": "')[1][:8]


def test_an_update_that_breaks_off_leaves_the_manual_that_is_there(context: Any, server: Server, newer: Path) -> None:
    page = kept(context, server)
    server.publish(newer)
    (server.folder / "checks/step-supply.html").unlink()  # half an upload
    page.evaluate(
        """() => navigator.serviceWorker.getRegistration().then(found => found.update()).then(found => new Promise(done => {
        const worker = found.installing; if (!worker) return done();
        worker.addEventListener('statechange', () => worker.state === 'redundant' && done()); }))"""
    )
    assert page.locator("#kb-newer .newer").is_hidden()
    context.set_offline(True)
    page.goto(server.address + "checks/step-supply.html")
    assert page.locator("h1").inner_text() == "Voltage at the actuator"
    assert len(page.evaluate("caches.keys()")) == 1


def test_a_server_in_trouble_does_not_show(context: Any, server: Server) -> None:
    page = kept(context, server)
    server.down = True
    page.goto(server.address + SYMPTOM)
    assert page.locator("h1").inner_text() == "The step will not come out"


def test_two_manuals_of_one_server_keep_apart(context: Any, server: Server, small_site: Path) -> None:
    shutil.copytree(small_site, server.folder / "second")
    page = kept(context, server, "second/index.html")
    first = kept(context, server)
    context.set_offline(True)
    page.goto(server.address + "second/" + SYMPTOM)
    first.goto(server.address + SYMPTOM)
    assert page.locator("h1").inner_text() == first.locator("h1").inner_text() == "The step will not come out"
    assert len(page.evaluate("caches.keys()")) == 2


def test_the_preview_takes_the_kept_manual_away(context: Any, server: Server) -> None:
    """The preview serves the worker without its list of files: pages that were kept from the same address must not stay."""
    page = kept(context, server)
    shutil.copy(overrides() / WORKER, server.folder / WORKER)
    page.evaluate("navigator.serviceWorker.getRegistration().then(found => found.update())")
    page.wait_for_function("() => caches.keys().then(names => names.length === 0)")
    page.wait_for_function("() => navigator.serviceWorker.getRegistration().then(found => found === undefined)")


def test_a_bundle_opens_from_its_start_page(chromium: Any, small: Library, tmp_path: Path) -> None:
    bundle(small, SERVICE, tmp_path / "b.zip")
    zipfile.ZipFile(tmp_path / "b.zip").extractall(tmp_path / "stick")
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page, said = chromium.new_page(viewport={"width": 360, "height": 800}), []
    page.goto((tmp_path / "stick" / START).as_uri())
    assert small.revision in page.inner_text("main")
    assert axe.run(page).response["violations"] == []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.reload()
    page.get_by_role("link", name="Open the manual").click()
    page.locator("#kb-search input").fill("the step stays folded")
    page.locator("#kb-search a[href*='step-stays-in']").first.click()
    assert page.locator("h1").inner_text() == "The step will not come out"
    page.close()
    assert said == []


def test_from_a_folder_nothing_is_attempted(chromium: Any, small_site: Path) -> None:
    page = chromium.new_page()
    said: list[str] = []
    page.add_init_script(
        "ServiceWorkerContainer.prototype.register = () => { console.log('registers'); return Promise.reject(); }"
    )
    page.on("console", lambda message: said.append(message.text))
    page.goto((small_site / "index.html").as_uri())
    page.wait_for_timeout(200)
    assert said == []
    assert page.locator("#kb-stored").is_hidden()
    page.close()


def test_the_policy_names_the_worker_and_still_refuses_others(context: Any, server: Server) -> None:
    page = kept(context, server)
    policy = page.locator("meta[http-equiv='Content-Security-Policy']").get_attribute("content")
    assert "worker-src 'self'" in policy
    refused = page.evaluate(
        """() => { try { new Worker(URL.createObjectURL(new Blob(['1']))); return new Promise(done =>
        document.addEventListener('securitypolicyviolation', e => done(e.effectiveDirective))); } catch (e) { return e.name; } }"""
    )
    assert refused in ("worker-src", "SecurityError")


@pytest.mark.parametrize(("now", "old"), [("2027-01-30", False), ("2027-02-02", True), ("2020-01-01", False)])
def test_an_old_manual_says_that_there_may_be_a_newer_one(chromium: Any, small_site: Path, now: str, old: bool) -> None:
    """The tiny manual is of 2026-01-31 and asks after 365 days; the reader's clock decides."""
    page = chromium.new_page()
    page.clock.set_fixed_time(f"{now}T12:00:00Z")
    page.goto((small_site / "index.html").as_uri())
    line = page.locator("#kb-age")
    assert line.is_visible() is old
    assert "ask for a newer one" in line.text_content()
    page.close()

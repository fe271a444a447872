"""The preview: follows changes, and keeps the last good manual under a banner when the content has errors."""

from __future__ import annotations

import socket
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from mkdocs.livereload import LiveReloadServer

from kbtools import rules
from kbtools.site.serve import server_for
from tests.content_case import TOPIC, Content


@pytest.fixture
def server(content: Content, tmp_path: Path) -> Iterator[LiveReloadServer]:
    (tmp_path / "preview").mkdir()
    found = server_for(content.folder, "127.0.0.1", 0, tmp_path / "preview")
    yield found
    found.server_close()


def page(server: LiveReloadServer, path: str = "index.html") -> str:
    return Path(server.root, path).read_text(encoding="utf-8")


def test_pages_reload_by_an_own_script_and_stay_strict(server: LiveReloadServer) -> None:
    assert "assets/live.js" in page(server)
    assert "unsafe-inline" not in page(server)
    assert server._inject_js_into_html(b"<p>x</p>", 1) == b"<p>x</p>"


def test_a_change_is_followed(server: LiveReloadServer, content: Content) -> None:
    content.edit(TOPIC, "title: The step will not come out", "title: The step is stuck inside")
    server.builder()
    assert "The step is stuck inside" in page(server)


def test_errors_keep_the_last_good_pages_under_a_banner(server: LiveReloadServer, content: Content) -> None:
    content.edit(TOPIC, "title: The step will not come out", "tittle: The step is stuck inside")
    server.builder()
    shown = page(server, "symptoms/step-stays-in.html")
    assert "The step will not come out" in shown
    assert "unknown key &#39;tittle&#39;" in shown
    assert "topics/step/step.yml:9:5" in shown
    content.edit(TOPIC, "tittle:", "title:")
    server.builder()
    assert "banner" not in page(server)
    assert "The step is stuck inside" in page(server)


def test_not_even_a_bug_breaks_a_rebuild(server: LiveReloadServer, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(folder: object) -> None:
        raise RuntimeError("out of order")

    monkeypatch.setattr(rules, "validate", broken)
    server.builder()
    assert "out of order" in page(server)
    assert "The step will not come out" in page(server)


def test_a_start_with_errors_shows_them(content: Content, tmp_path: Path) -> None:
    content.write("topics/step/bad.yml", "symptoms: [\n")
    (tmp_path / "preview").mkdir()
    server = server_for(content.folder, "127.0.0.1", 0, tmp_path / "preview")
    try:
        assert "There is no version without errors yet" in page(server)
        assert "topics/step/bad.yml" in page(server)
    finally:
        server.server_close()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def answer_with(port: int, wanted: str) -> str:
    """The first page as the server answers, within ten seconds as soon as it holds `wanted`."""
    text = ""
    for _ in range(50):
        with suppress(OSError), urllib.request.urlopen(f"http://127.0.0.1:{port}/index.html", timeout=10) as answer:
            text = answer.read().decode()
        if wanted in text:
            break
        time.sleep(0.2)
    return text


def test_a_saved_file_reaches_the_browser(content: Content, tmp_path: Path) -> None:
    (tmp_path / "preview").mkdir()
    port = free_port()
    server = server_for(content.folder, "127.0.0.1", port, tmp_path / "preview")
    threading.Thread(target=server.serve, daemon=True).start()
    try:
        assert "The step will not come out" in answer_with(port, "The step will not come out")
        content.edit(TOPIC, "title: The step will not come out", "title: The step is stuck inside")
        text = answer_with(port, "The step is stuck inside")
        assert "The step is stuck inside" in text
    finally:
        server.shutdown()

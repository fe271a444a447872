"""Fixtures that every test may use."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kbtools.library import Library, open_content
from kbtools.site.build import build
from kbtools.site.edition import OWNER, SERVICE
from tests.content_case import SMALL, Content

CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def small() -> Library:
    library, problems = open_content(SMALL)
    assert problems == []
    return library


@pytest.fixture
def content(tmp_path: Path) -> Content:
    """A copy of tests/small that the test may spoil."""
    return Content(tmp_path)


@pytest.fixture(scope="session")
def small_site(small: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the tiny manual's service edition, built once."""
    return build(small, SERVICE, tmp_path_factory.mktemp("site")).folder


@pytest.fixture(scope="session")
def small_owner_site(small: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the tiny manual's owner edition, built once."""
    return build(small, OWNER, tmp_path_factory.mktemp("site")).folder


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Debian's Chromium under Playwright. Skips without it, loudly; with KBTOOLS_REQUIRE_BROWSER=1 it fails instead."""
    path = shutil.which("chromium")
    missing = "no chromium on the path" if path is None else ""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing = "playwright is not installed"
    if missing:
        if os.environ.get("KBTOOLS_REQUIRE_BROWSER") == "1":
            pytest.fail(f"KBTOOLS_REQUIRE_BROWSER=1, but {missing}")
        sys.__stderr__.write(f"\nBROWSER TESTS SKIPPED: {missing}. Install it (Debian: apt install chromium).\n")
        pytest.skip(missing)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_ARGUMENTS)
        yield browser
        browser.close()

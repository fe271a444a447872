"""Fixtures that every test may use."""

from __future__ import annotations

from pathlib import Path

import pytest

from kbtools.library import Library, open_content
from tests.content_case import SMALL, Content


@pytest.fixture(scope="session")
def small() -> Library:
    library, problems = open_content(SMALL)
    assert problems == []
    return library


@pytest.fixture
def content(tmp_path: Path) -> Content:
    """A copy of tests/small that the test may spoil."""
    return Content(tmp_path)

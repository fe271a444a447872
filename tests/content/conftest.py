"""The demo manual, opened once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import BaseModel

from kbtools.library import Library, open_content

CONTENT = Path(__file__).parents[2] / "content"


@pytest.fixture(scope="session")
def manual() -> Library:
    """The demo manual. References that lead nowhere are the business of `kbtools validate`, not of these tests."""
    library, _ = open_content(CONTENT)
    assert library.symptoms and library.checks
    return library


@pytest.fixture(scope="session")
def texts(manual: Library) -> list[str]:
    """Every text of every entry, and every hand-written page, each on one line."""
    found = [
        text for entries in manual.entries.values() for entry in entries.values() for text in _texts(entry.model_dump())
    ]
    found += [page.read_text(encoding="utf-8") for page in sorted((CONTENT / "pages").glob("**/*.md"))]
    return [" ".join(text.split()) for text in found]


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, BaseModel):
        yield from _texts(value.model_dump())
    elif isinstance(value, dict):
        for item in value.values():
            yield from _texts(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _texts(item)

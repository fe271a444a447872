"""The index in Whoosh: what it writes where."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from kbtools.library import Library
from kbtools.search.engine import search_of


def test_an_index_in_memory_leaves_the_disk_alone(
    small: Library, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two builds on one machine do not meet in a folder for temporary files."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "nowhere"))
    assert search_of(small).ask("step hangs").symptoms
    assert not (tmp_path / "nowhere").exists()

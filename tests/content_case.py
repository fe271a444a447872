"""A content folder for one test: tests/small with edits, and expected positions marked in the edits by «."""

from __future__ import annotations

import shutil
from pathlib import Path

SMALL = Path(__file__).parent / "small"
TOPIC = "topics/step/step.yml"
EQUIPMENT = "equipment/equipment.yml"
MARK = "«"


class Content:
    """A copy of tests/small that a test may spoil."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "content"
        self.marks: list[str] = []
        shutil.copytree(SMALL, self.folder)

    def edit(self, file: str, find: str, put: str) -> None:
        """Replaces the first occurrence of `find`; a « in `put` marks where a problem is expected."""
        path = self.folder / file
        text = path.read_text(encoding="utf-8")
        assert find in text, f"{find!r} is not in {file}"
        self.write(file, text.replace(find, put, 1))

    def write(self, file: str, text: str | bytes) -> None:
        """Writes a file; a « in a text marks where a problem is expected."""
        path = self.folder / file
        path.parent.mkdir(parents=True, exist_ok=True)
        if isinstance(text, bytes):
            path.write_bytes(text)
            return
        while MARK in text:
            before, text = text.split(MARK, 1)
            self.marks.append(f"{file}:{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}")
            text = before + text
        path.write_text(text, encoding="utf-8")

"""A manual to begin with: the smallest complete one, with its author's name in it, and a mkdocs.yml beside it."""

from __future__ import annotations

import os
import re
from datetime import UTC, datetime
from pathlib import Path

import kbtools
from kbtools import schema

MKDOCS = """\
# For mkdocs build and mkdocs serve; kbtools build and kbtools serve read it too.
site_name: {title}
docs_dir: content/pages
site_dir: site
theme: material
plugins:
  - kbtools:
      content: content
"""

FIRST = {"title": "Our manual", "organisation": "Our organisation"}
"""What stands in manual.yml until its author writes something better."""


def starter() -> Path:
    """The folder of the smallest complete manual: inside the package when installed, among the tests in a checkout."""
    package = Path(kbtools.__file__).parent
    inside = package / "starter"
    return inside if inside.is_dir() else package.parent / "tests" / "small"


def new_manual(folder: Path) -> list[Path]:
    """Writes a small valid manual into a new or empty folder; returns the files to change first.

    Raises FileExistsError when something stands there already, and OSError when nothing can be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileExistsError(folder)
    content, source = folder / "content", starter()
    for file in sorted(source.rglob("*")):
        relative = file.relative_to(source)
        if file.is_file() and relative.parts[0] != "schema" and not relative.name.startswith((".", "__")):
            _write(content / relative, file.read_text(encoding="utf-8"))
    for name in schema.FILES:
        _write(content / "schema" / f"{name}.json", schema.as_text(name))
    manual = content / "manual.yml"
    _write(manual, _own(manual.read_text(encoding="utf-8")))
    _write(folder / "mkdocs.yml", MKDOCS.format(title=FIRST["title"]))
    return [manual, content / "equipment" / "equipment.yml", *sorted((content / "topics").rglob("*.yml"))]


def _own(text: str) -> str:
    """manual.yml with a neutral title and organisation, and with today as the date of its content."""
    for key, value in {**FIRST, "revised": _today()}.items():
        text = re.sub(rf"^{key}:[^\n#]*?(?=\s*(#.*)?$)", f"{key}: {value}", text, count=1, flags=re.MULTILINE)
    return text


def _today() -> str:
    """Today's date, or that of SOURCE_DATE_EPOCH."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    now = datetime.fromtimestamp(int(epoch), UTC) if epoch.isdigit() else datetime.now().astimezone()
    return now.date().isoformat()


def _write(file: Path, text: str) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8", newline="\n")

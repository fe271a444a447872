"""MkDocs' configuration: loaded from a file or built in, and set so that pages stay closed to the outside."""

from __future__ import annotations

import io
from pathlib import Path as FilePath
from typing import Any

from mkdocs.config import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.utils.yaml import yaml_load

from kbtools.site.plugin import KbtoolsPlugin

NAME = "kbtools"


def config_for(content: FilePath, site_dir: FilePath, empty: FilePath, plugin: KbtoolsPlugin) -> MkDocsConfig:
    """The configuration for a content folder: mkdocs.yml beside it when there is one, else a built-in one.

    The hand-written pages come from its folder pages; `empty` is an empty folder that stands in when there is none. The
    given plugin instance is used, whatever entry points are installed. Raises mkdocs.exceptions.Abort or ConfigurationError.
    """
    content = content.resolve()
    file = content.parent / "mkdocs.yml"
    written: dict[str, Any] = _read(file) if file.is_file() else {}
    pages = content / "pages"
    overrides: dict[str, Any] = {
        "plugins": [entry for entry in written.get("plugins") or [] if _name(entry) not in (NAME, "search")],
        "docs_dir": str(pages if pages.is_dir() else empty),
        "site_dir": str(site_dir),
        "theme": written.get("theme") or "material",
        "site_name": written.get("site_name") or NAME,
    }
    if file.is_file():
        config = load_config(str(file), **overrides)
    else:
        config = load_config(io.BytesIO(b"{}"), config_file_path=str(file), **overrides)
    plugin.load_config({"content": str(content)}, config_file_path=config.config_file_path)
    config.plugins[NAME] = plugin
    return config


def _read(file: FilePath) -> dict[str, Any]:
    with file.open("rb") as stream:
        found = yaml_load(stream)
    return found if isinstance(found, dict) else {}


def _name(entry: object) -> str:
    return str(next(iter(entry), "")) if isinstance(entry, dict) else str(entry)

"""Builds an edition: into a new folder, which then takes the place of the old one."""

from __future__ import annotations

import logging
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from mkdocs.commands.build import build as mkdocs_build
from mkdocs.exceptions import MkDocsException

from kbtools.library import Library
from kbtools.site.config import config_for
from kbtools.site.edition import Edition
from kbtools.site.lock import Busy, locked
from kbtools.site.plugin import KbtoolsPlugin
from kbtools.site.swap import NotOurs, give_up, new_folder, swap


class BuildFailed(Exception):  # noqa: N818
    """Why a build came to nothing, in one sentence. The old site is as it was."""


BUSY = "somebody else is writing {} just now; wait until that is done"


@dataclass(frozen=True)
class Built:
    """A finished edition: its folder, its HTML pages, the seconds it took, and what MkDocs warned of."""

    folder: Path
    pages: int
    seconds: float
    warnings: tuple[str, ...]


def build(
    library: Library, edition: Edition, out: Path, on_written: Callable[[int], None] = lambda total: None
) -> Built:
    """Builds an edition of a validated library into out/<edition>. `on_written` is called with the total after each page.

    Raises BuildFailed; the old site is then untouched.
    """
    start = time.monotonic()
    target = out / edition.id
    try:
        out.mkdir(parents=True, exist_ok=True)
        with locked(target):
            warnings = _replaced(library, edition, target, on_written)
    except Busy:
        raise BuildFailed(f"{BUSY.format(target)}, or choose another folder with --out.") from None
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        raise BuildFailed(f"cannot write the site to {target}: {error.strerror or error}{where}") from error
    except NotOurs as other:
        raise BuildFailed(str(other)) from None
    pages = sum(1 for _ in target.rglob("*.html"))
    return Built(target, pages, time.monotonic() - start, warnings)


def _replaced(library: Library, edition: Edition, target: Path, on_written: Callable[[int], None]) -> tuple[str, ...]:
    """Builds beside `target` and puts it in its place; what MkDocs warned of."""
    try:
        warnings = _write(library, edition, new_folder(target), on_written)
        swap(target)
    except NotOurs:
        raise
    except BaseException:
        give_up(target)
        raise
    return warnings


def _write(library: Library, edition: Edition, folder: Path, on_written: Callable[[int], None]) -> tuple[str, ...]:
    plugin = KbtoolsPlugin()
    plugin.prepared = library
    plugin.written = on_written
    with tempfile.TemporaryDirectory(prefix="kbtools-") as empty, heard() as said:
        try:
            config = config_for(library.folder, folder, Path(empty), plugin)
            plugin.config.edition = edition.id
            config.plugins.on_startup(command="build", dirty=False)
            mkdocs_build(config)
        except MkDocsException as error:
            raise BuildFailed("; ".join(said) or str(error)) from error
    return tuple(said)


@contextmanager
def heard() -> Iterator[list[str]]:
    """Collects what MkDocs says at WARNING and above instead of printing it."""
    said: list[str] = []

    class Ear(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            said.append(record.getMessage())

    log, ear = logging.getLogger("mkdocs"), Ear(logging.WARNING)
    before = log.propagate, log.level
    log.addHandler(ear)
    log.propagate = False
    log.setLevel(logging.WARNING)
    try:
        yield said
    finally:
        log.removeHandler(ear)
        log.propagate, log.level = before

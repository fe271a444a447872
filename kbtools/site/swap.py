"""Puts a freshly built folder in the place of an old one, so that a reader never meets half a site."""

from __future__ import annotations

import shutil
from contextlib import suppress
from pathlib import Path

from kbtools.site.lock import Busy, locked


class NotOurs(Exception):  # noqa: N818
    """The folder that would be replaced holds something else than a manual."""


def new_folder(target: Path) -> Path:
    """An empty folder beside `target` to build into; the caller holds the lock of `target`.

    Raises NotOurs when `target` is not empty and no manual, and OSError when nothing can be written.
    """
    fresh, old = _beside(target)
    _move_back(target)
    _remove(old)
    _remove(fresh)
    if target.exists() and not _is_manual(target):
        raise NotOurs(f"{target} is there already and is no manual; choose another folder with --out")
    fresh.mkdir()
    return fresh


def repair(target: Path) -> None:
    """Moves back a site that a build had moved aside when it was killed; not while another build is at it."""
    if _beside(target)[1].exists() and not target.exists():
        with suppress(Busy), locked(target):
            _move_back(target)


def _move_back(target: Path) -> None:
    old = _beside(target)[1]
    if old.exists() and not target.exists():
        old.rename(target)


def swap(target: Path) -> None:
    """Puts the folder of new_folder in the place of `target`."""
    fresh, old = _beside(target)
    if target.exists():
        target.rename(old)
    fresh.rename(target)
    _remove(old)


def give_up(target: Path) -> None:
    """Removes the folder of new_folder; what cannot be removed is left for the next build."""
    shutil.rmtree(_beside(target)[0], ignore_errors=True)


def _beside(target: Path) -> tuple[Path, Path]:
    return target.with_name(f".{target.name}.new"), target.with_name(f".{target.name}.old")


def _remove(folder: Path) -> None:
    if folder.exists():
        shutil.rmtree(folder)


def _is_manual(folder: Path) -> bool:
    if not folder.is_dir():
        return False
    index = folder / "index.html"
    if index.is_file():
        return b'<meta name="generator" content="kbtools">' in index.read_bytes()[:4000]
    return not any(folder.iterdir())

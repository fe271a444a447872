"""Editions: which entries a manual for one kind of reader holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from kbtools.library import Library
from kbtools.model import KINDS, Entry, Manual, Reviewed


@dataclass(frozen=True)
class Edition:
    """A manual for one kind of reader.

    `drafts` says whether entries in draft are shown (and marked) or left out.
    """

    id: str
    title: str
    drafts: bool

    def library_for(self, library: Library) -> Library:
        """The part of the library that this edition shows."""
        if self.drafts:
            return library
        return kept(library, lambda entry: not (isinstance(entry, Reviewed) and entry.status == "draft"))


def kept(library: Library, wanted: Callable[[Entry], bool]) -> Library:
    """A library with only those entries for which `wanted` is true."""
    entries = {
        kind: MappingProxyType({ident: entry for ident, entry in table.items() if wanted(entry)})
        for kind, table in library.entries.items()
    }
    return replace(library, entries=MappingProxyType(entries))


def empty(folder: Path) -> Library:
    """A library without entries, for a preview whose content has never been without errors."""
    manual = Manual(title="Manual", organisation="–", telephone="–", revised="1970-01-01")
    return Library(
        folder, manual, MappingProxyType({kind: MappingProxyType({}) for kind in KINDS}), MappingProxyType({})
    )


SERVICE = Edition("service", "Service edition", drafts=True)
EDITIONS: dict[str, Edition] = {SERVICE.id: SERVICE}
"""The editions that can be built."""

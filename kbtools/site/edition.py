"""Editions: which entries a manual for one kind of reader holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType

from kbtools.library import Library
from kbtools.model import Entry, Reviewed


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


def kept(library: Library, wanted: object) -> Library:
    """A library with only those entries for which `wanted(entry)` is true."""
    assert callable(wanted)
    entries: dict[str, MappingProxyType[str, Entry]] = {
        kind: MappingProxyType({ident: entry for ident, entry in table.items() if wanted(entry)})
        for kind, table in library.entries.items()
    }
    return replace(library, entries=MappingProxyType(entries))


SERVICE = Edition("service", "Service edition", drafts=True)
EDITIONS: dict[str, Edition] = {SERVICE.id: SERVICE}
"""The editions that can be built."""

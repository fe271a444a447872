"""Editions: which entries a manual for one kind of reader holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from kbtools.diagnosis.network import Network
from kbtools.diagnosis.units import networks_by_unit
from kbtools.library import Library
from kbtools.model import KINDS, Manual
from kbtools.owner import for_owner, networks_for_owner, unit_networks_for_owner


@dataclass(frozen=True)
class Edition:
    """A manual for one kind of reader: all of the library, or what the lowest person may read."""

    id: str
    title: str
    owner: bool = False

    def library_for(self, library: Library) -> Library:
        """The part of the library that this edition shows."""
        return for_owner(library) if self.owner else library

    def networks_for(self, library: Library) -> Mapping[str, Network]:
        """Symptom → the network of its trace, where that cannot be had from the edition's own library."""
        return networks_for_owner(library) if self.owner else {}

    def unit_networks_for(self, library: Library) -> Mapping[str, Mapping[str, Network]]:
        """Symptom → class of units → the network of its trace, where units have different ones."""
        if self.owner:
            return unit_networks_for_owner(library)
        return {ident: networks_by_unit(library, ident) for ident in library.symptoms}


def empty(folder: Path) -> Library:
    """A library without entries, for a preview whose content has never been without errors."""
    manual = Manual(title="Manual", organisation="–", telephone="–", revised="1970-01-01")
    return Library(
        folder, manual, MappingProxyType({kind: MappingProxyType({}) for kind in KINDS}), MappingProxyType({})
    )


SERVICE = Edition("service", "Service edition")
OWNER = Edition("owner", "Owner edition", owner=True)
EDITIONS: dict[str, Edition] = {SERVICE.id: SERVICE, OWNER.id: OWNER}
"""The editions that can be built."""

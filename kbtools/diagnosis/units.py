"""Networks of a symptom whose causes or checks are not the same on all units."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from kbtools.applies import Unit, applies, classes, limits, one_of
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.network import Network
from kbtools.library import Library
from kbtools.model import Applies


def classes_of(library: Library, symptom: str) -> tuple[Applies, ...]:
    """The classes of units that can have the symptom and that its causes and checks tell apart, a type's ranges before its whole."""
    entry = library.symptoms[symptom]
    checks = [library.checks[check.id] for check in network_of(library, symptom).checks]
    entries = [entry, *library.causes_of(symptom), *checks]
    found = classes(library, (limit for one in entries for limit in one.applies_to))
    return tuple(limit for limit in found if applies(entry.applies_to, one_of(limit)))


def networks_by_unit(
    library: Library, symptom: str, network: Callable[[Unit | None], Network] | None = None
) -> Mapping[str, Network]:
    """Class of units, as `applies.limits` writes it → its network, for each type that has one other than that of all units.

    `network` makes the network of a unit, and of all for None; left out: `network_of`.
    """
    made = network or (lambda unit: network_of(library, symptom, unit))
    whole = made(None)
    found = {limit: made(one_of(limit)) for limit in classes_of(library, symptom)}
    types = {limit.type for limit, its in found.items() if its != whole}
    return MappingProxyType({limits([limit]): its for limit, its in found.items() if limit.type in types})

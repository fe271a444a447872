"""What stands on a symptom's page, and on which card, for units that have causes or checks of their own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kbtools import words
from kbtools.applies import limits, one_of
from kbtools.cards.compiled import compiled
from kbtools.cards.procedure import Procedure
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.network import UNLISTED
from kbtools.diagnosis.units import classes_of
from kbtools.model import Applies
from kbtools.site import order
from kbtools.site.site import Site


@dataclass(frozen=True)
class ForUnits:
    """A class of units: how it is written in pages (`key`), in file names (`name`) and for readers, and what it has of its own.

    `shares` are those of its causes by id, and of the unlisted one, from 0 to 1.
    """

    limit: Applies
    key: str
    name: str
    words: str
    procedure: Procedure
    shares: Mapping[str, float]


def for_units(site: Site, symptom: str) -> tuple[ForUnits, ...]:
    """The classes of units whose trace of the symptom is not that of all units."""
    library, by_unit = site.library, site.unit_networks.get(symptom, {})
    whole = network_of(library, symptom) if by_unit else None
    return tuple(
        ForUnits(
            limit,
            limits([limit]),
            name_of(limit),
            words.applies_words(library, [limit]),
            compiled(library, symptom, unit=one_of(limit)),
            {
                (s.cause.id if s.cause else UNLISTED): s.probability
                for s in order.shares(library, symptom, one_of(limit))
            },
        )
        for limit in (classes_of(library, symptom) if by_unit else ())
        if by_unit.get(limits([limit]), whole) != whole
    )


def as_all(site: Site, symptom: str) -> str:
    """Those classes of units for which what stands for all units holds, between spaces."""
    by_unit = site.unit_networks.get(symptom, {})
    whole = network_of(site.library, symptom) if by_unit else None
    return " ".join(key for key, network in by_unit.items() if network == whole)


def name_of(limit: Applies) -> str:
    """A class of units in a file name.

    >>> name_of(Applies.model_validate({"type": "w6", "from": 20500}))
    'w6-from-20500'
    """
    low = "" if limit.from_ is None else f"-from-{limit.from_}"
    high = "" if limit.below is None else f"-below-{limit.below}"
    return f"{limit.type}{low}{high}"

"""What the signs of a trace's short code stand for: numbers of checks and remedies, the same in every edition of one content.

A code begins with the head of its symptom: 8 bits by which the symptom is known again after any change, and 12 bits
of a digest over everything that the rest of the code counts. So a code is read as long as nothing of that changed,
whatever the revision; and when it did change, the page to open can still be named.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace

from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.network import Network
from kbtools.library import Library
from kbtools.model import Check
from kbtools.owner import OPAQUE, networks_for_owner
from kbtools.site import trace

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base 32 (crockford.com/base32.html): no I, L, O, U."""

FORM = 1
"""Goes up with every change of how trace-code.js writes or reads, so that no code is read in another way than it was written."""

HEAD = 4
"""Signs of a head."""

REMEDY = "remedy:"
"""Begins an item that is a remedy, named by the cause under which it is written."""

MENDINGS = 4
"""Results of a remedy: gone, failed, done, cannot."""


@dataclass(frozen=True)
class CodeTable:
    """How the codes of one symptom are read: its head, and the items in the order of their numbers, an owner's first.

    `options` is the largest number of answers that an item has; `places` and `tools` are counts, and `serials` is how
    many serial numbers a type can have, and one more. An edition that does not hold all items has the first of them.
    """

    head: str
    items: tuple[str, ...]
    count: int
    options: int
    types: tuple[str, ...]
    places: int
    tools: int
    serials: int


def code_tables(library: Library, owner: bool = False) -> Mapping[str, CodeTable]:
    """Symptom → its table, from the whole library; for owners only their symptoms and items."""
    networks = networks_for_owner(library)
    ours = {symptom: _owner_items(library, network) for symptom, network in networks.items()}
    found: dict[str, CodeTable] = {}
    taken: set[str] = set()
    for symptom in sorted(library.symptoms):
        found[symptom] = _table(library, symptom, ours.get(symptom, ()), taken)
        taken.add(found[symptom].head)
    if not owner:
        return found
    return {symptom: replace(found[symptom], items=items) for symptom, items in ours.items()}


def code_json(tables: Mapping[str, CodeTable]) -> Mapping[str, Mapping[str, object]]:
    """Symptom → its table, for the numbers of its page."""
    return {symptom: asdict(table) for symptom, table in tables.items()}


def heads_script(tables: Mapping[str, CodeTable]) -> str:
    """The script by which the contents page knows the symptom of a code."""
    heads = json.dumps({symptom: table.head for symptom, table in tables.items()}, separators=(",", ":"))
    return f"var kbTrace = window.kbTrace || {{}};\nkbTrace.heads = {heads};\n"


def _owner_items(library: Library, network: Network) -> tuple[str, ...]:
    checks = [check.id for check in network.checks if not check.id.startswith(OPAQUE)]
    remedies = [library.remedy_owner(r.id) for r in network.remedies if not r.id.startswith(OPAQUE)]
    return (*checks, *(REMEDY + owner for owner in remedies if owner))


def _table(library: Library, symptom: str, first: tuple[str, ...], taken: set[str]) -> CodeTable:
    checks = {check.id: check for check in trace.checks_in(library, network_of(library, symptom))}
    remedies = trace.remedies_for(library, symptom)
    items = tuple(dict.fromkeys([*first, *checks, *(REMEDY + owner for owner in remedies)]))
    work = [*checks.values(), *remedies.values()]
    places, tools = trace.places_of(library, work), trace.tools_used(library, work)
    types, digits = tuple(library.types), max((kind.serial_digits for kind in library.types.values()), default=1)
    counted = [
        FORM,
        symptom,
        list(library.people),
        types,
        digits,
        places,
        tools,
        [[i, _said(checks.get(i))] for i in items],
    ]
    return CodeTable(
        head=_head(symptom, counted, taken),
        items=items,
        count=len(items),
        options=max([MENDINGS, *(len(_said(check)) for check in checks.values())]),
        types=types,
        places=len(places),
        tools=len(tools),
        serials=10**digits + 1,
    )


def _said(check: Check | None) -> list[str]:
    """Every answer to a check: not sure, cannot, its outcomes, and for each that cures whether it came back or stayed."""
    if check is None:
        return []
    cured = [ident for ident, outcome in check.outcomes.items() if outcome.fixed]
    return ["?", "x", *check.outcomes, *(ident + hold for ident in cured for hold in "!.")]


def _head(symptom: str, counted: object, taken: set[str]) -> str:
    """A head that no symptom before this one has: the digest is taken once more where two come out the same."""
    known = hashlib.sha256(symptom.encode()).digest()[0]
    text = json.dumps(counted)
    while True:
        text = hashlib.sha256(text.encode()).hexdigest()
        number = known << 12 | int(text[:3], 16)
        head = "".join(SIGNS[number >> 5 * place & 31] for place in reversed(range(HEAD)))
        if head not in taken:
            return head

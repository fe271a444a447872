"""The fault trace in a symptom's page: its scripts, and the numbers that they work with.

The words of a trace are the page's own; here are ids and numbers only, one file for each symptom.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping

from kbtools import words
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.network import Network, network_json
from kbtools.library import Library
from kbtools.model import Action, Check, Remedy
from kbtools.site import order

STYLES = ("trace.css", "code.css")

CODE_STYLES = ("code.css",)
"""Styles of a contents page that takes codes and has no trace."""
SCRIPTS = (
    "diagnosis.js",
    "trace-words.js",
    "trace-reading.js",
    "trace-state.js",
    "trace-store.js",
    "trace-engine.js",
    "trace-code.js",
    "trace-sheet.js",
    "qr.js",
    "trace-pass.js",
    "trace-view.js",
    "trace-gauge.js",
    "trace-ends.js",
    "trace-page.js",
)
"""Scripts of a symptom's page in the order in which they run, after its numbers."""

HOME_SCRIPTS = ("trace-words.js", "trace-store.js", "trace-home.js")
"""Scripts of the contents page that list the unfinished traces."""

CODE_SCRIPTS = ("trace-code.js", "trace-codes.js", "trace-code-home.js")
"""Scripts of the contents page that open the point of a trace at which its short code was made."""

OWNER_SCRIPTS = (
    "diagnosis.js",
    "trace-words.js",
    "trace-reading.js",
    "trace-state.js",
    "trace-store.js",
    "trace-engine.js",
    "trace-code.js",
    "owner.js",
)
"""Scripts of a symptom's page in the owner edition, after its numbers."""

FAR = 5
"""A reading more than so many times the largest bound of its check is asked about once more."""


def scripts(
    library: Library,
    networks: Mapping[str, Network] | None = None,
    codes: Mapping[str, Mapping[str, object]] | None = None,
    by_unit: Mapping[str, Mapping[str, Network]] | None = None,
) -> Iterator[tuple[str, str]]:
    """Path and text of each symptom's numbers. For owners with the `networks` that their library alone does not give.

    `codes` are the tables of the short codes (see codes.py), `by_unit` the networks that some units have instead.
    """
    for symptom in library.symptoms:
        found = numbers(library, symptom, (networks or {}).get(symptom), (by_unit or {}).get(symptom))
        text = _json(found | {"code": codes[symptom]} if codes else found)
        yield f"assets/trace/{symptom}.js", f"var kbTraceNumbers = {text};\n"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def numbers(
    library: Library, symptom: str, network: Network | None = None, by_unit: Mapping[str, Network] | None = None
) -> dict[str, object]:
    """Everything about a symptom that its trace computes with: the network, and of each action ranges, place, tools and levels.

    A given network may hold opaque checks, which the library does not know. `units` pairs each class of units of `by_unit`
    with the place of its network in `networks`, -1 for the one that all have.
    """
    network = network or network_of(library, symptom)
    checks, remedies = checks_in(library, network), remedies_for(library, symptom)
    work = [*checks, *remedies.values()]
    return {
        "symptom": symptom,
        "revision": library.revision,
        "people": list(library.people),
        "tools": list(tools_used(library, work)),
        "places": list(places_of(library, work)),
        "checks": {check.id: {**_action(library, check), **_check(check)} for check in checks},
        "remedies": {
            owner: {
                **_action(library, remedy),
                "causes": [cause.id for cause in library.causes_of(symptom) if library.remedy_owner(cause.id) == owner],
                "bring": bring(library, symptom, owner),
            }
            for owner, remedy in remedies.items()
        },
        "network": network_json(network),
        **_of_units(network, by_unit or {}),
    }


def _of_units(whole: Network, by_unit: Mapping[str, Network]) -> dict[str, object]:
    others: list[Network] = []
    for network in by_unit.values():
        if network != whole and network not in others:
            others.append(network)
    units = [[limit, -1 if its == whole else others.index(its)] for limit, its in by_unit.items()]
    return {"units": units, "networks": [network_json(its) for its in others]} if units else {}


def checks_in(library: Library, network: Network) -> list[Check]:
    """The checks of a network that the library knows."""
    return [library.checks[check.id] for check in network.checks if check.id in library.checks]


def remedies_for(library: Library, symptom: str) -> dict[str, Remedy]:
    """The remedies of a symptom's causes, by the cause under which each is written."""
    owners = dict.fromkeys(library.remedy_owner(cause.id) for cause in library.causes_of(symptom))
    return {owner: remedy for owner in owners if owner and (remedy := library.remedy_of(owner)) is not None}


def tools_used(library: Library, work: Iterable[Action]) -> tuple[str, ...]:
    """Ids of the tools of these actions, each once."""
    return tuple(dict.fromkeys(tool for action in work for tool in tools_of(action) if tool in library.tools))


def places_of(library: Library, work: Iterable[Action]) -> tuple[str, ...]:
    """Ids of the places of these actions, each once."""
    return tuple(dict.fromkeys(action.place for action in work if action.place in library.places))


def bring(library: Library, symptom: str, owner: str) -> list[str]:
    """Ids of the parts that a remedy may use up: its own, and the one concerned where something of this symptom is broken."""
    remedy = library.remedy_of(owner)
    broken = any(
        cause.nature == "fault" for cause in library.causes_of(symptom) if library.remedy_owner(cause.id) == owner
    )
    own = library.causes[owner].part
    wanted = [*([own] if own and broken else []), *(remedy.parts if remedy else ())]
    return [part for part in dict.fromkeys(wanted) if part in library.parts]


def checks_of(library: Library, symptom: str) -> tuple[Check, ...]:
    """The symptom's checks as its page shows them: by worth, then those that only come before others."""
    ordered = order.checks_in_order(library, symptom)
    shown = {check.id for check in ordered}
    gates = [check.id for check in network_of(library, symptom).checks if check.id not in shown]
    return (*ordered, *(library.checks[ident] for ident in gates))


def tools_of(action: Action) -> tuple[str, ...]:
    """Ids of the tools of an action and of its steps, each once."""
    return tuple(dict.fromkeys([*action.tools, *(tool for step in action.steps for tool in step.tools)]))


def points_of(check: Check) -> tuple[str, ...]:
    """Ids of the test points where a check reads: none, one, or the two whose difference it is."""
    if check.reading is None:
        return ()
    return check.reading.of or ((check.reading.point,) if check.reading.point else ())


def _action(library: Library, action: Action) -> dict[str, object]:
    return {
        "who": library.rank(action.who),
        "place": action.place,
        "tools": list(tools_of(action)),
        "helpers": action.helpers,
        "leaves": [state for state in action.leaves if state in library.states and library.states[state].put_back],
    }


def _check(check: Check) -> dict[str, object]:
    found: dict[str, object] = {
        "outcomes": list(check.outcomes),
        "fixed": [ident for ident, outcome in check.outcomes.items() if outcome.fixed],
        "away": check.shows_only_while_faulty,
    }
    ranges = {
        ident: [outcome.from_, outcome.below]
        for ident, outcome in check.outcomes.items()
        if outcome.from_ is not None or outcome.below is not None
    }
    if check.reading is not None and ranges:
        found |= {"ranges": ranges, "reason": reason(check)}
        if check.reading.of is not None:
            found["of"] = list(check.reading.of)
    return found


def reason(check: Check) -> tuple[float, float]:
    """Least and greatest reading that is taken without a question: FAR times the largest bound, and not below zero.

    A difference of two points, or a check with a bound below zero, may read as far below zero as above.
    """
    bounds = words.bounds_of(check)
    most = FAR * max((abs(bound) for bound in bounds), default=0)
    both = check.reading is not None and check.reading.of is not None
    return (-most if both or min(bounds, default=0) < 0 else 0.0, most)

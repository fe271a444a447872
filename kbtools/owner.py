"""What an owner may read: a library that does not hold the words of anything above the lowest person.

An owner's manual is made from this library alone, so whatever is not in it cannot be on any page. Causes that only
others can mend still count in an owner's trace: as numbers without names, in the networks of `networks_for_owner`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from pydantic import BaseModel

from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.network import UNLISTED, Network
from kbtools.diagnosis.network import Check as CheckNumbers
from kbtools.diagnosis.network import Level as LevelNumbers
from kbtools.diagnosis.units import networks_by_unit
from kbtools.library import Library
from kbtools.model import Action, Cause, Check, Entry, Hazard, Outcome, Remedy, SameRemedy, Step, Symptom
from kbtools.source import Document, Where
from kbtools.terms import Concept, Terms

KEEP_AWAY = "Stay clear of it. Do only what the steps here say."
"""How an owner avoids a hazard that only others may meet; what those do about it is not for owners."""

OPAQUE = "#"
"""First sign of an id that stands for something an owner does not get to know; no entry's id begins with it."""


@dataclass(frozen=True)
class _Kept:
    """Ids of the symptoms, causes and checks that an owner may read about."""

    symptoms: frozenset[str]
    causes: frozenset[str]
    checks: frozenset[str]


def for_owner(library: Library) -> Library:
    """The library as the lowest person may read it: reviewed symptoms in their plain words, what that person may do, and no more.

    Whatever the kept entries do not name is left out: parts, test points, tools, other people. Hazards that only others
    may meet keep their warning and lose the instructions. Sources, and words that were never typed, are left out too.
    """
    kept = _kept(library)
    entries: dict[str, dict[str, Entry]] = {kind: {} for kind in library.entries}
    entries["symptom"] = {ident: _symptom(library, kept, library.symptoms[ident]) for ident in kept.symptoms}
    entries["cause"] = {ident: _cause(library.causes[ident]) for ident in kept.causes}
    entries["check"] = {ident: _check(library, kept, library.checks[ident]) for ident in kept.checks}
    entries["type"] = dict(library.types)
    entries["system"] = {ident: s.model_copy(update={"summary": None}) for ident, s in library.systems.items()}
    entries["person"] = {ident: person for ident, person in library.people.items() if library.rank(ident) == 0}
    entries["precaution"] = {i: p for i, p in library.precautions.items() if _may_use(library, p.who, p.steps)}
    for kind in ("place", "tool"):
        entries[kind] = {ident: e for ident, e in library.entries[kind].items() if _rank(library, e) == 0}
    named = _named(replace(library, entries=_frozen(library, entries), manual_document=None))
    entries["state"] = {ident: state for ident, state in library.states.items() if ("state", ident) in named}
    entries["hazard"] = {i: _hazard(library, h) for i, h in library.hazards.items() if ("hazard", i) in named}
    return replace(
        library,
        manual=library.manual.model_copy(
            update={
                "title": library.manual.owner_title or library.manual.title,
                "owner_title": None,
                "edit_base": None,
                "emergency": _in(library.manual.emergency, entries["precaution"]),
            }
        ),
        entries=_frozen(library, entries),
        where=_nowhere(library, entries),
        manual_document=None,
        terms=_terms(library.terms, library, entries),
        terms_document=None,
        files=(),
        unread=(),
        mentioned=frozenset(),
        may_declare=frozenset(),
        named_in_refused=(),
    )


def networks_for_owner(library: Library) -> Mapping[str, Network]:
    """Symptom → its whole network, from the whole library, in which only what an owner may do has its id.

    Causes, checks, remedies and people above the owner are numbers under opaque ids. Checks above the owner stay only
    where a remedy waits for them, and then without what they would tell, which no owner's trace counts with.
    """
    kept = _kept(library)
    return MappingProxyType(
        {ident: _opaque(network_of(library, ident, drafts=False), kept) for ident in sorted(kept.symptoms)}
    )


def unit_networks_for_owner(library: Library) -> Mapping[str, Mapping[str, Network]]:
    """Symptom → class of units → its network for owners, where units have different ones; see `networks_by_unit`."""
    kept = _kept(library)

    def made(symptom: str) -> Mapping[str, Network]:
        return networks_by_unit(
            library, symptom, lambda unit: _opaque(network_of(library, symptom, unit, drafts=False), kept)
        )

    return MappingProxyType({ident: made(ident) for ident in sorted(kept.symptoms)})


# --- what is kept ----------------------------------------------------------------------------------------------------


def _kept(library: Library) -> _Kept:
    checks = {ident for ident, c in library.checks.items() if c.status == "reviewed" and _may_do(library, c)}
    while blocked := {ident for ident in checks if not set(library.checks[ident].only_after) <= checks}:
        checks -= blocked
    return _Kept(
        frozenset(ident for ident, s in library.symptoms.items() if s.status == "reviewed" and s.owner is not None),
        frozenset(ident for ident in library.causes if _may_mend(library, ident, checks)),
        frozenset(checks),
    )


def _may_mend(library: Library, cause: str, checks: set[str]) -> bool:
    owner, remedy = library.remedy_owner(cause), library.remedy_of(cause)
    if owner is None or remedy is None or not _may_do(library, remedy):
        return False
    proof = remedy.prove_by.check
    reviewed = all(library.causes[ident].status == "reviewed" for ident in (cause, owner))
    return reviewed and set(remedy.only_after) <= checks and (proof is None or proof in checks)


def _may_do(library: Library, action: Action) -> bool:
    place = library.places.get(action.place)
    return (
        _may_use(library, action.who, action.steps, action.tools) and place is not None and _rank(library, place) == 0
    )


def _may_use(library: Library, who: str, steps: Iterable[Step], tools: Iterable[str] = ()) -> bool:
    used = [*tools, *(tool for step in steps for tool in step.tools)]
    return library.rank(who) == 0 and all(t in library.tools and _rank(library, library.tools[t]) == 0 for t in used)


def _rank(library: Library, entry: Entry) -> int:
    return library.rank(str(getattr(entry, "who", "")))


def _in(idents: Iterable[str], table: Iterable[str]) -> tuple[str, ...]:
    allowed = set(table)
    return tuple(ident for ident in idents if ident in allowed)


# --- entries without what is not kept --------------------------------------------------------------------------------


def _symptom(library: Library, kept: _Kept, symptom: Symptom) -> Symptom:
    assert symptom.owner is not None
    precautions = {i for i, p in library.precautions.items() if _may_use(library, p.who, p.steps)}
    return symptom.model_copy(
        update={
            "title": symptom.owner.title,
            "heard_as": tuple(
                said for said in symptom.heard_as if not _marks(library) & set(_MARK.findall(said.lower()))
            ),
            "notice": None,
            "reviewed": None,
            "unlike": tuple(other for other in symptom.unlike if other.symptom in kept.symptoms),
            "first": _in(symptom.first, precautions),
            "stop_if": tuple(stop for stop in symptom.stop_if if stop.then in precautions),
            "causes": tuple(ranked for ranked in symptom.causes if ranked.cause in kept.causes),
            "only_checks": _in(symptom.only_checks, kept.checks),
        }
    )


_MARK = re.compile(r"[a-z]+[0-9][a-z0-9]*")
"""A mark on the equipment, such as TP3: a word with a figure."""


def _marks(library: Library) -> set[str]:
    """The marks of parts and test points above an owner; callers who know those are not owners."""
    return {ident for kind in ("part", "point") for ident in library.entries[kind] if _MARK.fullmatch(ident)}


def _cause(cause: Cause) -> Cause:
    remedy = cause.remedy
    if isinstance(remedy, Remedy):
        remedy = remedy.model_copy(update={"parts": ()})
    assert isinstance(remedy, Remedy | SameRemedy)
    return cause.model_copy(update={"part": None, "explains": "", "look_for": None, "reviewed": None, "remedy": remedy})


def _check(library: Library, kept: _Kept, check: Check) -> Check:
    reading = check.reading
    if reading is not None:
        reading = reading.model_copy(update={"point": None, "of": None})
    outcomes = {ident: _outcome(library, kept, outcome) for ident, outcome in check.outcomes.items()}
    return check.model_copy(update={"reviewed": None, "reading": reading, "outcomes": MappingProxyType(outcomes)})


def _outcome(library: Library, kept: _Kept, outcome: Outcome) -> Outcome:
    then = library.precautions.get(outcome.then or "")
    seen = {cause: value for cause, value in outcome.seen_with.items() if cause in kept.causes}
    allowed = then is not None and _may_use(library, then.who, then.steps)
    return outcome.model_copy(update={"seen_with": MappingProxyType(seen), "then": outcome.then if allowed else None})


def _hazard(library: Library, hazard: Hazard) -> Hazard:
    return hazard if _rank(library, hazard) == 0 else hazard.model_copy(update={"avoid": KEEP_AWAY})


def _named(library: Library) -> set[tuple[str, str]]:
    """Kind and id of everything that an entry of the library names."""
    return {(reference.to_kind, reference.to_id) for reference in library.references}


def _frozen(library: Library, entries: Mapping[str, Mapping[str, Entry]]) -> Mapping[str, Mapping[str, Entry]]:
    """The same entries in the order of the files, immutable."""
    return MappingProxyType(
        {
            kind: MappingProxyType({ident: entries[kind][ident] for ident in table if ident in entries[kind]})
            for kind, table in library.entries.items()
        }
    )


def _nowhere(library: Library, entries: Mapping[str, Mapping[str, Entry]]) -> Mapping[tuple[str, str], Where]:
    """Positions that say nothing: they only keep the order of the files."""
    blank = Where(Document("", {}, {}, {}), ())
    return MappingProxyType({key: blank for key in library.where if key[1] in entries[key[0]]})


def _terms(terms: Terms, library: Library, entries: Mapping[str, Mapping[str, Entry]]) -> Terms:
    """The thesaurus without names of entries that are left out, unless owners read the word anyway; concepts are numbered."""
    gone = {
        word.lower()
        for kind, table in library.entries.items()
        for ident, entry in table.items()
        if ident not in entries[kind]
        for word in (ident, entry.title)
    }
    read = " ".join(text for table in entries.values() for entry in table.values() for text in _texts(entry)).lower()
    hidden = {word for word in gone if word not in read or not re.search(rf"(?<!\w){re.escape(word)}(?!\w)", read)}
    concepts = [_concept(concept, hidden) for concept in terms.concepts.values()]
    return Terms(concepts={f"c{i}": concept for i, concept in enumerate(concepts) if concept is not None})


def _texts(value: object) -> Iterator[str]:
    """Every text in an entry."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from _texts(getattr(value, name))
    elif isinstance(value, Mapping):
        for item in value.values():
            yield from _texts(item)
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item)


def _concept(concept: Concept, hidden: set[str]) -> Concept | None:
    trade = tuple(word for word in concept.trade if word.lower() not in hidden)
    said = tuple(word for word in concept.said if word.lower() not in hidden)
    return concept.model_copy(update={"trade": trade, "said": said}) if trade or said else None


# --- numbers without names -------------------------------------------------------------------------------------------


def _opaque(network: Network, kept: _Kept) -> Network:
    higher = min(1, network.top)
    gates = _gates(network, kept)
    shown = [i for i, check in enumerate(network.checks) if check.id in kept.checks or i in gates]
    number = {old: new for new, old in enumerate(shown)}
    checks = [network.checks[i] for i in shown]
    return replace(
        network,
        causes=tuple(
            ident if ident in kept.causes or ident == UNLISTED else f"{OPAQUE}{i}"
            for i, ident in enumerate(network.causes)
        ),
        checks=tuple(
            replace(
                check if check.id in kept.checks else _blank(check, f"{OPAQUE}{i}", higher, len(network.causes)),
                only_after=tuple(number[gate] for gate in check.only_after),
            )
            for i, check in enumerate(checks)
        ),
        remedies=tuple(
            replace(
                remedy,
                id=remedy.id if remedy.id in kept.causes else f"{OPAQUE}{i}",
                level=remedy.level if remedy.id in kept.causes else max(remedy.level, higher),
                only_after=tuple(number[gate] for gate in remedy.only_after),
            )
            for i, remedy in enumerate(network.remedies)
        ),
        levels=tuple(
            level if i == 0 else LevelNumbers(f"{OPAQUE}{i}", level.visit_minutes)
            for i, level in enumerate(network.levels)
        ),
    )


def _blank(check: CheckNumbers, ident: str, higher: int, causes: int) -> CheckNumbers:
    """What a check costs, without what it would tell."""
    return CheckNumbers(
        ident, check.minutes, ((1.0,) * causes,), ("",), place=check.place, level=max(check.level, higher)
    )


def _gates(network: Network, kept: _Kept) -> set[int]:
    """Positions of the checks that a remedy waits for, and of those that these wait for in turn."""
    found: set[int] = set()
    todo = [gate for remedy in network.remedies for gate in remedy.only_after]
    todo += [gate for check in network.checks if check.id in kept.checks for gate in check.only_after]
    while todo:
        gate = todo.pop()
        if gate not in found:
            found.add(gate)
            todo += network.checks[gate].only_after
    return found

"""From the library to the network of one symptom: words, ranks and defaults are worked out here and nowhere
else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kbtools.applies import Unit, applies
from kbtools.diagnosis.network import NOWHERE, UNLISTED, Check, Level, Network, Remedy
from kbtools.diagnosis.numbers import named_row, prior, unlisted_row, unnamed_row
from kbtools.library import Library
from kbtools.model import Cause as CauseEntry
from kbtools.model import Check as CheckEntry
from kbtools.model import Remedy as RemedyEntry


def network_of(library: Library, symptom: str, unit: Unit | None = None, drafts: bool = True) -> Network:
    """Return the numbers of one symptom for all levels: who may do what is decided by the level of the state.

    Causes stand in rank order with ``unlisted`` last, checks, places and levels in file order; remedies by
    the first cause that they cure. Checks are those that name one of the causes and that the symptom allows,
    and those that they or the remedies come after. ``drafts`` false leaves out causes and checks that nobody
    has reviewed. Raises KeyError for an unknown symptom and ValueError when its shares leave nothing for a
    cause without one.
    """
    entry = library.symptoms[symptom]
    ranked = [item for item in entry.causes if item.cause in library.causes]
    causes = [library.causes[item.cause] for item in ranked]
    fits = [_wanted(cause, unit, drafts) for cause in causes]
    shares = prior([item.share for item in ranked], entry.unlisted, fits)
    kept = [cause for cause, fit in zip(causes, fits, strict=True) if fit]
    owners = list(dict.fromkeys(owner for cause in kept if (owner := library.remedy_owner(cause.id))))
    remedies = [(owner, remedy) for owner in owners if (remedy := library.remedy_of(owner))]
    checks = _checks(library, symptom, [remedy for _, remedy in remedies], unit, drafts)
    places = [place for place in library.places if place in {a.place for a in (*checks, *(r for _, r in remedies))}]
    number = _Numbers([cause.id for cause in kept], [check.id for check in checks], places, list(library.people))
    return Network(
        causes=(*number.causes, UNLISTED),
        prior=tuple(p for p, fit in zip(shares, (*fits, True), strict=True) if fit),
        checks=tuple(_check(number, check) for check in checks),
        remedies=tuple(_remedy(library, number, owner, remedy) for owner, remedy in remedies),
        reach_minutes=tuple(library.places[place].reach_minutes for place in places),
        levels=tuple(Level(person.id, person.visit_minutes) for person in library.people.values())
        or (Level("anybody"),),
        unsolved_minutes=library.manual.unsolved_minutes,
    )


@dataclass(frozen=True)
class _Numbers:
    """Ids in the order of their positions."""

    causes: Sequence[str]
    checks: Sequence[str]
    places: Sequence[str]
    people: Sequence[str]

    def place(self, ident: str) -> int:
        return self.places.index(ident) if ident in self.places else NOWHERE

    def level(self, who: str) -> int:
        """An unknown person counts as the highest, so that nobody is sent where they may not go."""
        return self.people.index(who) if who in self.people else max(len(self.people) - 1, 0)

    def gates(self, only_after: Iterable[str]) -> tuple[int, ...]:
        return tuple(self.checks.index(ident) for ident in only_after if ident in self.checks)


def _wanted(entry: CauseEntry | CheckEntry, unit: Unit | None, drafts: bool) -> bool:
    return (drafts or entry.status != "draft") and applies(entry.applies_to, unit)


def _checks(
    library: Library, symptom: str, remedies: Sequence[RemedyEntry], unit: Unit | None, drafts: bool
) -> list[CheckEntry]:
    """Return the symptom's checks and those that must come first, in file order."""
    allowed = library.symptoms[symptom].only_checks or tuple(library.checks)
    wanted = {check.id for check in library.checks_of(symptom)}
    todo = [gate for remedy in remedies for gate in remedy.only_after] + list(wanted)
    while todo:
        ident = todo.pop()
        if ident in library.checks and ident in allowed:
            wanted.add(ident)
            todo += [gate for gate in library.checks[ident].only_after if gate not in wanted]
    return [
        check
        for check in library.checks.values()
        if check.id in wanted and len(check.outcomes) > 1 and _wanted(check, unit, drafts)
    ]


def _check(number: _Numbers, entry: CheckEntry) -> Check:
    outcomes = list(entry.outcomes)
    normal = next((i for i, ident in enumerate(outcomes) if entry.outcomes[ident].normal), 0)
    columns = []
    for cause in number.causes:
        seen = {
            i: entry.outcomes[o].seen_with[cause]
            for i, o in enumerate(outcomes)
            if cause in entry.outcomes[o].seen_with
        }
        columns.append(named_row(seen, len(outcomes), normal) if seen else unnamed_row(len(outcomes), normal))
    columns.append(unlisted_row(len(outcomes)))
    return Check(
        id=entry.id,
        minutes=entry.minutes,
        rows=tuple(zip(*columns, strict=True)),
        outcomes=tuple(outcomes),
        normal=normal,
        place=number.place(entry.place),
        level=number.level(entry.who),
        fixes=_fixes(number, entry),
        only_after=number.gates(entry.only_after),
        only_while_faulty=entry.shows_only_while_faulty,
    )


def _fixes(number: _Numbers, entry: CheckEntry) -> tuple[tuple[bool, ...], ...]:
    """Return which causes each outcome cures; empty when the check cures none of them."""
    table = tuple(
        (*(outcome.fixed and cause in outcome.seen_with for cause in number.causes), False)
        for outcome in entry.outcomes.values()
    )
    return table if any(map(any, table)) else ()


def _remedy(library: Library, number: _Numbers, owner: str, entry: RemedyEntry) -> Remedy:
    cured = [library.remedy_owner(cause) == owner for cause in number.causes]
    return Remedy(
        id=number.causes[cured.index(True)],
        minutes=entry.minutes,
        cures=(*map(float, cured), 0.0),
        place=number.place(entry.place),
        level=number.level(entry.who),
        only_after=number.gates(entry.only_after),
    )

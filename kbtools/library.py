"""The library: every entry of the content, cross-linked and immutable.

`open_content` is the one way in; the terminal, the site and the tests all use it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path as FilePath
from types import MappingProxyType
from typing import TypeVar, cast

from kbtools import model
from kbtools.entries import Named, collect, files_of, revision_of
from kbtools.model import (
    Action,
    Cause,
    Check,
    Entry,
    Hazard,
    Path,
    Person,
    Precaution,
    Remedy,
    SameRemedy,
    Symptom,
    references,
)
from kbtools.problem import Position, Problem, in_order
from kbtools.source import Document, Where
from kbtools.terms import Terms

E = TypeVar("E", bound=Entry)


class ContentMissing(Exception):  # noqa: N818
    """There is no content: no such folder, or nothing of a manual in it. The message says so and what to do."""


@dataclass(frozen=True)
class Reference:
    """An entry, or the manual, that names another one, and where it does."""

    kind: str
    id: str
    path: Path
    to_kind: str
    to_id: str


@dataclass(frozen=True)
class Library:
    """All entries, and what follows from their references.

    Lookups that follow references skip the ones that lead nowhere, so that a library with problems can still be walked.
    """

    folder: FilePath
    manual: model.Manual
    entries: Mapping[str, Mapping[str, Entry]]
    where: Mapping[tuple[str, str], Where] = field(repr=False)
    manual_document: Document | None = field(default=None, repr=False)
    terms: Terms = field(default_factory=Terms)
    terms_document: Document | None = field(default=None, repr=False)
    files: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    mentioned: frozenset[str] = field(default=frozenset(), repr=False)
    """Words of files and entries that were refused. They may declare or name anything: no rule draws conclusions from it."""
    may_declare: frozenset[str] = field(default=frozenset(), repr=False)
    """Those of them that may stand for an entry: no reference to one of these is unknown."""
    named_in_refused: tuple[Named, ...] = field(default=(), repr=False)
    """What entries name that were refused for something else."""
    revision: str = "00000000"

    # entries by kind, in file order

    @property
    def symptoms(self) -> Mapping[str, Symptom]:
        return cast(Mapping[str, Symptom], self.entries["symptom"])

    @property
    def causes(self) -> Mapping[str, Cause]:
        return cast(Mapping[str, Cause], self.entries["cause"])

    @property
    def checks(self) -> Mapping[str, Check]:
        return cast(Mapping[str, Check], self.entries["check"])

    @property
    def systems(self) -> Mapping[str, model.System]:
        return cast(Mapping[str, model.System], self.entries["system"])

    @property
    def types(self) -> Mapping[str, model.Type]:
        return cast(Mapping[str, model.Type], self.entries["type"])

    @property
    def people(self) -> Mapping[str, Person]:
        return cast(Mapping[str, Person], self.entries["person"])

    @property
    def places(self) -> Mapping[str, model.Place]:
        return cast(Mapping[str, model.Place], self.entries["place"])

    @property
    def tools(self) -> Mapping[str, model.Tool]:
        return cast(Mapping[str, model.Tool], self.entries["tool"])

    @property
    def hazards(self) -> Mapping[str, Hazard]:
        return cast(Mapping[str, Hazard], self.entries["hazard"])

    @property
    def precautions(self) -> Mapping[str, Precaution]:
        return cast(Mapping[str, Precaution], self.entries["precaution"])

    @property
    def parts(self) -> Mapping[str, model.Part]:
        return cast(Mapping[str, model.Part], self.entries["part"])

    @property
    def points(self) -> Mapping[str, model.Point]:
        return cast(Mapping[str, model.Point], self.entries["point"])

    @property
    def states(self) -> Mapping[str, model.State]:
        return cast(Mapping[str, model.State], self.entries["state"])

    def entry(self, kind: str, ident: str) -> Entry:
        """The entry of that kind and id. Raises KeyError when there is none."""
        return self.entries[kind][ident]

    def declared(self, kind: str) -> list[str]:
        """Ids of that kind, those of entries with problems included."""
        return list(self._declared.get(kind, ()))

    @cached_property
    def _declared(self) -> Mapping[str, Mapping[str, int]]:
        """Kind → id → its number in file order."""
        table: dict[str, dict[str, int]] = {kind: {} for kind in self.entries}
        for kind, ident in self.where:
            table[kind][ident] = len(table[kind])
        return MappingProxyType(table)

    def _in_file_order(self, kind: str, ids: Iterable[str]) -> list[str]:
        return sorted(ids, key=lambda ident: self._declared[kind][ident])

    def at(self, kind: str, ident: str, path: Path = (), *, key: bool = False) -> Position:
        """Where the entry, or the value at `path` inside it, stands. Kind "manual" is manual.yml."""
        if kind == "manual":
            return self.manual_document.at(path, key=key) if self.manual_document else Position("manual.yml")
        return self.where[kind, ident].at(path, key=key)

    # references

    @cached_property
    def references(self) -> tuple[Reference, ...]:
        """Every reference of every entry and of manual.yml, in file order."""
        found = [Reference("manual", "manual", path, kind, ident) for kind, ident, path in references(self.manual)]
        for kind, entries in self.entries.items():
            for entry in entries.values():
                found += [Reference(kind, entry.id, path, to, ident) for to, ident, path in references(entry)]
                system = getattr(entry, "system", "")
                if kind in model.TOPIC_KINDS and system:
                    found.append(Reference(kind, entry.id, (), "system", system))
        return tuple(found)

    @cached_property
    def _backlinks(self) -> Mapping[tuple[str, str], tuple[Reference, ...]]:
        table: dict[tuple[str, str], list[Reference]] = {}
        for reference in self.references:
            table.setdefault((reference.to_kind, reference.to_id), []).append(reference)
        return MappingProxyType({key: tuple(value) for key, value in table.items()})

    def backlinks(self, kind: str, ident: str) -> tuple[Reference, ...]:
        """Every reference to this entry."""
        return self._backlinks.get((kind, ident), ())

    def named_by(self, kind: str, ident: str, by: str) -> tuple[str, ...]:
        """Ids of the entries of kind `by` that name this entry, each once, in file order."""
        return tuple(dict.fromkeys(ref.id for ref in self.backlinks(kind, ident) if ref.kind == by))

    # symptoms, causes, checks

    def causes_of(self, symptom: str) -> tuple[Cause, ...]:
        """The causes that explain this symptom, most common first."""
        return self._known("cause", (ranked.cause for ranked in self.symptoms[symptom].causes))

    def symptoms_of_cause(self, cause: str) -> tuple[Symptom, ...]:
        """The symptoms that this cause explains."""
        return self._known("symptom", self._symptoms_of_cause.get(cause, ()))

    @cached_property
    def _symptoms_of_cause(self) -> Mapping[str, tuple[str, ...]]:
        table: dict[str, list[str]] = {}
        for symptom in self.symptoms.values():
            for cause in dict.fromkeys(ranked.cause for ranked in symptom.causes):
                table.setdefault(cause, []).append(symptom.id)
        return MappingProxyType({cause: tuple(ids) for cause, ids in table.items()})

    @cached_property
    def _checks_of_cause(self) -> Mapping[str, tuple[str, ...]]:
        table: dict[str, list[str]] = {}
        for check in self.checks.values():
            for cause in self._named_causes(check):
                table.setdefault(cause, []).append(check.id)
        return MappingProxyType({cause: tuple(ids) for cause, ids in table.items()})

    @staticmethod
    def _named_causes(check: Check) -> tuple[str, ...]:
        return tuple(dict.fromkeys(cause for outcome in check.outcomes.values() for cause in outcome.seen_with))

    def checks_of_cause(self, cause: str) -> tuple[Check, ...]:
        """The checks that speak about this cause."""
        return self._known("check", self._checks_of_cause.get(cause, ()))

    def causes_of_check(self, check: str) -> tuple[Cause, ...]:
        """The causes about which this check says something, in the order of its outcomes."""
        return self._known("cause", self._named_causes(self.checks[check]))

    def checks_of(self, symptom: str) -> tuple[Check, ...]:
        """The checks that speak about one of this symptom's causes and that it allows, in file order."""
        entry = self.symptoms[symptom]
        wanted = {check for ranked in entry.causes for check in self._checks_of_cause.get(ranked.cause, ())}
        if entry.only_checks:
            wanted &= set(entry.only_checks)
        return self._known("check", self._in_file_order("check", wanted & self.checks.keys()))

    def symptoms_of_check(self, check: str) -> tuple[Symptom, ...]:
        """The symptoms in whose trace this check can be used."""
        named = self._named_causes(self.checks[check])
        ids = {symptom for cause in named for symptom in self._symptoms_of_cause.get(cause, ())}
        found: tuple[Symptom, ...] = self._known("symptom", self._in_file_order("symptom", ids))
        return tuple(symptom for symptom in found if not symptom.only_checks or check in symptom.only_checks)

    def related(self, symptom: str) -> tuple[tuple[Symptom, tuple[Cause, ...]], ...]:
        """Other symptoms that share causes with this one, and those causes; most shared first."""
        own = {cause.id for cause in self.causes_of(symptom)}
        others = {other for cause in own for other in self._symptoms_of_cause[cause]} - {symptom}
        shared = (
            (self.symptoms[other], tuple(cause for cause in self.causes_of(other) if cause.id in own))
            for other in self._in_file_order("symptom", others)
        )
        return tuple(sorted(shared, key=lambda pair: -len(pair[1])))

    def remedy_of(self, cause: str) -> Remedy | None:
        """What mends this cause, through `same_as`; None when that leads nowhere or in a circle."""
        owner = self.remedy_owner(cause)
        remedy = self.causes[owner].remedy if owner else None
        return remedy if isinstance(remedy, Remedy) else None

    def remedy_owner(self, cause: str) -> str | None:
        """Id of the cause under which the remedy is written."""
        seen: set[str] = set()
        while cause in self.causes and cause not in seen:
            seen.add(cause)
            remedy = self.causes[cause].remedy
            if not isinstance(remedy, SameRemedy):
                return cause
            cause = remedy.same_as
        return None

    def system_symptoms(self, system: str) -> tuple[Symptom, ...]:
        """The symptoms of a system, in file order; those that show a count of the same signal stand together, by count."""
        found = [s for s in self.symptoms.values() if s.system == system]
        return tuple(_counts_together(found))

    # people and safety

    @cached_property
    def _ranks(self) -> Mapping[str, int]:
        return MappingProxyType({ident: rank for rank, ident in enumerate(self.people)})

    def rank(self, person: str) -> int:
        """0 for the lowest person; an unknown person ranks above all."""
        return self._ranks.get(person, len(self._ranks))

    def hazards_of(self, action: Action) -> tuple[Hazard, ...]:
        """Hazards of the action, its place and its tools, most severe first; those of single steps stand at the step."""
        ids = list(action.hazards)
        if action.place in self.places:
            ids += self.places[action.place].hazards
        for tool in action.tools:
            ids += self.tools[tool].hazards if tool in self.tools else ()
        return self.most_severe_first(ids)

    def hazards_of_step(self, step: model.Step) -> tuple[Hazard, ...]:
        """Hazards of one step and of the tools that it alone needs, most severe first."""
        ids = list(step.hazards)
        for tool in step.tools:
            ids += self.tools[tool].hazards if tool in self.tools else ()
        return self.most_severe_first(ids)

    def hazards_of_symptom(self, symptom: str) -> tuple[Hazard, ...]:
        """Hazards of the symptom and of the precautions that it names, most severe first."""
        entry = self.symptoms[symptom]
        ids = list(entry.hazards)
        for precaution in (*entry.first, *(stop.then for stop in entry.stop_if)):
            ids += self.precautions[precaution].hazards if precaution in self.precautions else ()
        return self.most_severe_first(ids)

    def most_severe_first(self, hazards: Iterable[str]) -> tuple[Hazard, ...]:
        """Each hazard once, by signal word, then harm, then likelihood, then as given."""
        found: tuple[Hazard, ...] = self._known("hazard", dict.fromkeys(hazards))
        return tuple(sorted(found, key=lambda hazard: hazard.severity))

    def dangerous(self, symptom: str) -> bool:
        """True when the symptom has stop signs, or a hazard of death or serious harm."""
        entry = self.symptoms[symptom]
        return bool(entry.stop_if) or any(
            self.hazards[h].harm in model.SERIOUS for h in entry.hazards if h in self.hazards
        )

    def _known(self, kind: str, ids: Iterable[str]) -> tuple[E, ...]:
        entries = cast(Mapping[str, E], self.entries[kind])
        return tuple(entries[ident] for ident in ids if ident in entries)


_NO_MANUAL = model.Manual(title="Manual", organisation="-", telephone="-", revised="1970-01-01")


_COUNT = re.compile(r"(.*\S) (\d+)")
"""What equipment shows when it counts, such as "FAULT 4": the signal and the count."""


def _counts_together(symptoms: Iterable[Symptom]) -> Iterable[Symptom]:
    groups: dict[str, list[tuple[int, Symptom]]] = {}
    for symptom in symptoms:
        count = _COUNT.fullmatch(symptom.shows[0]) if symptom.shows else None
        key, number = (f"counts {count[1]}", int(count[2])) if count else (symptom.id, 0)
        groups.setdefault(key, []).append((number, symptom))
    return [symptom for group in groups.values() for _, symptom in sorted(group, key=lambda pair: pair[0])]


def content_folder(folder: FilePath | str) -> FilePath:
    """The folder, where it is one of content: manual.yml stands in it, or topics/ or equipment/. Raises ContentMissing."""
    folder = FilePath(folder)
    if not folder.is_dir():
        raise ContentMissing(f"there is no content folder {_shown(folder)}. {_NAME_IT}")
    if not (folder / "manual.yml").is_file() and not any((folder / name).is_dir() for name in ("topics", "equipment")):
        inside = folder / "content"
        near = f"Did you mean --content {_shown(inside)}?" if (inside / "manual.yml").is_file() else _NAME_IT
        raise ContentMissing(f"there is no manual.yml in {_shown(folder)}. {near}")
    return folder


_NAME_IT = "Name the folder that holds manual.yml with --content DIR."


def _shown(folder: FilePath) -> str:
    return "this folder" if folder == FilePath() else "".join(c if c.isprintable() else "�" for c in str(folder))


def open_content(folder: FilePath | str) -> tuple[Library, list[Problem]]:
    """Reads a content folder into a library, with every problem of reading and typing, sorted.

    Entries with problems are left out of the library, the others are all there. Raises ContentMissing.
    """
    folder = content_folder(folder)
    files = files_of(folder)
    found = collect(folder, files)
    library = Library(
        folder=folder,
        manual=found.manual or _NO_MANUAL,
        entries=MappingProxyType({kind: MappingProxyType(entries) for kind, entries in found.entries.items()}),
        where=MappingProxyType(found.where),
        manual_document=found.manual_document,
        terms=found.terms,
        terms_document=found.terms_document,
        files=tuple(files),
        unread=tuple(found.unread),
        mentioned=frozenset(found.mentioned),
        may_declare=frozenset(found.may_declare),
        named_in_refused=tuple(found.named),
        revision=revision_of(folder, files),
    )
    return library, in_order(found.problems)
